package closing

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/plaintext"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// SummaryMessage is the root of the summary. It is pinned and kept current;
// the parts stand in its thread.
func SummaryMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	blocks := append(summaryBlocks(p), block.Note("More in the thread."))
	if k.Stage == state.StageUnderway {
		blocks = append(blocks, block.Buttons(slices.Concat(screen.AddButtons(p), []*slack.ButtonBlockElement{screen.Button("Add an Action", "open/close.action", screen.StageArgs(p, state.StageClose))}, screen.AskButton(p))...))
	}
	return screen.Posting{
		Text:   block.Escape(fmt.Sprintf("%s: the summary of the kickoff. ", words.Clip(k.Brief.Title, 80))) + block.Escape(words.Clip(report.Standing(k, p.Now), 400)) + " The parts are in the thread.",
		Blocks: blocks,
	}, nil
}

// summaryBlocks is the root without what belongs to its place in a channel.
func summaryBlocks(p screen.Page) []slack.Block { return titled(report.Root(p.Kickoff, p.Now)) }

// titled are the blocks of a part under its title.
func titled(part report.Part) []slack.Block {
	return append([]slack.Block{block.Heading(part.Title)}, append(block.Drawn(part.Above), block.Drawn(part.Blocks)...)...)
}

// PartMessage is one part of the summary, in the thread of its root.
func PartMessage(p screen.Page, name string) (screen.Posting, error) {
	part, known := report.Thread(p.Kickoff, name)
	if !known {
		return screen.Posting{}, fmt.Errorf("a summary has no part %q", name)
	}
	return screen.Posting{
		Text:   block.Escape(fmt.Sprintf("%s. %s: %s", words.Clip(p.Kickoff.Brief.Title, 80), part.Title, gist(block.Drawn(part.Blocks)))),
		Blocks: titled(part),
	}, nil
}

// gist is the beginning of what blocks say, in one line: who has a message
// read aloud, or sees it on a lock screen, gets its top-level text alone.
func gist(blocks []slack.Block) string {
	var sentences []string
	for line := range strings.Lines(plaintext.Blocks(blocks)) {
		line = strings.TrimSpace(strings.TrimLeft(line, "•> "))
		if line != "" && !strings.ContainsAny(line[len(line)-1:], ".:;?!") {
			line += "."
		}
		sentences = append(sentences, line)
	}
	return words.Contained(words.Clip(strings.Join(strings.Fields(strings.Join(sentences, " ")), " "), 280))
}

// ExtrasMessage tells a lead what of the extras is not there, why, and what
// would mend it: once, and kept current.
func ExtrasMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	const title = "The summary is there, not all around it"
	var items [][]block.Run
	var names []string
	for _, x := range flows.AllExtras() {
		if why, missing := k.Extras.Faults[x]; missing {
			names = append(names, string(x))
			items = append(items, []block.Run{block.Bold("No %s: ", string(x)), block.Plain("%s", faultText(x, why))})
		}
	}
	if len(items) == 0 {
		return screen.Line(p, title, "By now it is all there. Nothing is left to do here."), nil
	}
	return screen.Posting{
		Text:   screen.Aloud(k, "no %s for the summary. Its thread in the channel holds everything.", strings.Join(names, ", no ")),
		Blocks: []slack.Block{block.Heading(title), block.Text("Nothing is lost: the thread of the summary in the channel holds everything."), block.Bullets(items...), block.Note(extrasNote(k))},
	}, nil
}

func extrasNote(k state.Kickoff) string {
	switch {
	case k.Stage == state.StageEnded:
		return "I say this once."
	case k.Extras.LetBe() && len(k.Extras.Faults) == 1:
		return "I say this once, and leave it at that."
	case k.Extras.Faults[state.ExtraCanvas] == "" || k.Extras.LetBe():
		return "I say this once. A pin on the summary does the same."
	}
	return "I say this once. At the next check-in I try the canvas again."
}

// faultTexts say why an extra is not there, and the fix.
var faultTexts = map[state.Fault]string{
	state.FaultScope:   "I was not given the right to make one. If you want one, ask whoever looks after your workplace's apps to give me “%s” and install me again.",
	state.FaultOff:     "your workplace has switched them off. An admin can switch them on in its settings.",
	state.FaultPlan:    "your workplace's plan does not have them for channels.",
	state.FaultTaken:   "this channel has one already, with somebody's words on it, and your plan allows no second. I leave theirs as it is.",
	state.FaultFull:    "the channel's header is full. Remove one that nobody needs, and add a link to the summary there yourself.",
	state.FaultBarred:  "the rules of this channel or workplace do not let me make one. An admin can change that.",
	state.FaultLong:    "there is more to say than fits on one. The files in the thread hold all of it.",
	state.FaultDeleted: "somebody deleted it, and deleted it again when I had made it anew. So I leave it.",
}

func faultText(x state.Extra, why state.Fault) string {
	const unknown = "it was not taken, without a reason that would help. The log of whoever runs me says more."
	scope := map[state.Extra]string{state.ExtraCanvas: "canvases:write", state.ExtraBookmark: "bookmarks:write"}[x]
	return strings.Replace(cmp.Or(faultTexts[why], unknown), "%s", scope, 1)
}
