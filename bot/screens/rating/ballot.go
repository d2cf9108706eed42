package rating

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// The ballot: every choice is saved as it is made, so there is nothing to
// lose and nothing to send. The form only turns pages.

// rateAction is how the action ids of a ballot begin:
// rate/importance/A1, rate/evidence/A1.
const rateAction = "rate/"

// mayRate refuses a ballot that could not be saved before it is filled in.
func mayRate(p screen.Page) error {
	if err := screen.MayTakePart(p); err != nil {
		return err
	}
	if !screen.TakesAnswers(p.Kickoff, state.Window{Stage: state.StageRating, Round: p.Args.Round}) {
		return screen.Refuse("This round of rating has closed. What came of it is in the channel.")
	}
	return nil
}

func drawBallot(p screen.Page, f *block.Form) flows.Intent {
	pages := Pages(p)
	at, submit := screen.PageAt(p, len(pages), "Finish")
	if !p.Kickoff.Rates(p.Viewer) {
		return drawUnrated(p, f, pages[at], at+1, len(pages))
	}
	f.Title, f.Submit, f.Close = fmt.Sprintf("Ballot, page %d of %d", at+1, len(pages)), submit, "Later"
	f.Add(ballotIntro(p, at, pages)...)
	for _, id := range pages[at] {
		f.Add(ballotEntry(p, id, p.Kickoff.Ballot(p.Args.Round, p.Viewer)[id])...)
	}
	return nil
}

// drawUnrated shows the list to a lead who chose not to rate it.
func drawUnrated(p screen.Page, f *block.Form, ids []string, page, pages int) flows.Intent {
	f.Title, f.Close = fmt.Sprintf("The list, page %d of %d", page, pages), "Close"
	if page < pages {
		f.Submit = "Next"
	}
	f.Add(block.Text("You chose that the others rate without you. This is what they rate."))
	for _, id := range ids {
		f.Add(ballotText(p, id))
	}
	return nil
}

// turnBallot goes to the next page, or finishes on the last. A choice that was
// lost on its way is still in the form and is saved now. What was saved before
// is left alone, since it may come from another device and be newer.
func turnBallot(p screen.Page, v block.Values) (screen.Answer, error) {
	if err := mayRate(p); err != nil {
		return screen.Answer{}, err
	}
	pages := Pages(p)
	answer := screen.Answer{Intents: lostChoices(p, v)}
	p = withChoices(p, answer.Intents)
	if p.Args.N >= len(pages)-1 && !p.Kickoff.Rates(p.Viewer) {
		return screen.Answer{}, nil
	}
	if p.Args.N >= len(pages)-1 {
		return endBallot(p, answer), nil
	}
	p.Args.N = max(p.Args.N, 0) + 1
	answer.Next = screen.Redrawn(Forms(), "rating.ballot", p)
	return answer, nil
}

