package screens

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/state"
)

func framingForms() map[string]screen.Form {
	return map[string]screen.Form{
		"framing.whole":     {Fill: showWordings},
		"framing.add":       {May: screen.Answering(state.StageFraming), Fill: newWording, Submit: submitWording},
		"framing.questions": {May: screen.Answering(state.StageFraming), Fill: helpfulQuestions},
		"framing.edit":      {May: screen.Both(screen.Answering(state.StageFraming), hasWording), Fill: changedWording},
		"framing.vote":      {May: screen.Answering(state.StageFraming), Fill: votedFraming},
		"framing.settle":    {May: screen.Settles(state.StageFraming), Fill: settledFraming},
	}
}

var framingActions = map[string]screen.Action{
	"framing.confirm": func(p screen.Page) (flows.Intent, string) {
		f := p.Kickoff.Framing
		return flows.SettleFraming{ByLead: screen.ByLead(p), Problem: p.Kickoff.WordingText(f.Proposed), Level: f.Level.Level},
			"Settled. The channel sees it now."
	},
	"framing.original": func(p screen.Page) (flows.Intent, string) {
		return flows.SettleFraming{ByLead: screen.ByLead(p), Problem: p.Kickoff.Brief.Problem, Level: 0},
			"Settled: the wording stays as you brought it."
	},
	// Where the wording with most ticks does not stand at the level that was chosen.
	"framing.rung": func(p screen.Page) (flows.Intent, string) {
		f := p.Kickoff.Framing
		return flows.SettleFraming{ByLead: screen.ByLead(p), Problem: p.Kickoff.WordingText(f.Proposed), Level: f.LevelOf(f.Proposed)},
			"Settled. The channel sees it now."
	},
	"framing.level": func(p screen.Page) (flows.Intent, string) {
		f := p.Kickoff.Framing
		n, _ := bestAt(f, f.Level.Level)
		return flows.SettleFraming{ByLead: screen.ByLead(p), Problem: p.Kickoff.WordingText(n), Level: f.Level.Level},
			"Settled. The channel sees it now."
	},
}

// bestAt is the wording at a level that most could live with; false where nobody
// could live with any that stands there.
func bestAt(f state.Framing, level int) (best int, found bool) {
	ticks := f.Ticks()
	for n, count := range ticks {
		if f.LevelOf(n) == level && count > 0 && (!found || count > ticks[best]) {
			best, found = n, true
		}
	}
	return best, found
}

// apart reports that people chose another level than that of the wording most of
// them could live with.
func apart(f state.Framing) bool { return f.Level.N > 0 && f.LevelOf(f.Proposed) != f.Level.Level }

// framingAsks asks for a level and for the wordings that people could
// live with. Whose wording it is does not stand beside it until the close:
// words should be weighed, not names.
func framingAsks(p screen.Page) (screen.Asking, error) {
	args := screen.StageArgs(p, state.StageFraming)
	wordings := words.Rungs(p.Kickoff)
	return screen.Asking{
		Ask:     "Say how broad the problem should be, and tick each wording that you could live with.",
		Why:     "Broader asks why it matters; narrower asks for whom, when and how it shows.",
		Minutes: 2 + len(wordings)/5,
		Body:    []slack.Block{block.Text("%s so far, to be read under Choose.", words.Count(len(wordings), "wording", "wordings"))},
		Buttons: []*slack.ButtonBlockElement{
			screen.Button("Choose", "open/framing.vote", args),
			screen.Button("Add a Wording", "open/framing.add", args),
		},
		Chosen: []block.Run{block.Plain("%s. ", rungName(p.Kickoff.Framing.Level.Level)), block.Typed(p.Kickoff.WordingText(p.Kickoff.Framing.Proposed), 300)},
	}, nil
}

// rungName is a level in short.
func rungName(level int) string { return screen.Rungs[2-level].Text }

