package report

import (
	"fmt"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

// A part is one row of the summary: what it is called, what it comes to in a
// few words, and what stands under it in the thread.
type part struct {
	title  string
	gist   func(state.Kickoff) string
	blocks func(state.Kickoff) []Block
}

// parts has a row for each of flows.Parts.
var parts = map[string]part{
	"problem": {"The problem", func(k state.Kickoff) string {
		if k.LeavesOut(state.StageFraming) {
			return "As it was brought"
		}
		return fmt.Sprintf("%s on the ladder; we work at %s", words.Count(len(k.Framing.Wordings)+1, "wording", "wordings"), words.Rung(words.SettledLevel(k)))
	}, problemBlocks},
	"roles": {"Who does what", rolesGist, Roles},
	"map": {"What we assume, in test order", func(k state.Kickoff) string {
		return fmt.Sprintf("%s, %d to test first", words.Count(len(k.Order()), "assumption", "assumptions"), len(k.InZone(engine.TestFirst)))
	}, mapBlocks},
	"backlog": {"What we test, and how", testsGist, Tests},
	"timebox": {"The time box", func(k state.Kickoff) string {
		return fmt.Sprintf("%s, with a check-in each %s", words.WeeksText(k.Timebox.Weeks), k.Timebox.Checkin)
	}, timeboxBlocks},
	"questions": {"Questions", func(k state.Kickoff) string {
		open := len(views.OpenQuestions(k.Brief))
		return fmt.Sprintf("%d open, %d answered", open, len(k.Brief.Questions)-open)
	}, questionsBlocks},
	"actions": {"Who does what next", func(k state.Kickoff) string {
		if n := len(k.StandingActions()); n > 0 {
			return words.Count(n, "action", "actions")
		}
		return "No action yet"
	}, func(k state.Kickoff) []Block { return Actions(k, 25) }},
}

// restsOn are the stages whose answers a part rests on.
var restsOn = map[string][]state.Stage{
	"problem": {state.StageFraming},
	"roles":   {state.StageRoles},
	"map":     {state.StageAssumptions, state.StageRating},
	"backlog": {state.StageBacklog},
	"timebox": {state.StageTimebox},
}

// Name is what a part is called where parts are listed.
func Name(id string) string {
	name, _, _ := strings.Cut(parts[id].title, ", in ") // an order says nothing there
	return name
}

// Gist is what a part comes to, in a few words.
func Gist(k state.Kickoff, id string) string { return parts[id].gist(k) }

// Thread is a part of the summary as it stands in the thread.
func Thread(k state.Kickoff, id string) (p Part, known bool) {
	row, known := parts[id]
	if !known {
		return Part{}, false
	}
	return Part{Title: row.title, Above: leadBlocks(k, id), Blocks: row.blocks(k)}, true
}

// leadBlocks are what has to be known before a part is read: that few answered, a word of leads, and where they
// changed a part that people may have read, that they did.
func leadBlocks(k state.Kickoff, id string) []Block {
	var blocks []Block
	if few := words.ThinText(k, restsOn[id]...); few != "" {
		blocks = append(blocks, para("**Few answered.** %s", few))
	}
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
func BookmarkTitle(k state.Kickoff) string {
	return "Summary: " + words.Contained(words.Clip(k.Brief.Title, 60))
}

// Root is the summary in one message: what somebody needs who opens the
// channel in a week and reads nothing else. It begins with what matters most, in
// words. The parts stand in its thread.
func Root(k state.Kickoff, now time.Time) Part {
	blocks := append([]Block{quote(k.Problem(), 300)}, Three(k, now)...)
	if few := words.ThinText(k, state.StageRating); few != "" {
		blocks = append(blocks, Note(few))
	}
	if !k.Timebox.Starts.IsZero() {
		blocks = append(blocks, para("**So far:** %s", standing(k, views.ProgressOf(k, now), "")))
	}
	if k.LeavesOut(state.StageTimebox) && k.Stage == state.StageEnded {
		blocks = append(blocks, para("%s", Standing(k, now)))
	}
	return Part{Title: k.Brief.Title, Blocks: blocks}
}

// Standing says in a few sentences how the discovery stands.
func Standing(k state.Kickoff, now time.Time) string {
	progress := views.ProgressOf(k, now)
	return standing(k, progress, " "+words.DaysLeftText(progress))
}

// HowFar is Standing without the confidence, for where that is told at length.
func HowFar(k state.Kickoff, now time.Time) string {
	progress := views.ProgressOf(k, now)
	progress.Confidence = state.SaidOf(nil)
	return standing(k, progress, " "+words.DaysLeftText(progress))
}

// standing is Standing with what is said of the days that are left, where that does not
// stand beside it.
func standing(k state.Kickoff, progress views.Progress, left string) string {
	switch {
	case k.Stage == state.StageEnded && k.Timebox.Starts.IsZero():
		return words.EndText(k)
	case k.Timebox.Starts.IsZero():
		return "The time box begins when the summary is posted."
	case k.Stage == state.StageEnded:
		return words.EndText(k) + " " + words.FoundText(k)
	}
	said := words.FoundText(k) + left
	if progress.Tested > 0 {
		said = fmt.Sprintf("%d of %d tested. %s", progress.Tested, progress.TestFirst, said)
	}
	return beside(said, words.ConfidenceNow(progress.Confidence))
}

// questionsBlocks lists the questions about the brief, the open ones first.
func questionsBlocks(k state.Kickoff) []Block {
	open, answered := views.OpenQuestions(k.Brief), []state.Question{}
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
	return append(blocks, list(open, 12, func(q state.Question) Text {
		return say("**Open:** %s (asked by %s)", clip(q.Ask, 250), name(k.Name(q.By)))
	}), list(answered, 10, func(q state.Question) Text {
		return say("%s (asked by %s)\n**%s**: %s", clip(q.Ask, 180), name(k.Name(q.By)), name(k.Name(q.Answered)), clip(q.Answer, 220))
	}))
}

// Actions is the first of the actions as they stand in a thread.
func Actions(k state.Kickoff, most int) []Block {
	standing := k.StandingActions()
	if len(standing) == 0 {
		return []Block{Para{{Text: "No action has been noted yet.", Italic: true}}}
	}
	return []Block{list(standing, most, func(a state.Action) Text { return ActionText(k, a) })}
}

// ActionText is an action with its owner and day.
func ActionText(k state.Kickoff, a state.Action) Text {
	if a.Done != "" {
		return say("%s. **%s**, done on %s", clip(a.What, 200), name(k.Name(a.Owner)), dateText(string(a.Done), "Mon 2 Jan"))
	}
	return say("%s **%s**, until %s", clip(words.SentenceEnd(a.What), 200), name(k.Name(a.Owner)), dateText(string(a.Due), "Mon 2 Jan"))
}
