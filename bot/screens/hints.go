package screens

import (
	"encoding/json"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
)

// secondLook is the form for an assumption once more, with what was typed,
// and a friendly word on it; ok is false when there is nothing to say, or
// when the form would be too long an answer.
func secondLook(p Page, text, because, id string) (again slack.ModalViewRequest, ok bool) {
	alike := p.Kickoff.Lookalikes(text)
	hints := flows.Hints(text)
	if len(alike)+len(hints) == 0 {
		return slack.ModalViewRequest{}, false
	}
	blocks := append(lookalikeBlocks(alike), hintBlocks(hints)...)
	blocks = append(blocks, para(plain("Change it below, or add it as it is. It is your call.")))
	if len(flows.Halves(text)) > 0 {
		blocks = append(blocks, apartRow(p)...)
	}
	p.Args.Sure = true
	again = seal("assumptions.add", p, form("A second look", "Add", append(blocks, assumptionInputs(text, because, id)...)...))
	data, err := json.Marshal(again)
	return again, err == nil && len(data) < answerBytes
}

func lookalikeBlocks(alike []flows.Assumption) []slack.Block {
	if len(alike) == 0 {
		return nil
	}
	return []slack.Block{para(bold("Does one of these say it already?")), bullets(assumptionItems(alike, 200)...)}
}

func hintBlocks(hints []string) []slack.Block {
	if len(hints) == 0 {
		return nil
	}
	items := make([][]word, len(hints))
	for i, h := range hints {
		items[i] = []word{styled(h, nil)}
	}
	return []slack.Block{para(bold("A thought on the wording")), bullets(items...)}
}

// mostAlike is how many pairs a lead is shown; alikeLimit is how many
// characters of a text are compared, so that the form opens in time however
// long the texts are.
const (
	mostAlike  = 8
	alikeLimit = 400
)

// alikeList shows the lead which assumptions look the same.
func alikeList(k flows.Kickoff) []slack.Block {
	index := engine.NewIndex()
	var items [][]word
	for _, a := range k.Listed() {
		text := clip(a.Text, alikeLimit)
		for _, m := range index.Similar(text, 1) {
			other, _ := k.Assumption(m.ID)
			items = append(items, []word{bold("%s ", other.ID), typed(other.Text, 120), bold("\n%s ", a.ID), typed(a.Text, 120)})
		}
		index.Add(a.ID, text)
	}
	if len(items) == 0 {
		return nil
	}
	return append([]slack.Block{para(bold("These look alike"))}, withMore(firstOf(items, mostAlike), len(items))...)
}
