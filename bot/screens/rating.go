package screens

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/prompts"
)

// secondsPerRating is how long one assumption takes on a phone, both scales
// together (measured by the authors, no source).
const secondsPerRating = 12

func ratingForms() map[string]Form {
	return map[string]Form{
		"rating.ballot": {May: mayRate, Fill: drawBallot, Submit: turnBallot}, // Args.Round, and the page in Args.N from 0
		"rating.reason": {May: both(mayTakePart, hasAssumption), Fill: newReason},
	}
}

// ratingAsks asks for ballots: of everything, and in the second round of
// what was split.
func ratingAsks(p Page) (asking, error) {
	var ids []string
	round := p.Args.Round
	if round >= 1 && round <= len(p.Kickoff.Rounds) {
		ids = p.Kickoff.Rounds[round-1].IDs
	}
	n := len(ids)
	a := asking{
		ask:     fmt.Sprintf("Rate %s: how bad would it be to be wrong, and how solid is what we know?", words.Count(n, "assumption", "assumptions")),
		why:     "The answers show what to test first. Everyone rates alone, and nothing is shown before the close, so that nobody sways anybody.",
		minutes: ratingMinutes(n),
		buttons: []*slack.ButtonBlockElement{button("Open My Ballot", "open/rating.ballot", ratingArgs(p, round, ""))},
	}
	if round > 1 {
		a.title = "Rate again where we differ"
		a.ask = fmt.Sprintf("Rate %s again: the first ratings were far apart.", words.Count(n, "assumption", "assumptions"))
		a.why = "Somebody may know what others do not. Each has a thread in this channel; have a look there first. Whatever you do not rate again keeps your first rating."
		a.body = block.List(ids, 12, func(id string) []block.Run {
			split, _ := p.Kickoff.Assumption(id)
			return []block.Run{block.Bold("%s ", id), block.Typed(split.Text, 120)}
		})
	}
	return a, nil
}

// ratingNudge says how much of a ballot is done.
func ratingNudge(p Page) nudge {
	k := p.Kickoff
	if len(k.Rounds) == 0 {
		return nudge{}
	}
	all, rated := len(k.Rounds[len(k.Rounds)-1].IDs), 0
	for _, m := range k.Ballot(k.Window.Round, p.Viewer) {
		if m.Importance != 0 && m.Evidence != 0 {
			rated++
		}
	}
	open := fmt.Sprintf("Rate %s. Your ballot is private, and saved at each choice.", words.Count(all, "assumption", "assumptions"))
	if rated > 0 {
		open = fmt.Sprintf("Your ballot has %d of %s rated. What you have is saved; press Finish on its last page.", rated, words.Count(all, "assumption", "assumptions"))
	}
	return owed(p, open, ratingMinutes(all-rated), hereButton(p, "Open My Ballot", "open/rating.ballot"))
}

func ratingMinutes(n int) int { return max(1, (n*secondsPerRating+59)/60) }

func ratingArgs(p Page, round int, id string) Args {
	return Args{Kickoff: p.Kickoff.ID, Stage: string(flows.StageRating), Round: round, Assumption: id}
}

// ratingResult is the map of a round in words: the list in test order.
func ratingResult(p Page) (Posting, error) {
	k, round := p.Kickoff, p.Args.Round
	title := "What to test first"
	if round > 1 {
		title = "What to test first, after the second round"
	}
	if round < 1 || round > len(k.Rounds) || k.Rounds[round-1].Result == nil {
		return line(p, title, "The rating is open again, and this will follow anew."), nil
	}
	r := *k.Rounds[round-1].Result
	blocks := []slack.Block{block.Heading(title), block.Text("%s", ratedText(k, r, round)), block.Text("%s", words.FirstText(r))}
	blocks = append(blocks, block.Drawn(report.TestOrder(k, r))...)
	if text := splitsText(k.Rounds[round-1], round); text != "" {
		blocks = append(blocks, block.Para(block.Bold("%s", text)))
	}
	return Posting{
		Text:   aloud(k, "the rating has closed. %s", words.FirstText(r)),
		Blocks: append(blocks, block.Drawn(report.MapNotes(r))...),
	}, nil
}

func ratedText(k flows.Kickoff, r engine.Result, round int) string {
	w, _ := windowOf(k, flows.StageRating, round)
	text := fmt.Sprintf("%d of %d rated, each alone. The picture in the thread shows the same.", r.Raters, max(len(w.Asked), r.Raters))
	if round > 1 {
		text = fmt.Sprintf("%d of %d rated again what was split; everything else stands as in the first round.", k.Heard(w), len(w.Asked))
	}
	if w.Thin {
		text += " Fewer than half were heard, so lean on it with care."
	}
	return text
}

