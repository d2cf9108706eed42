package hints

import (
	"regexp"
	"slices"
	"strings"
)

const solutionHint = "This names a solution already: try writing what is hard today, for whom, and when."

// Solution is what [Problem] says of a wording that names a solution; empty of others.
func Solution(text string) string {
	if namesSolution(text) {
		return solutionHint
	}
	return ""
}

// Problem suggests how a problem statement might be worded so that a group can work
// on it: each hint is one sentence that says what to try, and none means that nothing
// stood out. Like those of [Wording] they are guesses, shown and never enforced.
func Problem(text string) []string {
	plain := plainText(text)
	solution, lack := namesSolution(text), anyOf(lackShapes, plain)
	goal := anyOf(goalShapes, plain) || isWish(plain)
	var hints []string
	for _, h := range []struct {
		found bool
		say   string
	}{
		{solution, solutionHint},
		{lack, "This says what is not there: try writing what goes wrong without it, and for whom."},
		{goal && !solution, "This is a goal: try writing what stands in its way today."},
		{areTwo(text), "There may be two problems in here: try one of them, and keep the other for a kickoff of its own."},
		{!solution && !goal && !lack && hasNobody(plain), "It does not say who has the problem: try naming who, and when."},
	} {
		if h.found {
			hints = append(hints, h.say)
		}
	}
	return hints
}

// thing is what people name when they have a solution in mind.
const thing = `(?:app|apps|site|website|web site|page|portal|platform|dashboard|tool|tools|system|chatbot|bot|feature|button|form|screen|` +
	`integration|interface|database|spreadsheet|template|workflow|calendar|map|plugin|api|newsletter|hotline|sensor|sensors|camera|cameras|machine|software)`

// making are verbs of making, as an order or after "we should".
const making = `(?:build|add|create|implement|develop|launch|introduce|design|integrate|redesign|automate|replace|migrate|digiti[sz]e|install|set up|roll out|buy)`

// orderShapes find a sentence that begins with an order to make something.
var orderShapes = []*regexp.Regexp{
	begin(making + ` (?:an?|the|our|all|more|new|live|push|another)`),
	begin(`(?:let us|let's) (?:` + making[3:len(making)-1] + `|give|get|use|make|try)`),
	shape(`there (?:should|must|ought to|needs to) be an? (?:\p{L}+ )?(?:` + thing + `|sign|counter)`),
}

var solutionShapes = []*regexp.Regexp{
	shape(`(?:need|needs|want|wants|require|requires|get|deserve|have) (?:an?|one|the|another|our own|their own)(?: \p{L}+){0,2} ` + thing),
	begin(`an? (?:\p{L}+ )?` + thing + ` (?:would|could|might|will|can) (?:help|let|allow|show|tell|save|solve|make|enable)`),
	shape(`we (?:need|want|have|ought|plan) to` + oneMore + making),
	shape(`wir (?:brauchen|benötigen) (?:eine?n?|einen) (?:\p{L}+ )?(?:app|anwendung|website|webseite|seite|plattform|werkzeug|system|software)`),
	shape(`(?:il faut|il faudrait|nous avons besoin d'une?|on a besoin d'une?)` + oneMore + `(?:créer|appli|application|site|outil)`),
	shape(`(?:necesitamos|hace falta) una? (?:\p{L}+ )?(?:aplicación|app|web|herramienta|sistema)`),
}

// owned is a thing that somebody has or gets, which alone names no solution.
var owned = shape(`(?:have|get) (?:an?|the)(?: \p{L}+){0,2} ` + thing)

func namesSolution(text string) bool {
	plain := plainText(text)
	if isFeature(text) {
		return true
	}
	for _, s := range solutionShapes {
		if found := s.FindString(plain); found != "" && (!owned.MatchString(found) || normWord.MatchString(plain)) {
			return true
		}
	}
	return false
}

// lackShapes find that something is not there which would be a solution; that there
// is no room, or no seat, may be the very problem.
var lackShapes = []*regexp.Regexp{
	shape(`(?:we|our \p{L}+|the company|the harbour) (?:have no|lack|lacks|has no|(?:do not|don't|does not|doesn't) have (?:an?|any|enough|the)|(?:are|is) missing)`),
	shape(`(?:there is|there are|there's|have|has|is|are) no (?:\p{L}+ )?` + thing),
	shape(`(?:lack|lacks|missing|without) (?:an?|any)(?: \p{L}+){0,2} ` + thing),
	shape(`(?:wir|uns) (?:haben|fehlt|fehlen|hat) (?:keine?n?|eine?n?)`),
	shape(`(?:nous n'avons pas d[e']|il n'y a pas d[e'])`),
	shape(`(?:no tenemos|nos falta)`),
}

