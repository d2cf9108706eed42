package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/views"
)

// A part is one row of the summary: what it is called, what it comes to in a
// few words, and what stands under it in the thread.
type part struct {
	title  string
	gist   func(flows.Kickoff) string
	blocks func(flows.Kickoff) []Block
}

// parts has a row for each of flows.Parts.
var parts = map[string]part{
	"problem": {"The problem", func(k flows.Kickoff) string {
		return fmt.Sprintf("%s on the ladder; we work at %s", words.Count(len(k.Framing.Wordings)+1, "wording", "wordings"), words.Rung(words.SettledLevel(k)))
	}, problemBlocks},
	"roles": {"Who does what", rolesGist, Roles},
	"map": {"What we assume, in test order", func(k flows.Kickoff) string {
		return fmt.Sprintf("%s, %d to test first", words.Count(len(k.Order()), "assumption", "assumptions"), len(k.InZone(engine.TestFirst)))
	}, mapBlocks},
	"backlog": {"What we test, and how", testsGist, Tests},
	"timebox": {"The time box", func(k flows.Kickoff) string {
		return fmt.Sprintf("%s, with a check-in each %s", words.WeeksText(k.Timebox.Weeks), k.Timebox.Checkin)
	}, timeboxBlocks},
	"questions": {"Questions", func(k flows.Kickoff) string {
		open := len(k.Brief.OpenQuestions())
		return fmt.Sprintf("%d open, %d answered", open, len(k.Brief.Questions)-open)
	}, questionsBlocks},
	"actions": {"Who does what next", func(k flows.Kickoff) string {
		if n := len(k.StandingActions()); n > 0 {
			return words.Count(n, "action", "actions")
		}
		return "No action yet"
	}, func(k flows.Kickoff) []Block { return Actions(k, 25) }},
}

// Name is what a part is called where parts are listed.
func Name(id string) string {
	name, _, _ := strings.Cut(parts[id].title, ", in ") // an order says nothing there
	return name
}

// Gist is what a part comes to, in a few words.
func Gist(k flows.Kickoff, id string) string { return parts[id].gist(k) }

// Thread is a part of the summary as it stands in the thread.
func Thread(k flows.Kickoff, id string) (p Part, known bool) {
	row, known := parts[id]
	if !known {
		return Part{}, false
	}
	return Part{Title: row.title, Above: leadBlocks(k, id), Blocks: row.blocks(k)}, true
}

// leadBlocks are what leads put to a part: a word of theirs, and where they
// changed a part that people may have read, that they did.
func leadBlocks(k flows.Kickoff, id string) []Block {
	var blocks []Block
	if c, changed := k.Summary.Changed[id]; changed {
		blocks = append(blocks, para("Changed by %s after the summary was posted, %s.", clip(k.Name(c.By), 60), moment(c.At)))
	}
	if w, said := k.Summary.Words[id]; said {
		blocks = append(blocks, para("**A word from %s, who leads:**", clip(k.Name(w.By), 60)), quote(w.Text, flows.MaxWord))
	}
	return blocks
}

// BookmarkTitle is what the link to the summary is called in the channel's
// header.
func BookmarkTitle(k flows.Kickoff) string {
	return "Summary: " + words.Contained(words.Clip(k.Brief.Title, 60))
}

// Root is the summary in one message: what somebody needs who opens the
// channel in a week and reads nothing else. The parts stand in its thread.
func Root(k flows.Kickoff, now time.Time) Part {
	blocks := []Block{quote(k.Problem(), 900),
		para("**Level:** %s. **Led by** %s.", words.LevelText(words.SettledLevel(k)), clip(k.Name(k.Lead().ID), 60))}
	if k.Timebox.Weeks > 0 {
		blocks = append(blocks, para("**Time box:** %s", boxText(k)))
	}
	if m := k.Map(); m != nil {
		blocks = append(blocks, para("**To test first:** %s", words.FirstText(*m)))
	}
	return Part{Title: k.Brief.Title, Blocks: append(blocks, para("**How far we are:** %s", Standing(k, now)))}
}

