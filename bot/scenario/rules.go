package scenario

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// A rule reads one value and checks it; args are what its tag says after the
// name of the rule.
type rule func(v value, args string) any

// rules are what the tags of a Scenario's fields name.
var rules = map[string]rule{
	"":           func(v value, _ string) any { return v.text(formRunes) },
	"words":      func(v value, allowed string) any { return v.words(formRunes, allowed) },
	"heading":    func(v value, allowed string) any { return v.words(headingRunes, allowed) },
	"instant":    instant,
	"zone":       zone,
	"person":     person,
	"speaker":    speaker,
	"assumption": assumption,
	"id":         newID,
	"wording":    newWording,
	"tick":       tick,
	"level":      func(v value, allowed string) any { return numberIn(v, allowed, "level", -2, 2) },
	"share":      share,
	"number":     func(v value, args string) any { return limits[float64](v, args) },
	"whole":      func(v value, args string) any { return limits[int](v, args) },
	"yes":        yes,
	"vote":       func(v value, args string) any { return limits[int](v.needed("a whole number of weeks"), args) },
	"further":    furtherWeeks,
	"silent":     silent,
	"step":       step,
	"ring":       choice("the ring", "core", "consulted", "informed"),
	"risk":       choice("the kind of risk", "desirability", "viability", "feasibility", "usability"),
	"decision":   choice("the decision", "build", "stop", "another"),
	"weekday":    weekday,
	"cost":       choice("the cost", "day", "quarter", "name"),
}

// The longest texts that people can give, in characters: what one form field
// of the chat platform takes, and what a heading of it holds.
const (
	formRunes    = 3000
	headingRunes = 150

	sentenceRunes = 300
)

// text reads any scalar as it was written; left out it is empty.
func (v value) text(longest int) string {
	if !v.is(yaml.ScalarNode, "a text") {
		return ""
	}
	switch v.node.ShortTag() {
	case "!!str", "!!int", "!!float", "!!bool", "!!timestamp", "!!merge":
	default:
		v.wrong("a text", "the tag %s is not allowed", quoted(v.node.Tag))
	}
	if n := utf8.RuneCountInString(v.node.Value); n > longest {
		v.wrong(fmt.Sprintf("at most %d characters", longest), "a text of %d characters is too long", n)
	}
	return v.node.Value
}

// words reads a text that has to be given; allowed says what it is.
func (v value) words(longest int, allowed string) string {
	t := v.needed(allowed).text(longest)
	if strings.TrimSpace(t) == "" {
		v.wrong(allowed, "the text is empty")
	}
	return t
}

