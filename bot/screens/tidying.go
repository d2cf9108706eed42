package screens

import (
	"cmp"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/hints"
	"soundings/flows/state"
)

// Before a list is rated a lead can look through what would be hard to rate: what looks
// alike, and what reads like a question, a feature, a wish, or two beliefs in one. Who
// wrote what does not stand there.

func tidyingForms() map[string]screen.Form {
	return map[string]screen.Form{
		"tidying.look":  {May: screen.Both(screen.Settles(state.StageTidying), hasRemark), Fill: lookedAt, Submit: submitLook, CloseAll: true},
		"tidying.ask":   {May: screen.Both(screen.MayLead, mayAskAlike), Fill: askedAlike, CloseAll: true},
		"tidying.alike": {May: screen.Both(screen.MayTakePart, owesAlike), Fill: saidAlike},
	}
}

var tidyingActions = map[string]screen.Action{
	"tidying.leave": func(p screen.Page) (flows.Intent, string) {
		return flows.LeaveRemarks{ByLead: screen.ByLead(p), N: p.Kickoff.Tidying.Unseen()}, "They stay as they are. The rating opens by itself."
	},
	"tidying.open": func(p screen.Page) (flows.Intent, string) {
		return flows.LeaveRemarks{ByLead: screen.ByLead(p), N: p.Kickoff.Tidying.Standing()}, "The list stands as it is. The rating is open."
	},
	"tidying.none": func(p screen.Page) (flows.Intent, string) {
		return flows.SayAlike{By: screen.By(p)}, "Thank you for reading the list."
	},
	"tidying.stands": func(p screen.Page) (flows.Intent, string) {
		a, _ := p.Kickoff.Assumption(p.Args.Assumption)
		return flows.EditAssumption{By: screen.By(p), ID: p.Args.Assumption, Text: a.Text, Because: a.Because}, "It stays as it is. Thank you for looking."
	},
}

// remarkText says why an assumption, or two, may be hard to rate.
func remarkText(k state.Kickoff, about []string) string {
	switch {
	case foundAlike(k, about):
		return "Somebody whom you asked finds that these two say the same. If you do too, let one stand for both."
	case len(about) > 1:
		return "These two look alike. If they say the same, let one stand for both."
	}
	a, _ := k.Assumption(about[0])
	return cmp.Or(strings.Join(hints.Wording(a.Text), " "), "It may be hard to rate as it is worded.")
}

// remarkLines show what a remark is about, and why.
func remarkLines(k state.Kickoff, about []string, longest int) []block.Run {
	var runs []block.Run
	for _, id := range about {
		a, _ := k.Assumption(id)
		runs = append(runs, block.Bold("%s ", a.ID), block.Typed(a.Text, longest), block.Plain("\n"))
	}
	return append(runs, block.Italic("%s", remarkText(k, about)))
}

// tidiedList shows a lead what stands out while the list is open, each with the form
// that mends it.
func tidiedList(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "Tidy the list"
	all := flows.StandsOut(&p.Kickoff)
	args := screen.StageArgs(p, state.StageAssumptions)
	if len(all) == 0 {
		f.Add(block.Text("Nothing stands out: no two entries look alike, and each reads like one belief."))
	} else {
		f.Add(block.Text("%s to look at before the rating. I only guess from the words, so leave what is fine. Nobody is named here.", words.Count(len(all), "thing", "things")))
	}
	f.Add(block.Rows(all, screen.MostEntries, func(about []string) ([]block.Run, *slack.ButtonBlockElement) {
		runs := remarkLines(p.Kickoff, about, 200)
		if args.Assumption = about[0]; len(about) > 1 {
			return runs, screen.Button("Join Them", "open/assumptions.join", args)
		}
		return runs, screen.Button("Change or Withdraw", "open/assumptions.edit", args)
	})...)
	if ask := askButtons(p); len(ask) > 0 {
		f.Add(block.Divider(), block.Text(alikeWhy), block.Buttons(ask...))
	} else if text := backText(p.Kickoff); text != "" {
		f.Add(block.Divider(), block.Text("%s", text))
	}
	return nil
}

// tidyNote says, before the list is closed, that something on it stands out.
func tidyNote(k state.Kickoff) []slack.Block {
	n := len(flows.StandsOut(&k))
	if k.Stage != state.StageAssumptions || n == 0 {
		return nil
	}
	return []slack.Block{block.Note(words.Count(n, "thing", "things") + " on the list may be hard to rate as it stands. You can look at that before the rating opens.")}
}

// mostRemarks is how many remarks a message shows; the others come one after the other
// in the form.
const mostRemarks = 3