// framingResult is the problem on which everything after it stands.
func framingResult(p screen.Page) (screen.Posting, error) {
	k := p.Kickoff
	if !k.Framing.Settled {
		return screen.Line(p, "The problem we work on", "It is being framed again."), nil
	}
	blocks := []slack.Block{
		block.Heading("The problem we work on"),
		block.Quote(block.Typed(k.Framing.Problem, 1500)),
		block.Text("%s We work at %s.", words.SettledText(k), words.LevelText(words.SettledLevel(k))),
		block.Buttons(screen.Button("See All the Wordings", "open/framing.whole", screen.StageArgs(p, state.StageFraming))),
	}
	return screen.Posting{
		Text:   screen.Aloud(k, "this is the problem we work on. %s", words.Clip(words.OneLine(k.Framing.Problem), 200)),
		Blocks: blocks,
	}, nil
}

// showWordings shows what people chose among.
func showWordings(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "All the wordings"
	if !p.Kickoff.Framing.Settled {
		f.Add(block.Text("People are still choosing. You see all the wordings once that has closed."))
		return nil
	}
	f.Add(block.Text("%s", words.LadderText(p.Kickoff)), block.Para(block.Bold("How many could live with each")))
	f.Add(block.Drawn([]report.Block{report.Ladder(p.Kickoff)})...)
	return nil
}

// framingSettles asks the lead to take the proposal, or to change it.
func framingSettles(p screen.Page) (screen.Settling, error) {
	k := p.Kickoff
	until, waits := screen.SettlingIn(k, state.StageFraming)
	out := screen.Settling{Title: "Settle the problem"}
	switch {
	case k.LeavesOut(state.StageFraming):
		return out.Done("It is left out. The problem stays as it was brought.")
	case k.Framing.Settled && k.Framing.SettledBy == "":
		return out.Done("It stands as it was proposed: " + words.Clip(k.Framing.Problem, 300))
	case k.Framing.Settled:
		return out.Done("Done: " + words.Clip(k.Framing.Problem, 300))
	case !waits:
		return out.Done("People are choosing again.")
	}
	proposed, acts := k.WordingText(k.Framing.Proposed), settleButtons(p)
	out.Ask = "please settle the problem. Proposed is: " + words.Clip(words.OneLine(proposed), 140)
	out.Without, out.Until = "Without you that stands from", until
	out.Body = []slack.Block{
		block.Text("%s", proposalText(k)), block.Quote(block.Typed(proposed, 1500)),
		block.Text("%s", levelChoice(k)+apartText(k)),
		block.Para(block.Plain("If you do nothing, this stands from "), block.When(until), block.Plain(" your time.")),
		block.Buttons(acts...),
	}
	out.Home, out.Acts = []block.Run{block.Plain("Please settle the problem. Proposed is: "), block.Typed(proposed, 300)}, acts
	return out, nil
}

// proposalText says why this wording is proposed.
func proposalText(k state.Kickoff) string {
	ticks, n := k.Framing.Ticks(), k.Framing.Proposed
	voters := words.FramingVoters(k)
	if voters == 0 || ticks[n] == 0 {
		return "Nobody ticked a wording, so this one is proposed:"
	}
	which, level := "this wording", 0
	if n == state.Original {
		which = "the original"
	}
	for _, t := range ticks {
		if t == ticks[n] {
			level++
		}
	}
	if level == 1 {
		return fmt.Sprintf("%d of %d could live with %s, more than with any other:", ticks[n], voters, which)
	}
	return fmt.Sprintf("%d of %d could live with %s, and as many with %s. This one is nearest to the level:", ticks[n], voters, which,
		words.Count(level-1, "other wording", "other wordings"))
}