// plainName is what keys of people and ids of assumptions look like.
var plainName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]{0,39}$`)

const plainNameAllowed = "a letter, then up to 39 letters, digits, - or _"

func (v value) mustBePlain(name, noun string) {
	if !plainName.MatchString(name) {
		v.wrong(plainNameAllowed, "%s is not allowed as the %s", quoted(name), noun)
	}
}

// choice reads one of a few words.
func choice(noun string, of ...string) rule {
	return func(v value, _ string) any {
		if v.needed(anyOf(of)).is(yaml.ScalarNode, anyOf(of)) && !slices.Contains(of, v.node.Value) {
			v.wrong(anyOf(of), "%s %s is not allowed", noun, shown(v.node))
		}
		if !v.given() {
			return ""
		}
		return v.node.Value
	}
}

func silent(v value, _ string) any {
	stage := choice("the stage", Stages...)(v, "").(string)
	if slices.Contains(v.before.([]string), stage) {
		v.wrong("each stage once", "%s is given twice", stage)
	}
	return stage
}

// step is a stage that the kickoff of a script may do without.
func step(v value, _ string) any {
	stage := choice("the step", "framing", "roles", "backlog", "timebox")(v, "").(string)
	if slices.Contains(v.before.([]string), stage) {
		v.wrong("each step once", "%s is given twice", stage)
	}
	return stage
}

// weekdays are the names of the days, Sunday first.
var weekdays = []string{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"}

func weekday(v value, _ string) any {
	return time.Weekday(slices.Index(weekdays, choice("the day", weekdays...)(v, "").(string)))
}

// limits reads a number of which args give noun, lowest and highest.
func limits[T int | float64](v value, args string) T {
	var noun string
	var low, high T
	_, _ = fmt.Sscan(args, &noun, &low, &high) // the tags are right
	kind := "a number"
	if _, whole := any(low).(int); whole {
		kind = "a whole number"
	}
	return numberIn(v, fmt.Sprintf("%s from %v to %v", kind, low, high), noun, low, high)
}

// numberIn reads a number from low to high; noun is what it counts.
func numberIn[T int | float64](v value, allowed, noun string, low, high T) T {
	if !v.needed(allowed).is(yaml.ScalarNode, allowed) {
		return 0
	}
	f, err := strconv.ParseFloat(v.node.Value, 64)
	_, whole := any(low).(int)
	right := numberNode(v.node) && (!whole || v.node.ShortTag() == "!!int")
	if err != nil || !right || math.IsNaN(f) || f < float64(low) || f > float64(high) {
		v.wrong(allowed, "%s %s is not allowed", noun, shown(v.node))
		return 0
	}
	return T(f)
}

// numberOf reads the number of one of so many things.
func numberOf(v value, noun string, count int, none, allowed string) int {
	if count == 0 {
		allowed = none
	} else {
		allowed += " from 1 to " + strconv.Itoa(count)
	}
	return numberIn(v, allowed, noun, 1, count)
}

// known reads the name of something that is one of names.
func known(v value, allowed, noun string, names []string) string {
	name := v.needed(allowed).text(formRunes)
	if !slices.Contains(names, name) {
		v.wrong(anyOf(names), "there is no %s %s", noun, quoted(name))
	}
	return name
}

// person reads the key of somebody who takes part.
func person(v value, _ string) any {
	var keys []string
	for _, p := range v.in.s.People {
		keys = append(keys, p.Key)
	}
	return known(v, "the key of a person", "person", keys)
}

// speaker reads the key of somebody who answers in stage.
func speaker(v value, stage string) any {
	key := person(v, "").(string)
	v.mustNotBeSilent(key, stage)
	return key
}

func (v value) mustNotBeSilent(key, stage string) {
	if p, ok := v.in.s.Person(key); ok && p.SilentIn(stage) {
		v.wrong("leave the answer out, or take "+stage+" out of people."+key+".silent", "%s is silent in %s", key, stage)
	}
}

// assumption reads the id of an assumption.
func assumption(v value, _ string) any {
	return known(v, "the id of an assumption", "assumption", v.in.ids)
}

func newID(v value, _ string) any {
	id := v.needed(plainNameAllowed).text(formRunes)
	v.mustBePlain(id, "id of an assumption")
	if slices.Contains(v.in.ids, id) {
		v.wrong("each id once", "the id %s is given twice", quoted(id))
	}
	v.in.ids = append(v.in.ids, id)
	return id
}

// newWording reads a text that differs from the wordings before it: the bot
// takes each once.
func newWording(v value, allowed string) any {
	text := v.words(formRunes, allowed)
	for i, w := range v.in.s.Framing.Wordings {
		if strings.EqualFold(strings.TrimSpace(w.Text), strings.TrimSpace(text)) {
			v.wrong("each wording once", "the same text as framing.wordings[%d]", i+1)
		}
	}
	return text
}

// tick reads a wording that somebody could live with: "original", which
// becomes 0, or the number of a wording.
func tick(v value, _ string) any {
	n := 0
	if !v.given() || v.node.Kind != yaml.ScalarNode || v.node.Value != "original" {
		n = numberOf(v, "tick", len(v.in.s.Framing.Wordings),
			"original, as there are no further wordings", "original, or the number of a wording")
	}
	if slices.Contains(v.before.([]int), n) {
		v.wrong("each wording once", "%s is ticked twice", shown(v.node))
	}
	return n
}

// zone reads the name of a time zone that says where somebody is: Go takes ""
// for UTC and "Local" for the zone of this machine, which do not.
func zone(v value, _ string) any {
	const allowed = "a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland"
	name := v.needed(allowed).text(formRunes)
	if _, err := time.LoadLocation(name); err != nil || name == "" || name == "Local" {
		v.wrong(allowed, "there is no time zone %s", quoted(name))
	}
	return name
}

// instant reads a moment in RFC 3339.
func instant(v value, _ string) any {
	const allowed = "a date and time with its offset, such as 2027-03-01T09:00:00Z"
	if !v.needed(allowed).is(yaml.ScalarNode, allowed) {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, v.node.Value)
	if err != nil {
		v.wrong(allowed, "%s is not allowed", shown(v.node))
	}
	return t
}

// share reads a pass mark. A share of 0 is refused: no result could miss it.
func share(v value, _ string) any {
	const allowed = "a number above 0 and at most 1"
	share := numberIn(v, allowed, "share", 0.0, 1)
	if v.given() && share == 0 {
		v.wrong(allowed, "share %s is not allowed", shown(v.node))
	}
	return share
}

// furtherWeeks reads the length of another time box, if one is wanted.
func furtherWeeks(v value, _ string) any {
	const another = "another"
	d := v.in.deciding
	wanted := d.Set == another || slices.Contains(slices.Collect(maps.Values(d.Votes)), another)
	switch {
	case !wanted && v.given():
		v.wrong("leave it out, or decide another", "weeks count only for another time box")
	case wanted && !v.given():
		return 2
	case wanted && (v.node.Kind != yaml.ScalarNode || v.node.Value != "2" && v.node.Value != "4"):
		v.wrong("2 or 4", "weeks %s is not allowed", shown(v.node))
	case wanted:
		return numberIn(v, "a whole number from 2 to 4", "weeks", 2, 4)
	}
	return 0
}

// read reads a mapping: its keys name those who take part.
func (p *People) read(v value) {
	const allowed = "a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"
	for _, e := range v.needed(allowed).entries(allowed) {
		key := e.key.node.Value
		e.key.mustBePlain(key, "key of a person")
		one := Person{Key: key}
		e.value.intoStruct(reflect.ValueOf(&one).Elem())
		*p = append(*p, one)
	}
	if len(*p) == 0 {
		v.wrong(allowed, "nobody takes part")
	}
}

// read reads [importance, evidence].
func (p *Pair) read(v value) {
	const allowed = "a pair [importance, evidence]"
	both := v.needed(allowed).items(allowed)
	if len(both) != 2 {
		v.wrong(allowed, "a list of %d is not allowed", len(both))
		return
	}
	rate := func(half value, noun string) int {
		if !half.given() {
			return 0
		}
		half.path = v.path // the noun says which half is meant
		return numberIn(half, `a whole number from 1 to 9, or null for "can't say"`, noun, 1, 9)
	}
	p.Importance, p.Evidence = rate(both[0], "importance"), rate(both[1], "evidence")
}

// read reads a pass mark of one kind.
func (p *Pass) read(v value) {
	keys := v.mapping("share", "at_least", "at_most", "unit", "yes")
	var given []string
	for _, kind := range []string{"share", "at_least", "at_most", "yes"} {
		if keys[kind].given() {
			given = append(given, kind)
		}
	}
	if len(given) > 1 {
		keys[given[1]].wrong("one of share, at_least, at_most, yes", "a second pass mark is given")
		return
	}
	kind := append(given, "share")[0]
	switch kind {
	case "share":
		p.Share = share(keys["share"], "").(float64)
		return
	case "yes":
		p.Yes = yes(keys["yes"], "").(bool)
		return
	}
	p.At, p.AtMost = limits[float64](keys[kind], kind+" -1000000000 1000000000"), kind == "at_most"
	p.Unit = keys["unit"].words(30, "the unit of the figure, such as minutes")
}

// read reads a test, which has a number from then on.
func (t *Test) read(v value) {
	v.intoStruct(reflect.ValueOf(t).Elem())
	v.in.tests = append(v.in.tests, *t)
}

func testNumber(v value) int {
	return numberOf(v, "test", len(v.in.tests), "there are no tests in backlog.tests", "the number of a test")
}

// read reads a test that is dropped, by somebody who may: the lead where nobody is named.
func (d *Drop) read(v value) {
	keys := v.mapping("test", "by", "why")
	d.Test, d.By = testNumber(keys["test"]), v.in.s.Lead().Key
	if keys["by"].given() {
		d.By = speaker(keys["by"], "underway").(string)
	}
	d.Why = keys["why"].words(sentenceRunes, "a word why")
}

// read reads one of three ways to tidy an assumption.
func (t *Tidied) read(v value) {
	v.intoStruct(reflect.ValueOf(t).Elem())
	ways := 0
	for _, way := range []string{t.Text, t.Join, t.Word} {
		if way != "" {
			ways++
		}
	}
	switch {
	case ways != 1:
		v.wrong("one of text, join and word", "%d ways to tidy it are given", ways)
	case t.Answer != "" && t.Word == "":
		v.wrong("an answer beside a word", "nothing was sent back that could be answered")
	case utf8.RuneCountInString(t.Word) > sentenceRunes:
		v.wrong(fmt.Sprintf("a word of at most %d characters", sentenceRunes), "it has %d", utf8.RuneCountInString(t.Word))
	}
}

// read keeps the decision at hand for the rule of its weeks.
func (d *Decision) read(v value) {
	v.in.deciding = d
	v.intoStruct(reflect.ValueOf(d).Elem())
}

// read reads a mapping of check-ins and a decision; a further box follows only
// where that is the decision.
func (u *Underway) read(v value) {
	v.intoStruct(reflect.ValueOf(u).Elem())
	if u.Then != nil && (u.Decision == nil || u.Decision.Set != "another") {
		v.wrong("decision.set: another, or leave it out", "then has no box to be about")
	}
}

// read reads the number of a test, whose owner reports the result and so must
// not be silent, and k last, since n is its bound.
func (r *Result) read(v value) {
	keys, tests := v.mapping("test", "k", "n", "figure", "yes", "learnt", "surprise", "quote", "link", "why"), v.in.tests
	r.Test = testNumber(keys["test"])
	var pass Pass
	if r.Test > 0 {
		keys["test"].mustNotBeSilent(tests[r.Test-1].Owner, "underway")
		if tests[r.Test-1].Pass != nil {
			pass = *tests[r.Test-1].Pass
		}
	}
	switch {
	case pass.Yes:
		r.Yes = yes(keys["yes"].needed("true or false: what the test said"), "").(bool)
	case pass.Unit != "":
		r.Figure = limits[float64](keys["figure"].needed("the figure that was found"), "figure -1000000000 1000000000")
	default:
		r.N = limits[int](keys["n"].needed("how many were asked or tried"), "n 1 1000000")
		r.K = limits[int](keys["k"].needed("how many of the n counted as support"), fmt.Sprint("k 0 ", r.N))
	}
	for key, text := range map[string]*string{"learnt": &r.Learnt, "surprise": &r.Surprise, "quote": &r.Quote, "link": &r.Link, "why": &r.Why} {
		*text = keys[key].text(sentenceRunes)
	}
	if slices.ContainsFunc(v.before.([]Result), func(o Result) bool { return o.Test == r.Test }) && r.Why == "" {
		v.wrong("one result for a test at each check-in", "test %d is reported twice", r.Test)
	}
}

// yes is a box that is ticked, or not.
func yes(v value, _ string) any {
	const allowed = "true or false"
	if !v.is(yaml.ScalarNode, allowed) {
		return false
	}
	if v.node.ShortTag() != "!!bool" {
		v.wrong(allowed, "%s is not allowed", shown(v.node))
		return false
	}
	return v.node.Value == "true"
}