// tidyingSettles asks a lead to look through the list before it is rated.
func tidyingSettles(p screen.Page) (screen.Settling, error) {
	k := p.Kickoff
	until, waits := screen.SettlingIn(k, state.StageTidying)
	out := screen.Settling{Title: flows.TitleOf(state.StageTidying), Until: until, Without: "Without you the rating opens"}
	if !waits {
		return out.Done("This is settled. Nothing is left to do here.")
	}
	unseen, args := k.Tidying.Unseen(), screen.StageArgs(p, state.StageTidying)
	if len(unseen) == 0 {
		nothing := "you have looked at everything."
		if len(k.Tidying.Remarks) == 0 {
			nothing = "nothing on the list stands out."
		}
		out.Acts = append([]*slack.ButtonBlockElement{screen.Button("Open the Rating Now", "do/tidying.open", args)}, askButtons(p)...)
		out.Ask = nothing + " " + backText(k)
		out.Body = []slack.Block{
			block.Para(block.Plain("%s %s The rating opens once that is answered, at the latest ", words.SentenceCase(nothing), backText(k)), block.When(until), block.Plain(" your time.")),
			block.Buttons(out.Acts...)}
		out.Home = []block.Run{block.Plain("%s", backText(k))}
		return out, nil
	}
	args.N = unseen[0]
	out.Acts = append([]*slack.ButtonBlockElement{
		block.Primary(screen.Button("Look Through Them", "open/tidying.look", args)), screen.Button("Leave All as They Are", "do/tidying.leave", args)}, askButtons(p)...)
	out.Ask = "please look at the list before it is rated. " + unseenText(len(unseen))
	var items [][]block.Run
	for _, n := range words.FirstOf(unseen, mostRemarks) {
		items = append(items, remarkLines(k, k.Tidying.Remarks[n-1].About, 120))
	}
	out.Body = append([]slack.Block{block.Text("%s I only guess from the words, so leave what is fine. Nobody is named.", unseenText(len(unseen)))},
		block.WithMore(items, len(unseen))...)
	if text := backText(k); text != "" {
		out.Body = append(out.Body, block.Text("%s", text))
	}
	out.Body = append(out.Body,
		block.Para(block.Plain("If you do nothing, the rating opens "), block.When(until), block.Plain(" your time.")),
		block.Buttons(out.Acts...))
	out.Home = []block.Run{block.Plain("Please look at the list before it is rated. %s", unseenText(len(unseen)))}
	return out, nil
}

func unseenText(n int) string {
	return words.Count(n, "thing on the list may be hard to rate.", "things on the list may be hard to rate.")
}

// backText says what waits for an answer: what was sent back, of nobody that they wrote it,
// and what two people were asked.
func backText(k state.Kickoff) string {
	text := sentBackText(k)
	if owing := len(state.OwingAlike(&k)); owing > 0 {
		have := "none has answered yet."
		if owing < len(k.Tidying.Asked) {
			have = "one has answered."
		}
		text = strings.TrimSpace(text + " You asked two people what says the same: " + have)
	}
	return text
}

func sentBackText(k state.Kickoff) string {
	var ids []string
	for _, r := range k.Tidying.Remarks {
		if r.Waits() {
			ids = append(ids, r.About...)
		}
	}
	if len(ids) == 0 {
		return ""
	}
	return "Sent back: " + words.And(ids, 6) + "."
}

// hasRemark refuses a form about something that has been looked at.
func hasRemark(p screen.Page) error {
	all := p.Kickoff.Tidying.Remarks
	if p.Args.N < 1 || p.Args.N > len(all) || all[p.Args.N-1].Settled {
		return screen.Refuse("That has been looked at already. What is left stands in your message.")
	}
	return nil
}

// lookedAt is one remark: mended, sent back, or left as it is.
func lookedAt(p screen.Page, f *block.Form) flows.Intent {
	k, n := p.Kickoff, p.Args.N
	r := k.Tidying.Remarks[n-1]
	f.Submit = "Save"
	if left := len(k.Tidying.Unseen()); left > 1 {
		f.Add(block.Note(words.Count(left, "thing", "things") + " to look at. The next one comes once you have saved."))
	}
	if len(r.About) > 1 {
		return joinedPair(p, f)
	}
	a, _ := k.Assumption(r.About[0])
	f.Title = "Look at " + a.ID
	f.Add(block.Para(block.Italic("%s", remarkText(k, r.About))))
	if r.Waits() {
		f.Add(block.Para(block.Plain("It went back to whoever wrote it, who has until "), block.When(r.Until), block.Plain(" your time.")))
	}
	text := f.Text(roundField(p, "text"), "What has to be true?", a.Text, block.Hint("Saved without a change, it stays as it is."))
	word := ""
	if !r.Waits() {
		word = f.Text(roundField(p, "word"), "Or send it back, with a word to whoever wrote it", "", block.Optional, block.Longest(flows.MaxSentence),
			block.Hint("They have one working day to answer. You do not learn who it is."))
	}
	args := screen.StageArgs(p, state.StageAssumptions)
	args.Assumption = a.ID
	f.Add(block.Buttons(screen.Button("Take It Apart", "open/assumptions.split", args), screen.Button("Join It to Another", "open/assumptions.join", args)))
	changed := strings.TrimSpace(text) != strings.TrimSpace(a.Text)
	switch {
	case r.Settled && changed:
		f.Fault(roundField(p, "text"), "This has been changed meanwhile. Close this form: what is left stands in your message.")
		return nil
	case word != "" && changed:
		f.Fault(roundField(p, "word"), "Either change the words yourself, or send it back. Empty one of the two.")
		return nil
	case word != "":
		return flows.SendBack{ByLead: screen.ByLead(p), N: n, Word: word}
	case changed:
		return flows.EditAssumption{By: screen.By(p), ID: a.ID, Text: text, Because: a.Because}
	}
	return flows.LeaveRemarks{ByLead: screen.ByLead(p), N: []int{n}}
}