func lostChoices(p screen.Page, v block.Values) []flows.Intent {
	var lost []flows.Intent
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, b := range v.Blocks(rateAction) {
		for _, scale := range []state.Scale{state.Importance, state.Evidence} {
			id := strings.TrimPrefix(b, rateAction)
			action := rateActionID(scale, id)
			saved := ballot[id].Importance
			if scale == state.Evidence {
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
func Choice(p screen.Page, actionID, value string) (intent flows.Intent, ok bool) {
	scale, id, cut := strings.Cut(strings.TrimPrefix(actionID, rateAction), "/")
	n, err := strconv.Atoi(value)
	known := scale == string(state.Importance) || scale == string(state.Evidence)
	if !strings.HasPrefix(actionID, rateAction) || !cut || err != nil || !known {
		return nil, false
	}
	return flows.Rate{By: screen.By(p), Round: p.Args.Round, Assumption: id, Scale: state.Scale(scale), Value: n}, true
}

func rateActionID(scale state.Scale, id string) string { return rateAction + string(scale) + "/" + id }

// Pages divides what a round asks into pages. A page is measured with
// everything chosen: choices must not push an entry over to another page
// while somebody is turning them.
func Pages(p screen.Page) [][]string {
	if p.Args.Round < 1 || p.Args.Round > len(p.Kickoff.Rounds) {
		return [][]string{nil}
	}
	ids := p.Kickoff.Rounds[p.Args.Round-1].Share(p.Viewer)
	if !p.Kickoff.Rates(p.Viewer) {
		ids = p.Kickoff.Rounds[p.Args.Round-1].IDs
	}
	return block.PagesOf(ids, screen.MostFields/2, block.AnswerBytes, entrySize(p))
}

// entrySize tells how long entries are. The menus are by far the longest part of one,
// and those of another differ in the id alone, which they hold three times: so they
// are encoded once.
func entrySize(p screen.Page) func(id string) int {
	menus := block.Size(ballotMenus("", state.Marking{Importance: 9, Evidence: 9}))
	return func(id string) int {
		encoded, _ := json.Marshal(id) // text always can be
		size := block.Size(ballotText(p, id)) + menus + 3*(len(encoded)-len(`""`)) - len("]")
		if p.Args.Round > 1 { // reasons come in while somebody turns the pages
			missing := reasonsTold - min(len(flows.ReasonsOn(&p.Kickoff, id)), reasonsTold)
			size += missing * reasonBytes
		}
		return size
	}
}

// ballotIntro explains the two questions on the first page, and on later ones
// says what is still blank on those before.
func ballotIntro(p screen.Page, at int, pages [][]string) []slack.Block {
	if at == 0 && p.Args.Round > 1 && isDealt(p.Kickoff) {
		return []slack.Block{block.Text("These could still come first, or views are far apart on them, so everybody rates them. Leave one blank and what you rated before stands."),
			block.Note(saveNote)}
	}
	if at == 0 && p.Args.Round > 1 {
		return []slack.Block{block.Text("Views were far apart on these. Read the reasons first. Change a rating only if you have learnt something: a difference that lasts is useful too. Leave one blank and your first rating stands."),
			block.Note(saveNote)}
	}
	if at == 0 {
		return []slack.Block{block.Para(
			block.Bold("Importance: "), block.Plain("how bad if wrong? 1 hardly matters, 9 we could not go on.\n"),
			block.Bold("Evidence: "), block.Plain("how solid today? 1 is a guess, 9 is proven.")),
			block.Note(strings.TrimSpace(shareText(p, slices.Concat(pages...)) + " " + saveNote))}
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
	var notes []slack.Block
	if text := ownOrder(p); text != "" {
		notes = append(notes, block.Note("Most important to you so far: "+text))
	}
	if len(blank) > 0 && p.Args.Round == 1 {
		notes = append(notes, block.Note(fmt.Sprintf("Blank on the pages before: %s. That is fine; a blank counts as “can't say”.", words.Listed(blank, 10))))
	}
	return notes
}

const saveNote = "Each choice is saved at once, and nobody sees it before the rating closes. You can stop and come back. Where you cannot judge, choose “can't say”."

// ballotEntry is one assumption with its two scales.
func ballotEntry(p screen.Page, id string, m state.Marking) []slack.Block {
	return []slack.Block{ballotText(p, id), ballotMenus(id, m)}
}

func ballotText(p screen.Page, id string) slack.Block {
	a, _ := p.Kickoff.Assumption(id)
	runs := []block.Run{block.Bold("%s ", id), block.Typed(a.Text, 300)}
	if a.Because != "" {
		runs = append(runs, block.Italic("\nBecause: "), block.Typed(a.Because, 200))
	}
	if p.Args.Round > 1 {
		runs = append(runs, reasonRuns(p, id)...)
		if said := firstRound(p, id); said != "" {
			runs = append(runs, block.Italic("\n%s", said))
		}
	}
	return block.Para(runs...)
}

func ballotMenus(id string, m state.Marking) slack.Block {
	return slack.NewActionBlock(rateAction+id,
		scaleSelect(state.Importance, id, "How bad if wrong?", m.Importance),
		scaleSelect(state.Evidence, id, "How solid today?", m.Evidence))
}

// What a ballot of the second round tells of the talk about an assumption.
const (
	reasonsTold   = 3
	wordsOfReason = 160
	reasonBytes   = 400 // of the page, with a name and its markup
)

// reasonRuns are the reasons that were given about an assumption, before any figure:
// what others know should move a rating, not where they stand.
func reasonRuns(p screen.Page, id string) []block.Run {
	var runs []block.Run
	reasons := flows.ReasonsOn(&p.Kickoff, id)
	for _, r := range words.FirstOf(reasons, reasonsTold) {
		from := "Somebody"
		if r.By != "" {
			from = p.Kickoff.Name(r.By)
		}
		runs = append(runs, block.Plain("\n• "), block.BoldTyped(from, 60), block.Plain(": "), block.Typed(r.Text, wordsOfReason))
	}
	if more := len(reasons) - reasonsTold; more > 0 {
		runs = append(runs, block.Plain("\n• and %d more in its thread", more))
	}
	return runs
}

// firstRound tells, in the second round, what the first one said of an
// assumption, and what the viewer did.
func firstRound(p screen.Page, id string) string {
	own := p.Kickoff.Ballot(1, p.Viewer)[id]
	if own == (state.Marking{}) && !showsGroup(p.Kickoff, id) {
		return ""
	}
	text := fmt.Sprintf("You said: importance %s, evidence %s.", markText(own.Importance), markText(own.Evidence))
	if own == (state.Marking{}) {
		text = "You have not rated it."
	}
	if s, ok := p.Kickoff.Scored(id); ok && showsGroup(p.Kickoff, id) {
		s = state.ScoreWithoutFew(s)
		text += fmt.Sprintf(" The group: importance %s, evidence %s.", rangeText(s.Importance), rangeText(s.Evidence))
	}
	return text
}

func markText(mark int) string {
	switch mark {
	case 0:
		return "blank"
	case state.CantSay:
		return "can't say"
	}
	return strconv.Itoa(mark)
}

// rangeText says where the middle half of the ratings lies.
func rangeText(s engine.Spread) string {
	switch {
	case s.N == 0:
		return "not rated"
	case !s.Q1.Defined(): // few rated: more would give single ratings away
		return "median " + words.Number(s.Median)
	case s.Q1 == s.Q3:
		return "most said " + words.Number(s.Q1)
	}
	return fmt.Sprintf("half of them between %s and %s", words.Number(s.Q1), words.Number(s.Q3))
}

// scaleSelect is one scale of one assumption. Each option names its scale:
// once chosen, a bare "7" beside a bare "3" would not say which is which.
func scaleSelect(scale state.Scale, id, ask string, mark int) *slack.SelectBlockElement {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, lean(ask), rateActionID(scale, id))
	name := words.SentenceCase(string(scale))
	for _, value := range []int{1, 2, 3, 4, 5, 6, 7, 8, 9, state.CantSay} {
		text := name + " " + screen.ScaleStep(value, screen.ScaleWords(scale))
		if value == state.CantSay {
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