// goalShapes find what somebody wants in the place of what is wrong.
var goalShapes = []*regexp.Regexp{
	begin(`(?:increase|improve|reduce|cut|grow|raise|double|halve|boost|become|reach|achieve|lower|speed up|make) (?:\p{L}+)`),
	shape(`we (?:want|wish|aim|plan|hope|would like|intend) to`),
	shape(`(?:our|the|my) (?:goal|aim|target|objective|vision|mission) is`),
	shape(`(?:by|until) (?:next|the end of|20\d\d)(?: \p{L}+)?,?(?: \p{L}+){1,4} (?:will|should|must)`),
	shape(`wir (?:wollen|möchten)`), shape(`(?:unser|das) ziel ist`),
	shape(`(?:nous voulons|notre objectif)`), shape(`(?:queremos|nuestro objetivo)`),
}

// isWish reports whether a statement says what should be, and not what is. What must be
// may well be the problem: "carers must fill in the form three times".
func isWish(plain string) bool { return says(wishWord, plain) }

var wishWord = shape(`(?:should|shouldn't|ought to|sollten?|devraient|devrait|deberían|debería)`)

// areTwo reports whether a statement says itself that it goes on to another problem.
// Several sentences are none: the second often says what comes of the first.
func areTwo(text string) bool {
	if anyOf(anotherShapes, plainText(text)) {
		return true
	}
	parts := strings.Split(text, ";")
	return len(parts) > 1 && len(lowerWords(parts[0])) >= shortClause && len(lowerWords(parts[1])) >= shortClause
}

var anotherShapes = []*regexp.Regexp{
	shape(`(?:and also|another problem|a second problem|in addition|on top of (?:that|this|it)|furthermore|moreover|besides|at the same time)`),
	shape(`(?:außerdem|zudem|ein weiteres problem)`), shape(`(?:de plus|en outre|un autre problème)`), shape(`(?:además|otro problema)`),
}

// hasNobody reports whether an English statement names nobody. Of other languages it
// says nothing: their words for people are not listed.
func hasNobody(plain string) bool {
	ws := lowerWords(plain)
	if langs := languagesOf(words(plain)); len(langs) > len(spoken) || !slices.Contains(langs, spoken[0]) {
		return false
	}
	for i, w := range ws {
		if isPeople(w) || i > 0 && oneOf[ws[i-1]] && isPeople(w+"s") {
			return false
		}
	}
	return true
}

// oneOf are words before a single one, by which a noun such as "lawyer" is told from
// what ends like it, such as "later".
var oneOf = setOf(`a an one each every the no another`)

// endsOfPeople end many a word for several people, and few others.
var endsOfPeople = []string{"ers", "ors", "ists", "ants", "ees", "ians", "men", "women", "folk", "people", "parents", "mothers", "fathers"}

// isPeople reports whether a word is somebody, or a pronoun for somebody.
func isPeople(w string) bool {
	w = strings.TrimSuffix(strings.TrimSuffix(w, "'s"), "'")
	one := w
	if len(w) > 4 { // "is" is no more than one "i"
		one = strings.TrimSuffix(w, "s")
	}
	if people[w] || people[one] {
		return true
	}
	if notPeople[w] || notPeople[one] || len(w) < 6 {
		return false
	}
	return slices.ContainsFunc(endsOfPeople, func(end string) bool { return strings.HasSuffix(w, end) })
}

func setOf(list string) map[string]bool {
	set := map[string]bool{}
	for w := range strings.FieldsSeq(list) {
		set[w] = true
	}
	return set
}

// people are words for people; notPeople end like some of them.
var (
	people = setOf(`people person we us i you they them he she who whoever everybody everyone nobody somebody someone anyone anybody
		men women man woman child children kid parent family families friend crew staff team colleague employee nurse doctor patient
		client customer user guest passenger deckhand driver cyclist pupil student teacher tenant owner farmer bakery bakeries baker
		company companies shop volunteer visitor member resident neighbour citizen merchant agent clerk chief lead expert novice
		traveller commuter regular operator newcomer beginner trainee worker boss founder partner supplier seller buyer household
		sailor skipper captain police firefighter midwife caretaker witness applicant candidate donor refugee adult others those
		mother father mum dad grandparent sister brother wife husband couple relative baby babies infant toddler teenager youth
		senior elder pilot cook chef guide coach judge priest vet bride host local recipient adolescent therapist apprentice
		intern secretary secretaries beneficiary beneficiaries department council agency agencies club association charity
		charities choir band jury troop management public audience crowd`)
	notPeople = setOf(`number order letter computer server paper offer filter trailer other answer counter summer winter manner matter
		paper folder printer scanner sensor error door floor factor motor monitor indicator color colour harbour corner border quarter
		chapter meter parameter layer router timer trigger buffer container header footer power water weather layover turnover
		takeover registers transfer newsletter sticker poster banner tower shower dinner river cover corridor mirror elevator
		calculator generator processor author tensor committee coffee degree fee tree guarantee grant plant variant warrant restaurant
		list checklist lists specimen regimen abdomen pollutant dominant coolant
		another either neither whether rather former latter over under after never ever water quarter semester december
		november october september fever liver ladder cluster register transfer disaster copier boiler cooler heater
		freezer charger loader tanker trailer sector vector elevator reactor tractor projector detector conveyor`)
)