func splitsText(r flows.Round, round int) string {
	switch {
	case len(r.Splits) == 0 && round > 1:
		return "Nothing is split any more."
	case len(r.Splits) == 0:
		return ""
	case round > 1:
		return fmt.Sprintf("Still split: %s. That is worth a talk, not another vote.", words.Listed(r.Splits, 8))
	}
	return fmt.Sprintf("Views are split on %s. Each has a thread here: tell the others what they may not know. A second round asks about these only.", words.Listed(r.Splits, 8))
}

// splitMessage opens the talk about one split assumption.
func splitMessage(p Page, id string) (Posting, error) {
	k := p.Kickoff
	a, ok := k.Assumption(id)
	if !ok {
		return Posting{}, fmt.Errorf("there is no assumption %q", id)
	}
	blocks := []slack.Block{block.Heading("We see " + id + " differently"), block.Quote(block.Typed(a.Text, 600))}
	if a.Because != "" {
		blocks = append(blocks, block.Para(block.Italic("Because: "), block.Typed(a.Because, 400)))
	}
	for _, text := range splitCounts(k, id) {
		blocks = append(blocks, block.Text("%s", text))
	}
	blocks = append(blocks,
		block.Para(block.Bold("What do you know that others may not?"), block.Plain(" Reply in this thread, or give a reason without your name.")),
		block.Buttons(block.Primary(button("Say Why", "open/rating.reason", ratingArgs(p, 1, id)))))
	return Posting{
		Text: block.Escape(fmt.Sprintf("%s is split: %s What do you know that others may not? Reply in the thread, or press Say Why to stay unnamed.",
			id, words.Clip(a.Text, 140))),
		Blocks: blocks,
	}, nil
}

// splitCounts tells, for each scale on which the first round was split, how
// many rated low, in the middle and high. Thirds show the camps, and nobody's
// ballot.
func splitCounts(k flows.Kickoff, id string) []string {
	if len(k.Rounds) == 0 || k.Rounds[0].Result == nil {
		return nil
	}
	var out []string
	for _, s := range k.Rounds[0].Result.Assumptions {
		if s.ID != id {
			continue
		}
		if s.Importance.Agreement == engine.Split {
			out = append(out, "Importance: "+thirds(k, id, func(m flows.Marking) int { return m.Importance }))
		}
		if s.Evidence.Agreement == engine.Split {
			out = append(out, "Evidence: "+thirds(k, id, func(m flows.Marking) int { return m.Evidence }))
		}
	}
	return out
}

func thirds(k flows.Kickoff, id string, mark func(flows.Marking) int) string {
	var n [3]int
	for _, ballot := range k.Rounds[0].Ballots {
		if v := mark(ballot[id]); v >= 1 {
			n[(v-1)/3]++
		}
	}
	return fmt.Sprintf("%d rated it 1 to 3, %d rated it 4 to 6, %d rated it 7 to 9.", n[0], n[1], n[2])
}

// reasonMessage is one reason, in the thread of what it is about.
func reasonMessage(p Page, arg string) (Posting, error) {
	r, err := numbered(p.Kickoff.Reasons, "reason", arg)
	if err != nil {
		return Posting{}, err
	}
	from := "A reason without a name"
	if r.By != "" {
		from = words.Clip(p.Kickoff.Name(r.By), 60)
	}
	return Posting{
		Text:   block.Escape(fmt.Sprintf("%s, on %s: %s", from, r.Assumption, words.Clip(r.Text, 200))),
		Blocks: []slack.Block{block.Para(block.BoldTyped(from, 60), block.Plain(", on %s:", r.Assumption)), block.Quote(block.Typed(r.Text, flows.MaxText))},
	}, nil
}

func newReason(p Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = "Say why", "Share"
	f.Add(block.Para(block.Bold("%s ", a.ID), block.Typed(a.Text, 600)))
	return flows.GiveReason{By: by(p), Assumption: p.Args.Assumption,
		Text: f.Text("text", "What may others not know?", "",
			block.Hint("A fact, a number, something you have seen. It goes into the thread.")),
		Signed: f.Tick("signed", "Your name", "sign", "Show my name",
			block.Hint("Without the tick your name is not kept anywhere, so a reason cannot be taken back."))}
}

func hasAssumption(p Page) error {
	if _, ok := p.Kickoff.Assumption(p.Args.Assumption); !ok {
		return fmt.Errorf("there is no assumption %q", p.Args.Assumption)
	}
	return nil
}