// Standing says in a few sentences how the discovery stands.
func Standing(k flows.Kickoff, now time.Time) string {
	switch {
	case k.Timebox.Starts.IsZero():
		return "The time box begins when the summary is posted."
	case k.Stage == flows.StageEnded:
		return fmt.Sprintf("It has ended. The decision: %s. %s", words.ChoiceText(k.Underway.Decision.Set, k.Underway.Decision.Weeks), words.FoundText(k))
	}
	progress := views.ProgressOf(k, now)
	return words.TestedText(progress) + " " + words.FoundText(k) + " " + words.DaysLeftText(progress) + " " + words.ConfidenceText(progress)
}

// problemBlocks is the problem as agreed, and the ladder on which it was found.
func problemBlocks(k flows.Kickoff) []Block {
	blocks := []Block{quote(k.Problem(), 1500)}
	if k.Problem() != k.Brief.Problem {
		blocks = append(blocks, para("**It began as**"), quote(k.Brief.Problem, 700))
	}
	for _, text := range [][2]string{{"Why now", k.Brief.Why}, {"The outcome hoped for", k.Brief.Outcome}, {"Out of bounds", k.Brief.OutOfBounds}} {
		if text[1] != "" {
			blocks = append(blocks, para("**%s:** %s", text[0], clip(text[1], 500)))
		}
	}
	blocks = append(blocks, para("**The level.** %s", words.LadderText(k)), Ladder(k))
	if text := words.DraftsText(k); text != "" {
		blocks = append(blocks, Note(text))
	}
	return blocks
}

// Ladder is every wording from broad to narrow, and who could live with it.
func Ladder(k flows.Kickoff) List {
	ticks := k.Framing.Ticks()
	return list(words.Rungs(k), 14, func(n int) Text {
		text := k.WordingText(n)
		item := say("**%s** %s (%s). %s", words.Rung(k.Framing.LevelOf(n)), clip(text, 180), wordingFrom(k, n), tickers(k, n, ticks[n]))
		if text == k.Problem() {
			item = append(item, say("** Agreed.**")...)
		}
		return item
	})
}

// tickers names who could live with wording n, the first few of many.
func tickers(k flows.Kickoff, n, ticks int) Text {
	if ticks == 0 {
		return say("Nobody ticked it.")
	}
	var names []Text
	for _, person := range k.People {
		if vote, voted := k.Framing.Votes[person.ID]; voted && slices.Contains(vote.Ticks, n) {
			names = append(names, clip(k.Name(person.ID), 24))
		}
	}
	return say("%d could live with it: %s.", ticks, listed(names, 4))
}

// wordingFrom says where a wording is from.
func wordingFrom(k flows.Kickoff, n int) Text {
	if n == flows.Original {
		return say("the brief")
	}
	w := k.Framing.Wordings[n-1]
	switch by := name(k.Name(w.By)); {
	case w.Drafted:
		return say("a machine's draft")
	case w.Began:
		return say("by %s, began as a machine's draft", by)
	default:
		return say("by %s", by)
	}
}

// Roles is the stakeholder map.
func Roles(k flows.Kickoff) []Block {
	if k.Roles.Skipped {
		return []Block{para("The lead left the roles out of this kickoff.")}
	}
	r := rolesOf(k)
	rings := List{Items: []Text{ring("Core team", "does the work", r.Core, r.Days),
		ring("Consulted", "asked before decisions", r.Consulted, nil), ring("Informed", "told how it goes", r.Informed, nil)}}
	if len(r.Unplaced) > 0 {
		rings.Items = append(rings.Items, ring("Not placed", "did not say", r.Unplaced, nil))
	}
	if len(r.Missing) == 0 {
		return []Block{rings}
	}
	return []Block{rings, para("**Missing so far**"), list(r.Missing, 20, func(m missing) Text {
		return say("%s, expected as %s", clip(string(m.Name), 80), words.RingText(m.Ring))
	})}
}