// levelChoice says what the choice of a level comes to, before it is settled.
func levelChoice(k state.Kickoff) string {
	l := k.Framing.Level
	if l.N == 0 {
		return "Nobody chose a level, so it stays that of the brief: 0."
	}
	half := ""
	if l.HalfStep {
		half = " That is half-way between two levels, of which the narrower one is proposed."
	}
	return fmt.Sprintf("Level: %s. %s chose one; %s%s", rungName(l.Level), words.Count(l.N, "person", "people"), words.ChosenText(l), half)
}

// apartText says that wording and level do not fit together, and what a lead can do.
func apartText(k state.Kickoff) string {
	f := k.Framing
	if !apart(f) {
		return ""
	}
	text := fmt.Sprintf("\nThe wording stands at %s, and not at %s. Choose one of the two, or word it anew.", words.Rung(f.LevelOf(f.Proposed)), words.Rung(f.Level.Level))
	if n, found := bestAt(f, f.Level.Level); found {
		text += fmt.Sprintf(" At %s most could live with: %s", words.Rung(f.Level.Level), words.Clip(words.OneLine(k.WordingText(n)), 300))
	}
	return text
}

// settleButtons offer the proposal first; where it is the original, one
// button less.
func settleButtons(p screen.Page) []*slack.ButtonBlockElement {
	args, f := screen.StageArgs(p, state.StageFraming), p.Kickoff.Framing
	buttons := []*slack.ButtonBlockElement{block.Primary(screen.Button("Take the Proposal", "do/framing.confirm", args)),
		screen.Button("Keep the Original", "do/framing.original", args)}
	if f.Proposed == state.Original {
		buttons = []*slack.ButtonBlockElement{block.Primary(screen.Button("Keep the Original", "do/framing.confirm", args))}
	}
	if apart(f) {
		buttons = append(buttons, screen.Button("Work at "+words.Rung(f.LevelOf(f.Proposed)), "do/framing.rung", args))
		if n, found := bestAt(f, f.Level.Level); found && n != state.Original { // which has its button
			buttons = append(buttons, screen.Button("Take the One at "+words.Rung(f.Level.Level), "do/framing.level", args))
		}
	}
	return append(buttons, screen.Button("Change It", "open/framing.settle", args))
}

func settledFraming(p screen.Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	f.Title, f.Submit = "Settle the problem", "Settle"
	f.Add(block.Para(block.Styled(levelChoice(k), nil)))
	return flows.SettleFraming{ByLead: screen.ByLead(p),
		Problem: f.Text("problem", "The problem we work on", k.WordingText(k.Framing.Proposed)),
		Level:   level(f, f.Select("level", "The level at which we work", strconv.Itoa(k.Framing.Level.Level), screen.Rungs))}
}

// level is the rung that was chosen in the field of that name.
func level(f *block.Form, chosen string) int {
	n, err := strconv.Atoi(chosen)
	if err != nil {
		f.Fault("level", "Choose a level from +2 (broader) to -2 (narrower).")
	}
	return n
}

// changeable lists the numbers of the viewer's wordings, the newest first; a
// lead may change any.
func changeable(p screen.Page) []int {
	var out []int
	for _, w := range slices.Backward(p.Kickoff.Framing.Wordings) {
		if w.By == p.Viewer || p.Kickoff.IsLead(p.Viewer) {
			out = append(out, w.N)
		}
	}
	return out
}

// The forms in which people word the problem and choose.

func newWording(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Add a wording", "Add"
	f.Add(block.Para(block.Bold("The original")), block.Quote(block.Typed(p.Kickoff.Brief.Problem, 1500)),
		block.Para(block.Bold("Broader: "), block.Plain("why does this matter? What would be different for people if it were solved?")),
		block.Para(block.Bold("Narrower: "), block.Plain("how does it show? For whom, when, where, doing what?")),
		block.Buttons(screen.Button("More Questions", "open/framing.questions", screen.StageArgs(p, state.StageFraming))))
	in := flows.AddWording{By: screen.By(p), Level: wordingLevel(f, "")}
	opening := f.Select("opening", "Words to begin with", "", openingOptions(), block.Optional,
		block.Hint("If you choose some, write below what comes after them, or one line for each “…”."))
	typed := f.Text("text", "Your wording", "", block.Hint("The problem as people live it, not a solution. Later your name stands beside it."))
	if len(f.Faults) == 0 {
		var fault string
		if in.Text, fault = completed(openingOf(opening), typed); fault != "" {
			f.Fault("text", fault)
		}
	}
	f.Add(ownWordings(p)...)
	return in
}