// joinedPair asks whether two that look alike say the same.
func joinedPair(p screen.Page, f *block.Form) flows.Intent {
	n := p.Args.N
	about := p.Kickoff.Tidying.Remarks[n-1].About
	f.Title = "Look at " + about[0] + " and " + about[1]
	f.Add(block.Para(remarkLines(p.Kickoff, about, 400)...))
	options := []block.Option{{Value: "both", Text: "No, both stay on the list"}}
	for _, id := range about {
		options = append(options, block.Option{Value: id, Text: "Yes, and " + id + " stands for both"})
	}
	keep := f.Radio(roundField(p, "keep"), "Do they say the same?", "both", options)
	if at := slices.Index(about, keep); at >= 0 {
		return flows.JoinAssumptions{ByLead: screen.ByLead(p), Keep: keep, Join: []string{about[1-at]}}
	}
	return flows.LeaveRemarks{ByLead: screen.ByLead(p), N: []int{n}}
}

// submitLook does what the form says, and shows the next remark in its place.
func submitLook(p screen.Page, v block.Values) (screen.Answer, error) {
	if p.Args.N < 1 || p.Args.N > len(p.Kickoff.Tidying.Remarks) { // the list was opened again meanwhile
		return screen.Wants(flows.LeaveRemarks{ByLead: screen.ByLead(p), N: []int{p.Args.N}})
	}
	f := block.Read(v)
	intent := lookedAt(p, f)
	if len(f.Faults) > 0 {
		return screen.Answer{Errors: f.Faults}, nil
	}
	if word := v.Text(roundField(p, "word")); word != "" && p.Kickoff.Tidying.Remarks[p.Args.N-1].Waits() {
		intent = flows.SendBack{ByLead: screen.ByLead(p), N: p.Args.N, Word: word} // delivered twice, or two leads at once
	}
	answer, err := screen.Wants(intent)
	answer.CloseAll = true
	if events, refused := flows.Decide(p.Kickoff, intent, p.Now); refused == nil { // else it is shown where the intent is decided
		p.Kickoff = flows.Apply(p.Kickoff, p.Kickoff.Version+1, event.Record{At: p.Now, By: p.Viewer, Events: events})
	}
	if unseen := p.Kickoff.Tidying.Unseen(); p.Kickoff.Stage == state.StageTidying && len(unseen) > 0 {
		p.Args.N = unseen[0]
		if next := redrawn("tidying.look", p); block.FitsAnswer(*next) {
			answer.Next, answer.CloseAll = next, false
		}
	}
	return answer, err
}

// backMessage asks whoever wrote an assumption to look at it again.
func backMessage(p screen.Page, id string) (screen.Posting, error) {
	const title = "A word on what you wrote"
	k := p.Kickoff
	r, waits := state.SentBack(&k, id)
	if !waits {
		return screen.Line(p, title, "Nothing is left to do about "+id+" here. Thank you."), nil
	}
	a, _ := k.Assumption(id)
	lead := words.LeadName(k)
	return screen.Posting{
		Text: screen.Aloud(k, "%s asks you to look again at %s, which you wrote. Your answer counts until ", lead, id) + block.WhenText(r.Until) + ".",
		Blocks: []slack.Block{block.Heading(title),
			block.Para(block.Typed(lead, 60), block.Plain(" asks you to look at this again before it is rated. Nobody is told that you wrote it.")),
			block.Quote(block.Bold("%s ", id), block.Typed(a.Text, 600)),
			block.Para(block.Bold("The word: "), block.Typed(r.Word, flows.MaxSentence)),
			block.Para(block.Plain("If you do nothing, it stays as it is from "), block.When(r.Until), block.Plain(" your time.")),
			block.Buttons(backButtons(k, id)...)},
	}, nil
}

// backButtons are what whoever wrote an assumption can do about it once it was sent back.
func backButtons(k state.Kickoff, id string) []*slack.ButtonBlockElement {
	args := screen.Args{Kickoff: k.ID, Stage: string(state.StageAssumptions), Assumption: id}
	return []*slack.ButtonBlockElement{block.Primary(screen.Button("Change the Words", "open/assumptions.edit", args)), screen.Button("Leave It as It Is", "do/tidying.stands", args)}
}