// The ballot: every choice is saved as it is made, so there is nothing to
// lose and nothing to send. The form only turns pages.

// rateAction is how the action ids of a ballot begin:
// rate/importance/A1, rate/evidence/A1.
const rateAction = "rate/"

// mayRate refuses a ballot that could not be saved before it is filled in.
func mayRate(p Page) error {
	if err := mayTakePart(p); err != nil {
		return err
	}
	if !takesAnswers(p.Kickoff, flows.Window{Stage: flows.StageRating, Round: p.Args.Round}) {
		return refusal("This round of rating has closed. What came of it is in the channel.")
	}
	return nil
}

func drawBallot(p Page, f *block.Form) flows.Intent {
	pages := ballotPages(p)
	at, submit := pageAt(p, len(pages), "Finish")
	f.Title, f.Submit, f.Close = fmt.Sprintf("Ballot, page %d of %d", at+1, len(pages)), submit, "Later"
	f.Add(ballotIntro(p, at, pages)...)
	for _, id := range pages[at] {
		f.Add(ballotEntry(p, id, p.Kickoff.Ballot(p.Args.Round, p.Viewer)[id])...)
	}
	return nil
}

// turnBallot goes to the next page, or finishes on the last. A choice that was
// lost on its way is still in the form and is saved now. What was saved before
// is left alone, since it may come from another device and be newer.
func turnBallot(p Page, v block.Values) (Answer, error) {
	if err := mayRate(p); err != nil {
		return Answer{}, err
	}
	pages := ballotPages(p)
	answer := Answer{Intents: lostChoices(p, v)}
	if p.Args.N >= len(pages)-1 {
		answer.Intents = append(answer.Intents, flows.Finish{By: by(p), Stage: flows.StageRating, Round: p.Args.Round})
		return answer, nil
	}
	p.Args.N = max(p.Args.N, 0) + 1
	answer.Next = redrawn("rating.ballot", p)
	return answer, nil
}

func lostChoices(p Page, v block.Values) []flows.Intent {
	var lost []flows.Intent
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, b := range v.Blocks(rateAction) {
		for _, scale := range []flows.Scale{flows.Importance, flows.Evidence} {
			id := strings.TrimPrefix(b, rateAction)
			action := rateActionID(scale, id)
			saved := ballot[id].Importance
			if scale == flows.Evidence {
				saved = ballot[id].Evidence
			}
			if intent, ok := Choice(p, action, v[b][action].SelectedOption.Value); ok && saved == 0 {
				lost = append(lost, intent)
			}
		}
	}
	return lost
}

// Choice reads one choice on a ballot; ok is false for any other action.
func Choice(p Page, actionID, value string) (intent flows.Intent, ok bool) {
	scale, id, cut := strings.Cut(strings.TrimPrefix(actionID, rateAction), "/")
	n, err := strconv.Atoi(value)
	known := scale == string(flows.Importance) || scale == string(flows.Evidence)
	if !strings.HasPrefix(actionID, rateAction) || !cut || err != nil || !known {
		return nil, false
	}
	return flows.Rate{By: by(p), Round: p.Args.Round, Assumption: id, Scale: flows.Scale(scale), Value: n}, true
}

func rateActionID(scale flows.Scale, id string) string { return rateAction + string(scale) + "/" + id }

// ballotPages divides what a round asks into pages. A page is measured with
// everything chosen: choices must not push an entry over to another page
// while somebody is turning them.
func ballotPages(p Page) [][]string {
	if p.Args.Round < 1 || p.Args.Round > len(p.Kickoff.Rounds) {
		return [][]string{nil}
	}
	chosen := flows.Marking{Importance: 9, Evidence: 9}
	return block.Pages(p.Kickoff.Rounds[p.Args.Round-1].IDs, block.AnswerBytes, func(id string) int {
		return block.Size(ballotEntry(p, id, chosen)...)
	})
}

// pageAt is the page of Args.N, from 0, and what the button at its foot says;
// last is what that of the last page says.
func pageAt(p Page, pages int, last string) (at int, submit string) {
	at = min(max(p.Args.N, 0), pages-1)
	if at == pages-1 {
		return at, last
	}
	return at, "Next Page"
}

