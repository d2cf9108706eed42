package screens

import (
	"fmt"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// The forms in which people word the problem and choose.

func openWording(p Page) (slack.ModalViewRequest, error) {
	if err := mayAnswer(p, flows.StageFraming); err != nil {
		return slack.ModalViewRequest{}, err
	}
	blocks := []slack.Block{
		para(bold("The original")), quoted(typed(p.Kickoff.Brief.Problem, 1500)),
		para(bold("To climb: "), plain("why does this matter? And once more: what would be different for people if it were solved?")),
		para(bold("To descend: "), plain("how does it show? For whom, and when? And once more: who, where, doing what?")),
		para(plain("More questions for each level stand at the end of this form.")),
		selectInput("level", "On which level does your wording stand?", "", levelOptions()),
		selectInput("opening", "Words to begin with", "", openingOptions(), optional,
			hint("Choose some if you like. Under “Your wording”, go on after the first of them, or write one line for each “…”.")),
		textInput("text", "Your wording", "", true, flows.MaxText, hint("The problem as people live it, not a way to solve it.")),
	}
	blocks = append(append(blocks, ownWordings(p)...), slack.NewDividerBlock(), para(bold("Questions that help, level by level")))
	return form("Add a wording", "Add", append(blocks, byHand(false)...)...), nil
}

// ownWordings offers to change what the viewer may change.
func ownWordings(p Page) []slack.Block {
	const most = 20
	mine := firstOf(changeable(p), most)
	if len(mine) == 0 {
		return nil
	}
	blocks := []slack.Block{slack.NewDividerBlock(), para(bold("Change one that is there"))}
	for _, n := range mine {
		args := stageArgs(p, flows.StageFraming)
		args.N = n
		blocks = append(blocks,
			para(bold("%s: ", rungName(p.Kickoff.Framing.LevelOf(n))), typed(p.Kickoff.WordingText(n), 240)),
			buttons(button("Change", "open/framing.edit", args)))
	}
	return blocks
}

// readWording reads level and text; fault is what is wrong with the level.
func readWording(v Values) (level int, text, fault string) {
	level, ok := v.Number("level")
	if !ok {
		fault = chooseLevel
	}
	return level, v.Text("text"), fault
}

func submitWording(p Page, v Values) (Answer, error) {
	level, text, fault := readWording(v)
	if fault != "" {
		return faulty("level", fault)
	}
	if text, fault = completed(openingOf(v.Choice("opening")), text); fault != "" {
		return faulty("text", fault)
	}
	return wants(flows.AddWording{By: by(p), Level: level, Text: text})
}

func openWordingEdit(p Page) (slack.ModalViewRequest, error) {
	if err := mayAnswer(p, flows.StageFraming); err != nil {
		return slack.ModalViewRequest{}, err
	}
	n := p.Args.N
	if n < 1 || n > len(p.Kickoff.Framing.Wordings) {
		return slack.ModalViewRequest{}, fmt.Errorf("there is no wording %d", n)
	}
	return form("Change a wording", "Save",
		selectInput("level", "Level", strconv.Itoa(p.Kickoff.Framing.LevelOf(n)), levelOptions()),
		textInput("text", "Wording", p.Kickoff.WordingText(n), true, flows.MaxText),
	), nil
}

func submitWordingEdit(p Page, v Values) (Answer, error) {
	level, text, fault := readWording(v)
	if fault != "" {
		return faulty("level", fault)
	}
	return wants(flows.EditWording{By: by(p), N: p.Args.N, Level: level, Text: text})
}

// What fits the form on which people choose: a view has 100 blocks and 250 kB
// at most, of which a character takes up to six bytes.
const (
	mostWordings   = 80
	wordingsLength = 36_000
	ticksInAGroup  = 10
)

func openFramingVote(p Page) (slack.ModalViewRequest, error) {
	if err := mayAnswer(p, flows.StageFraming); err != nil {
		return slack.ModalViewRequest{}, err
	}
	k := p.Kickoff
	wordings := firstOf(rungs(k), mostWordings)
	longest := min(flows.MaxText, wordingsLength/len(wordings))
	vote, voted := k.Framing.Votes[p.Viewer]
	blocks := []slack.Block{para(bold("The wordings, from broad to narrow"))}
	for _, n := range wordings {
		words := []word{bold("%s (%s): ", wordingName(n), rungName(k.Framing.LevelOf(n))), typed(k.WordingText(n), longest)}
		if n != flows.Original {
			words = append(words, wordingMark(k, n)...)
		}
		blocks = append(blocks, para(words...))
	}
	level := ""
	if voted {
		level = strconv.Itoa(vote.Level)
	}
	blocks = append(blocks, radioInput("level", "How broad should the problem be that we work on?", level, levelOptions()))
	return form("Choose", "Send My Choice", append(blocks, tickGroups(k, wordings, vote.Ticks)...)...), nil
}

// tickGroups are the boxes to tick, as many to a group as a group holds.
func tickGroups(k flows.Kickoff, wordings []int, ticks []int) []slack.Block {
	var initial []string
	for _, n := range ticks {
		initial = append(initial, strconv.Itoa(n))
	}
	var blocks []slack.Block
	for at := 0; at < len(wordings); at += ticksInAGroup {
		var options []option
		for _, n := range wordings[at:min(at+ticksInAGroup, len(wordings))] {
			options = append(options, option{Value: strconv.Itoa(n), Text: wordingName(n) + " · " + oneLine(k.WordingText(n))})
		}
		name := "Which wordings could you live with?"
		if at > 0 {
			name = "And of these?"
		}
		blocks = append(blocks, tickInput(fmt.Sprintf("ticks/%d", at/ticksInAGroup), name, initial, options, optional))
	}
	return blocks
}

// wordingName is what a wording is called in a form: its number, or that it
// is the original.
func wordingName(n int) string {
	if n == flows.Original {
		return "Original"
	}
	return strconv.Itoa(n)
}

func submitFramingVote(p Page, v Values) (Answer, error) {
	level, ok := v.Number("level")
	if !ok {
		return faulty("level", chooseLevel)
	}
	vote := flows.VoteFraming{By: by(p), Level: level}
	for _, block := range v.Blocks("ticks/") {
		for _, choice := range v.Choices(block) {
			n, err := strconv.Atoi(choice)
			if err != nil {
				return Answer{}, fmt.Errorf("read a tick: %w", err)
			}
			vote.Ticks = append(vote.Ticks, n)
		}
	}
	return wants(vote)
}