func wordingLevel(f *block.Form, stood string) int {
	return level(f, f.Select("level", "On which level does your wording stand?", stood, screen.Rungs))
}

// submitWording adds a wording. One that names a solution gets a second look first, as
// the brief did: others would choose the solution with it. Sent as it was, it is taken.
func submitWording(p screen.Page, v block.Values) (screen.Answer, error) {
	f := block.Read(v)
	in, ok := newWording(p, f).(flows.AddWording)
	if !ok || len(f.Faults) > 0 {
		return screen.Answer{Errors: f.Faults}, nil
	}
	says := hints.Solution(in.Text)
	if says == "" || p.Args.Saw == screen.MarkOf(in.Text) {
		return screen.Wants(in)
	}
	again := block.Form{Title: "A second look", Submit: "Add"}
	again.Add(block.Para(block.Bold("A thought on the wording")), block.Text("%s", says), block.Text("Change it below, or add it as it is."))
	wordingLevel(&again, strconv.Itoa(in.Level))
	again.Text("text", "Your wording", in.Text)
	p.Args.Saw, p.Args.Again = screen.MarkOf(in.Text), p.Args.Again+1
	again.Anew(p.Args.Again) // with an opening the text is not what was typed
	if view := screen.Seal("framing.add", p, &again); block.FitsAnswer(view) {
		return screen.Answer{Next: &view}, nil
	}
	return screen.Wants(in)
}

// helpfulQuestions are what one may ask oneself on each level. They stand apart: whoever
// has a wording in mind writes it without reading them.
func helpfulQuestions(_ screen.Page, f *block.Form) flows.Intent {
	f.Title = "Questions that help"
	f.Add(byHand(false)...)
	return nil
}

// ownWordings offers to change what the viewer may change.
func ownWordings(p screen.Page) []slack.Block {
	const most = 20
	mine, args := words.FirstOf(changeable(p), most), screen.StageArgs(p, state.StageFraming)
	if len(mine) == 0 {
		return nil
	}
	return append([]slack.Block{block.Divider(), block.Para(block.Bold("Change one that is there"))},
		block.Rows(mine, most, func(n int) ([]block.Run, *slack.ButtonBlockElement) {
			args.N = n
			return []block.Run{block.Bold("%s: ", rungName(p.Kickoff.Framing.LevelOf(n))), block.Typed(p.Kickoff.WordingText(n), 240)},
				screen.Button("Change", "open/framing.edit", args)
		})...)
}

func hasWording(p screen.Page) error {
	_, err := screen.Numbered(p.Kickoff.Framing.Wordings, "wording", strconv.Itoa(p.Args.N))
	return err
}

func changedWording(p screen.Page, f *block.Form) flows.Intent {
	w, _ := screen.Numbered(p.Kickoff.Framing.Wordings, "wording", strconv.Itoa(p.Args.N))
	f.Title, f.Submit = "Change a wording", "Save"
	return flows.EditWording{By: screen.By(p), N: p.Args.N,
		Level: level(f, f.Select("level", "Level", strconv.Itoa(w.Level), screen.Rungs)), Text: f.Text("text", "Wording", w.Text)}
}

// What fits the form on which people choose: a view has 100 blocks and 250 kB
// at most, of which a character takes up to six bytes.
const (
	mostWordings   = 80
	wordingsLength = 36_000
	ticksInAGroup  = 10
)