// ballotIntro explains the two questions on the first page, and on later ones
// says what is still blank on those before.
func ballotIntro(p Page, at int, pages [][]string) []slack.Block {
	if at == 0 && p.Args.Round > 1 {
		return []slack.Block{block.Text("Views were far apart on these. Read what others said in their threads, then rate them again. Leave one blank and your first rating stands."),
			block.Note(saveNote)}
	}
	if at == 0 {
		return []slack.Block{block.Para(
			block.Bold("Importance: "), block.Plain("how bad if wrong? 1 hardly matters, 9 and it all falls.\n"),
			block.Bold("Evidence: "), block.Plain("how solid today? 1 is a guess, 9 is proven.")),
			block.Note(saveNote)}
	}
	var blank []string
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, ids := range pages[:at] {
		for _, id := range ids {
			if m := ballot[id]; m.Importance == 0 || m.Evidence == 0 {
				blank = append(blank, id)
			}
		}
	}
	if len(blank) == 0 || p.Args.Round > 1 {
		return nil
	}
	return []slack.Block{block.Note(fmt.Sprintf("Blank on the pages before: %s. That is fine; a blank counts as “can't say”.", words.Listed(blank, 10)))}
}

const saveNote = "Each choice is saved at once, and nobody sees it before the rating closes. You can stop and come back. Where you cannot judge, choose “can't say”."

// ballotEntry is one assumption with its two scales.
func ballotEntry(p Page, id string, m flows.Marking) []slack.Block {
	a, _ := p.Kickoff.Assumption(id)
	runs := []block.Run{block.Bold("%s ", id), block.Typed(a.Text, 300)}
	if a.Because != "" {
		runs = append(runs, block.Italic("\nBecause: "), block.Typed(a.Because, 200))
	}
	if p.Args.Round > 1 {
		runs = append(runs, block.Italic("\n%s", firstRound(p, id)))
	}
	return []slack.Block{block.Para(runs...), slack.NewActionBlock(rateAction+id,
		scaleSelect(flows.Importance, id, "How bad if wrong?", m.Importance),
		scaleSelect(flows.Evidence, id, "How solid today?", m.Evidence))}
}

// firstRound tells, in the second round, what the first one said of an
// assumption, and what the viewer did.
func firstRound(p Page, id string) string {
	own := p.Kickoff.Ballot(1, p.Viewer)[id]
	text := fmt.Sprintf("You said: importance %s, evidence %s.", markText(own.Importance), markText(own.Evidence))
	if own == (flows.Marking{}) {
		text = "You have not rated it."
	}
	if s, ok := p.Kickoff.Scored(id); ok {
		text += fmt.Sprintf(" The group: importance %s, evidence %s.", rangeText(s.Importance), rangeText(s.Evidence))
	}
	return text
}

func markText(mark int) string {
	switch mark {
	case 0:
		return "blank"
	case flows.CantSay:
		return "can't say"
	}
	return strconv.Itoa(mark)
}

// rangeText says where the middle half of the ratings lies.
func rangeText(s engine.Spread) string {
	switch {
	case s.N == 0:
		return "not rated"
	case s.Q1 == s.Q3:
		return "mostly " + words.Number(s.Q1)
	}
	return fmt.Sprintf("mostly %s to %s", words.Number(s.Q1), words.Number(s.Q3))
}

// scaleSelect is one scale of one assumption. Each option names its scale:
// once chosen, a bare "7" beside a bare "3" would not say which is which.
func scaleSelect(scale flows.Scale, id, ask string, mark int) *slack.SelectBlockElement {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, lean(ask), rateActionID(scale, id))
	name := words.SentenceCase(string(scale))
	for _, value := range []int{1, 2, 3, 4, 5, 6, 7, 8, 9, flows.CantSay} {
		text := name + " " + scaleStep(value, scaleWords(scale))
		if value == flows.CantSay {
			text = name + ": can't say"
		}
		o := slack.NewOptionBlockObject(strconv.Itoa(value), lean(text), nil)
		e.Options = append(e.Options, o)
		if value == mark {
			e.InitialOption = o
		}
	}
	return e
}

// lean is a plain text without the settings that are usual anyway: there are
// twenty options to an assumption, and 20 kB to a page.
func lean(text string) *slack.TextBlockObject {
	return &slack.TextBlockObject{Type: slack.PlainTextType, Text: text}
}

// scaleStep is a step of a scale, with its words where it has some.
func scaleStep(value int, runs map[int]string) string {
	if means := runs[value]; means != "" {
		return strconv.Itoa(value) + " · " + means
	}
	return strconv.Itoa(value)
}

func scaleWords(scale flows.Scale) map[int]string {
	if scale == flows.Importance {
		return map[int]string{1: "hardly matters", 5: "would hurt", 9: "it all falls"}
	}
	return map[int]string{1: "a guess", 5: "some signs", 9: "proven"}
}

// A gist of the unsigned reasons under a split: the lead may ask for one, and
// decides whether it stands in the thread.