// ring is a ring with its people, and the days that each can give.
func ring(title, means string, people []typed, days map[typed]float64) Text {
	if len(people) == 0 {
		return say("**%s** (%s): nobody", title, means)
	}
	return say("**%s** (%s): %s", title, means, listed(each(people, func(n typed) Text {
		if d, given := days[n]; given {
			return say("%s (%s a week)", name(string(n)), words.Days(d))
		}
		return name(string(n))
	}), 40))
}

func rolesGist(k flows.Kickoff) string {
	if k.Roles.Skipped {
		return "Left out of this kickoff"
	}
	r := rolesOf(k)
	return fmt.Sprintf("%d core, %d consulted, %d informed", len(r.Core), len(r.Consulted), len(r.Informed))
}

// mapBlocks is the last map in words.
func mapBlocks(k flows.Kickoff) []Block {
	r := k.Map()
	if r == nil {
		return []Block{para("Nothing was rated in this kickoff.")}
	}
	blocks := append([]Block{para("%s rated, each alone. %s", words.Count(r.Raters, "person", "people"), words.FirstText(*r))}, TestOrder(k, *r)...)
	if last := k.Rounds[len(k.Rounds)-1]; len(last.Splits) > 0 {
		blocks = append(blocks, para("**Still split:** %s.", words.Listed(last.Splits, 12)))
	}
	return append(blocks, MapNotes(*r)...)
}

// mostListed is how many assumptions a message lists: the rest stands in the
// files.
const mostListed = 30

// TestOrder lists the assumptions of r in test order under their zones, the
// numbers running on from zone to zone.
func TestOrder(k flows.Kickoff, r engine.Result) []Block {
	scores := scoresOf(r)
	var blocks []Block
	shown := 0
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave, ""} {
		var lines Lines
		for _, id := range words.FirstOf(words.InZone(r, z), mostListed-shown) {
			a, _ := k.Assumption(id)
			lines = append(lines, say("%d. **%s** %s\n%s", shown+len(lines)+1, id, clip(a.Text, 160), figuresText(scores[id])))
		}
		if len(lines) > 0 {
			blocks = append(blocks, para("**%s**", words.ZoneHeading(z)), lines)
			shown += len(lines)
		}
	}
	if left := len(r.Order) - shown; left > 0 {
		blocks = append(blocks, para("And %d more. The whole list is in the file assumptions.csv, which comes with the summary.", left))
	}
	return blocks
}

func scoresOf(r engine.Result) map[string]engine.AssumptionScore {
	scores := map[string]engine.AssumptionScore{}
	for _, a := range r.Assumptions {
		scores[a.ID] = a
	}
	return scores
}

// figuresText: "Importance 8 (close), evidence 2 (split)."
func figuresText(s engine.AssumptionScore) string {
	text := fmt.Sprintf("Importance %s, evidence %s.", medianText(s.Importance), medianText(s.Evidence))
	if s.Thin {
		text += " Thin: too few ratings to lean on."
	}
	return text
}

func medianText(s engine.Spread) string {
	if s.N == 0 {
		return "not rated"
	}
	return fmt.Sprintf("%s (%s)", words.Number(s.Median), s.Agreement)
}

// MapNotes are what one has to know to read a map rightly.
func MapNotes(r engine.Result) []Block {
	text := "Each figure is the median of the ratings from 1 to 9. Close, mixed and split say how far apart they are. " +
		"High and low mean high and low among these assumptions: never compare this map with another by number."
	if c := concordanceText(r.Concordance); c != "" {
		text += " " + c
	}
	blocks := []Block{Note(text)}
	for _, note := range []string{firmText(r), levelledText(r)} {
		if note != "" {
			blocks = append(blocks, Note(note))
		}
	}
	return blocks
}

