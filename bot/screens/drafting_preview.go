package screens

import (
	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/prompts"
)

// A request is what somebody sees before a model is asked for anything.
type request struct {
	title string
	says  string   // what is drafted, and what becomes of it
	sent  []string // of what people wrote
	left  int      // how often it can still be asked for
	more  []string // sentences of small print
}

// view says what would be sent and where to, first in short, then to the
// letter.
func (r request) view(p Page) slack.ModalViewRequest {
	blocks := []slack.Block{
		para(plain("%s", r.says)),
		para(bold("Sent to: "), typed(p.Drafting.Host, 250), bold("  Model: "), typed(p.Drafting.Model, 250)),
		para(plain("Of what people wrote, this is sent and nothing else:")),
	}
	for _, text := range r.sent {
		blocks = append(blocks, quoted(typed(text, flows.MaxText)))
	}
	blocks = append(blocks,
		para(plain("It takes up to half a minute. You can ask %s in this kickoff.", count(r.left, "more time", "more times"))),
		slack.NewDividerBlock(), para(bold("The whole request, to the letter")))
	blocks = append(blocks, asItStands(p.Drafting.Request)...)
	small := "A key goes with it where the server wants one. An answer that does not pass our checks is sent back once, with the names of the rules that it broke."
	for _, sentence := range r.more {
		small += " " + sentence
	}
	return form(r.title, "Send", append(blocks, note(small))...)
}

// asItStands shows a long text to the letter, in as many pieces as it takes.
func asItStands(text string) []slack.Block {
	const most = 2900
	var blocks []slack.Block
	for runes := []rune(text); len(runes) > 0; {
		n := min(most, len(runes))
		blocks = append(blocks, slack.NewRichTextBlock("", &slack.RichTextPreformatted{Type: slack.RTEPreformatted,
			Elements: []slack.RichTextSectionElement{plain("%s", string(runes[:n]))}}))
		runes = runes[n:]
	}
	return blocks
}

// mayAskModel refuses a preview where there is no model.
func mayAskModel(p Page) error {
	if p.Drafting.Host == "" {
		return refusal("%s", prompts.Explain(prompts.ErrOff))
	}
	return nil
}

// awaiting is the answer to a sent preview: the model is asked, and its
// drafts come into the same form.
func awaiting(in flows.Intent) (Answer, error) {
	wait := Drafting()
	return Answer{Intents: []flows.Intent{in}, Next: &wait}, nil
}

// draftedBy says where a draft is from, and who sees it.
func draftedBy(p Page, rest string) slack.Block {
	return para(plain("Drafted by "), typed(p.Drafting.Model, 100), plain(" at "), typed(p.Drafting.Host, 100), plain("%s", ". "+rest))
}

// whyNone says why no draft came; nothing where that is not so.
func whyNone(p Page) []slack.Block {
	if p.Drafting.Said == "" {
		return nil
	}
	return []slack.Block{para(bold("No draft came. "), plain("%s", p.Drafting.Said))}
}

// againRow offers to ask once more, as long as that is allowed.
func againRow(p Page, what string, left int) []slack.Block {
	if p.Drafting.Said == "" || left == 0 {
		return nil
	}
	args := p.Args
	args.Choice, args.Drafts = what, ""
	return []slack.Block{buttons(button("Ask Again", draftOthers, args))}
}