// offerGists puts a button onto a lead's desk for each split with unsigned
// reasons enough.
func offerGists(m Posting, p Page) Posting {
	ids := p.Kickoff.ToSumUp()
	if mayLead(p) != nil || len(ids) == 0 || p.Kickoff.DraftsLeft(flows.DraftGist, p.Viewer) == 0 {
		return m
	}
	var row []*slack.ButtonBlockElement
	for i, id := range words.FirstOf(ids, 5) { // a row of buttons
		row = append(row, button("Sum Up "+words.Clip(id, 16), fmt.Sprintf("%s%s/%d", draftVerb, flows.DraftGist, i+1), ratingArgs(p, 0, id)))
	}
	return onDesk(m, "Reasons without a name can be summed up in two sentences by a model. You alone see the draft, and you decide whether it is posted.", row)
}

// mayGist refuses a gist of what has no two reasons.
func mayGist(p Page) error {
	if err := mayLead(p); err != nil {
		return err
	}
	if !slices.Contains(p.Kickoff.ToSumUp(), p.Args.Assumption) {
		return refusal("There are not two reasons without a name here yet, so there is nothing to sum up.")
	}
	return nil
}

func sentOfReasons(p Page, a flows.Assumption) []string {
	return append([]string{a.Text}, p.Kickoff.UnsignedReasons(a.ID)...)
}

// gistInThread shows the gist that stands already, which may be changed.
func gistInThread(p Page, a flows.Assumption) []slack.Block {
	gist, ok := p.Kickoff.Gists[a.ID]
	if !ok {
		return nil
	}
	return []slack.Block{block.Para(block.Bold("In the thread now")), block.Quote(block.Typed(gist.Text, 700)),
		block.Buttons(button("Change It by Hand", "open/rating.gist", ratingArgs(p, 0, a.ID))), block.Divider()}
}

// longestGist is how long a gist may be, in characters; flows says so as well.
const longestGist = 600

// draftedGist shows the draft beside the reasons; without one, the way by hand.
func draftedGist(p Page, f *block.Form, a flows.Assumption) flows.Intent {
	name, draft := "Your gist", lastDraft(p.Args)
	if draft != "" {
		name = "The draft"
	}
	f.Title = "Sum up the reasons"
	return gistEntry(p, f, a, name, flows.Gist{Text: draft, Drafted: true})
}

func changedGist(p Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = "Change the gist", "Save"
	return gistEntry(p, f, a, "In the thread", p.Kickoff.Gists[a.ID])
}

// gistEntry asks for a gist, and shows what to look for and the reasons to
// compare it with. It is read as a machine's draft where one stood in the form
// and was not changed.
func gistEntry(p Page, f *block.Form, a flows.Assumption, name string, stood flows.Gist) flows.Intent {
	const most = 20
	reasons := p.Kickoff.UnsignedReasons(a.ID)
	text, same := usedText(f.Text(roundField(p, "gist"), name, stood.Text, block.Longest(longestGist),
		block.Hint("Two sentences. “Not Now” leaves the thread as it is.")), stood.Text)
	f.Add(block.Para(block.Bold("Before you post it, see that")), block.Sentences(prompts.GistRules()),
		block.Divider(), block.Para(block.Bold("%s ", a.ID), block.Typed(a.Text, 600)), block.Para(block.Bold("The reasons without a name")))
	for _, r := range words.FirstOf(reasons, most) {
		f.Add(block.Quote(block.Typed(r, 600)))
	}
	if left := len(reasons) - most; left > 0 {
		f.Add(block.Text("And %d more.", left))
	}
	return flows.PostGist{ByLead: byLead(p), Assumption: p.Args.Assumption, Text: text, Drafted: same && stood.Drafted}
}

// gistMessage is a gist in the thread of its split. It says whose words it
// is in.
func gistMessage(p Page, id string) (Posting, error) {
	gist, ok := p.Kickoff.Gists[id]
	if !ok {
		return Posting{}, fmt.Errorf("there is no gist of %q", id)
	}
	from := "Written by " + words.Clip(p.Kickoff.Name(gist.By), 60) + ", who leads."
	if gist.Drafted {
		from = "A machine's draft, read and posted by " + words.Clip(p.Kickoff.Name(gist.By), 60) + "."
	}
	return Posting{
		Text:   block.Escape(fmt.Sprintf("%s, the reasons without a name in short: %s %s", id, words.Clip(gist.Text, 250), from)),
		Blocks: []slack.Block{block.Para(block.Bold("The reasons without a name, in short")), block.Quote(block.Typed(gist.Text, longestGist)), block.Note(from)},
	}, nil
}