// concordanceText tells how far the group agrees as a whole: nothing where
// the figure has no value.
func concordanceText(c engine.Concordances) string {
	var parts []string
	for _, s := range []struct {
		name string
		c    engine.Concordance
	}{{"importance", c.Importance}, {"evidence", c.Evidence}} {
		if s.c.W.Defined() {
			parts = append(parts, fmt.Sprintf("%.2f on %s (%s)", float64(s.c.W), s.name, ballotsText(s.c)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "How far the group as a whole agrees on the order, from 0 to 1 (Kendall's W): " + strings.Join(parts, ", ") + "."
}

func ballotsText(c engine.Concordance) string {
	text := words.Count(c.Ballots, "complete ballot", "complete ballots")
	if c.LeftOut > 0 {
		text += fmt.Sprintf(", %d left out", c.LeftOut)
	}
	return text
}

// firmText tells how firmly the first three stand at the top.
func firmText(r engine.Result) string {
	scores := scoresOf(r)
	var parts []string
	for _, id := range words.FirstOf(r.Order, 3) {
		if a := scores[id]; a.Rank != 0 && a.Top3.Defined() {
			parts = append(parts, fmt.Sprintf("%s in %.0f%% of the draws", id, 100*float64(a.Top3)))
		}
	}
	if len(parts) == 0 || len(r.Order) <= 3 {
		return ""
	}
	return "How firm is the top? With the raters drawn anew many times, these are among the first three: " +
		strings.Join(parts, ", ") + ". That is a share of resamples, not a confidence."
}

// levelledText tells which of the first would stand elsewhere if nobody
// rated more generously or strictly than the others.
func levelledText(r engine.Result) string {
	scores := scoresOf(r)
	var moved []string
	for _, id := range r.Order {
		if a := scores[id]; a.Rank != 0 && a.LevelledRank != 0 && a.Rank != a.LevelledRank {
			moved = append(moved, fmt.Sprintf("%s from place %d to %d", id, a.Rank, a.LevelledRank))
		}
	}
	if len(moved) == 0 {
		return ""
	}
	return "Some people rate generously and some strictly. With that taken out, these would move: " + words.Listed(moved, 5) + "."
}

// Tests spells out the tests in test order, each under its assumption, as they
// stand in a thread.
func Tests(k flows.Kickoff) []Block {
	const most = 16
	blocks := []Block{para("%s", words.TestsText(k))}
	left, shown := 0, 0
	for _, id := range k.Order() {
		left += len(k.TestsOf(id))
		tests := list(k.TestsOf(id), most-shown, func(t flows.Test) Text { return TestText(k, t) })
		if len(tests.Items) == 0 {
			continue
		}
		shown += len(tests.Items)
		blocks = append(blocks, Para(testedText(k, id)), List{Items: tests.Items})
	}
	if left -= shown; left > 0 {
		blocks = append(blocks, para("And %d more tests. They all stand in the files of the summary.", left))
	}
	return append(blocks, Note(guide.Caution))
}

// testedText: "A3 Deckhands can count … (feasibility)".
func testedText(k flows.Kickoff, id string) Text {
	a, _ := k.Assumption(id)
	kind := words.KindText(k, id)
	switch len(k.Backlog.KindsOf(id)) {
	case 0:
		kind = "nobody named the risk"
	case 1:
	default:
		kind = "a tie: " + kind
	}
	return say("**%s** %s (%s)", id, clip(a.Text, 120), kind)
}

// TestText is one test in full, as it stands in a thread.
func TestText(k flows.Kickoff, t flows.Test) Text {
	text := say("**%s**", clip(t.Method, 100))
	if t.Learn != "" {
		text = say("%s. We learn: %s", text, clip(t.Learn, 140))
	}
	owner := say("nobody yet")
	if t.Owner != "" {
		owner = name(k.Name(t.Owner))
	}
	return say("%s\nCounts as support: %s. Owner: %s. %s.", text, words.PassMark(t), owner, words.EffortText(t))
}

func testsGist(k flows.Kickoff) string {
	tests, alone := 0, 0
	for _, t := range k.Backlog.Tests {
		if t.Withdrawn {
			continue
		}
		if tests++; t.Owner == "" {
			alone++
		}
	}
	if alone == 0 {
		return words.Count(tests, "test", "tests")
	}
	return fmt.Sprintf("%s, %d without an owner", words.Count(tests, "test", "tests"), alone)
}

// timeboxBlocks is the time box with its reasons and the plan week by week.
func timeboxBlocks(k flows.Kickoff) []Block {
	if k.Timebox.Weeks == 0 {
		return []Block{para("It is not set yet.")}
	}
	blocks := Timebox(k)
	if bars := Bars(k, flows.MaxWeeks); bars != "" {
		blocks = append(blocks, para("How many of the assumptions to test first should have a first result:"), bars)
	}
	return blocks
}

// weeksText: "4 weeks and 2 more".
func weeksText(t flows.Timebox) string {
	weeks := words.WeeksText(t.Weeks)
	for _, more := range t.Renewals {
		weeks += fmt.Sprintf(" and %d more", more)
	}
	return weeks
}

// Timebox is the time box as it was set, as it stands in a thread.
func Timebox(k flows.Kickoff) []Block {
	t := k.Timebox
	blocks := []Block{Para(boxText(k)), para("%s The plan came to %s. %s", words.VotesText(t), words.WeeksText(t.Proposal.Weeks), t.Proposal.Why)}
	return append(blocks, Marks(t)...)
}

// boxText says how long the box is, until when, and who set it.
func boxText(k flows.Kickoff) Text {
	t := k.Timebox
	began := say("It began on %s and ends on %s.", day(t.Starts), day(t.Ends))
	switch {
	case t.Ends.IsZero():
		began = say("It begins when the summary is out.")
	case k.Stage == flows.StageEnded:
		began = say("It began on %s and was to end on %s.", day(t.Starts), day(t.Ends))
	}
	set := say("Nobody set it in time, so what the votes came to stands.")
	if t.SetBy != "" {
		set = say("Set by %s.", clip(k.Name(t.SetBy), 60))
	}
	return say("**%s**, with a check-in each %s. %s %s", weeksText(t), t.Checkin, began, set)
}

// Marks set out what was written down before anybody knew.
func Marks(t flows.Timebox) []Block {
	return []Block{para("**We stop if**"), quote(beforehand(t.StopIf), 900), para("**We build if**"), quote(beforehand(t.BuildIf), 900)}
}

// beforehand is what was written down, or that nothing was.
func beforehand(text string) string {
	if text == "" {
		return "Nothing was written down."
	}
	return text
}

// Bars draw the plan, at most so many weeks of it; none when nothing is to be
// tested first. A time box has twelve weeks at most, so a message shows no
// more.
func Bars(k flows.Kickoff, most int) Code {
	return Code(strings.Join(words.FirstOf(engine.Bars(k.Schedule()), most), "\n"))
}

// questionsBlocks lists the questions about the brief, the open ones first.
func questionsBlocks(k flows.Kickoff) []Block {
	open, answered := k.Brief.OpenQuestions(), []flows.Question{}
	for _, q := range k.Brief.Questions {
		if q.Answer != "" {
			answered = append(answered, q)
		}
	}
	var blocks []Block
	switch {
	case len(k.Brief.Questions) == 0:
		blocks = []Block{para("Nobody asked anything.")}
	case len(open) == 0:
		blocks = []Block{para("None is open.")}
	}
	return append(blocks, list(open, 12, func(q flows.Question) Text {
		return say("**Open:** %s (asked by %s)", clip(q.Ask, 250), name(k.Name(q.By)))
	}), list(answered, 10, func(q flows.Question) Text {
		return say("%s (asked by %s)\n**%s**: %s", clip(q.Ask, 180), name(k.Name(q.By)), name(k.Name(q.Answered)), clip(q.Answer, 220))
	}))
}

// Actions is the first of the actions as they stand in a thread.
func Actions(k flows.Kickoff, most int) []Block {
	standing := k.StandingActions()
	if len(standing) == 0 {
		return []Block{Para{{Text: "No action has been noted yet.", Italic: true}}}
	}
	return []Block{list(standing, most, func(a flows.Action) Text { return ActionText(k, a) })}
}

// ActionText is an action with its owner and day.
func ActionText(k flows.Kickoff, a flows.Action) Text {
	return say("%s. **%s**, until %s", clip(a.What, 200), name(k.Name(a.Owner)), dateText(string(a.Due), "Mon 2 Jan"))
}