func votedFraming(p screen.Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	f.Title, f.Submit = "Choose", "Send My Choice"
	wordings := words.FirstOf(words.Rungs(k), mostWordings)
	f.Add(block.Text("Nobody sees who ticked what. Later each wording shows its author and its ticks."))
	vote, voted := k.Framing.Votes[p.Viewer]
	stood := ""
	if voted {
		stood = strconv.Itoa(vote.Level)
	}
	level := level(f, f.Radio("level", "How broad should our problem be?", stood, screen.Rungs))
	listLongWordings(k, wordings, f)
	return flows.VoteFraming{By: screen.By(p), Level: level, Ticks: tickedWordings(f, k, wordings, vote.Ticks)}
}

// wordingOption is the box of a wording. What it says goes over both its lines, broken
// between two words; whole is false where that is too little, and then the wording stands
// above the boxes, with its number.
func wordingOption(k state.Kickoff, n int) (o block.Option, whole bool) {
	text := wordingName(n) + " · "
	if n != state.Original {
		text = fmt.Sprintf("%+d · ", k.Framing.LevelOf(n))
	}
	text += words.OneLine(k.WordingText(n))
	if n != state.Original && k.Framing.Wordings[n-1].Drafted {
		text += draftedMark
	}
	first, rest := broken(text, block.LongestOption)
	if whole = utf8.RuneCountInString(rest) <= block.LongestOption; !whole {
		first, rest = wordingName(n)+", as above", ""
	}
	return block.Option{Value: strconv.Itoa(n), Text: first, About: rest}, whole
}

// broken divides a text that is longer than most characters: after the last comma or before
// the last bracket in the second half of what fits, or else between two words.
func broken(text string, most int) (first, rest string) {
	runes := []rune(text)
	if len(runes) <= most {
		return text, ""
	}
	fits := string(runes[:most+1])
	at := max(strings.LastIndex(fits, ", ")+1, strings.LastIndex(fits, " ("))
	if at < len(fits)/2 {
		const fewest = 15 // characters that are left, so that no word stands alone
		at = strings.LastIndex(string(runes[:min(most+1, len(runes)-fewest)]), " ")
	}
	if at <= 0 {
		at = len(string(runes[:most]))
	}
	return text[:at], strings.TrimSpace(text[at:])
}

// listLongWordings shows those wordings in full whose boxes cannot say all of them.
func listLongWordings(k state.Kickoff, wordings []int, f *block.Form) {
	longest := min(flows.MaxText, wordingsLength/len(wordings))
	for _, n := range wordings {
		if _, whole := wordingOption(k, n); whole {
			continue
		}
		runs := []block.Run{block.Bold("%s (%s): ", wordingName(n), rungName(k.Framing.LevelOf(n))), block.Typed(k.WordingText(n), longest)}
		if n != state.Original {
			runs = append(runs, draftMark(k.Framing.Wordings[n-1].Drafted)...)
		}
		f.Add(block.Para(runs...))
	}
}

// tickedWordings are the boxes to tick, as many to a group as a group holds.
func tickedWordings(f *block.Form, k state.Kickoff, wordings, stood []int) []int {
	var before []string
	for _, n := range stood {
		before = append(before, strconv.Itoa(n))
	}
	var ticks []int
	name, group := "Which wordings could you live with?", 0
	for some := range slices.Chunk(wordings, ticksInAGroup) {
		var options []block.Option
		for _, n := range some {
			o, _ := wordingOption(k, n)
			options = append(options, o)
		}
		ticks = append(ticks, screen.Numbers(f.Ticks(fmt.Sprintf("ticks/%d", group), name, before, options, block.Optional))...)
		name, group = "And of these?", group+1
	}
	return ticks
}

// wordingName is what a wording is called in a form: its number, or that it
// is the original.
func wordingName(n int) string {
	if n == state.Original {
		return "Original"
	}
	return "Wording " + strconv.Itoa(n)
}
