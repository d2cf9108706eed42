package screens

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/state"
)

// Questions are asked under the brief, in public, and answered by whoever leads.

// questionMessage is one question in the brief's thread, with its answer.
func questionMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	q, err := screen.Numbered(k.Brief.Questions, "question", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	from := words.Clip(k.Name(q.By), 60)
	args := screen.StageArgs(p, state.StageBrief)
	args.N = q.N
	blocks := []slack.Block{block.Para(block.BoldTyped(from, 60), block.Plain(" asks:")), block.Quote(block.Typed(q.Ask, flows.MaxText))}
	if q.Answer == "" && hints.AsksWhen(q.Ask) {
		blocks = append(blocks, untilDecided(k)...)
	}
	text, answer := fmt.Sprintf("%s asks: %s If you know, press Answer.", from, words.Clip(words.OneLine(q.Ask), 200)), "Answer"
	if q.Answer != "" {
		blocks = append(blocks, block.Para(block.BoldTyped(k.Name(q.Answered), 60), block.Plain(" answers:")), block.Quote(block.Typed(q.Answer, flows.MaxText)))
		text, answer = fmt.Sprintf("%s asked: %s %s answers: %s", from, words.Clip(words.OneLine(q.Ask), 80), words.Clip(k.Name(q.Answered), 40), words.Clip(words.OneLine(q.Answer), 160)), "Change the Answer"
	}
	if k.Stage != state.StageEnded {
		blocks = append(blocks, block.Buttons(screen.Button(answer, "open/brief.answer", args)))
	}
	return screen.Posting{Text: block.Escape(text), Blocks: blocks}, nil
}

// untilDecided answers at once whoever asks when it will be built: nobody is to wait for
// a lead only to hear that.
func untilDecided(k state.Kickoff) []slack.Block {
	at, certain := flows.DecisionAbout(&k)
	switch {
	case at.IsZero():
		return []slack.Block{block.Text("Nobody can say that yet: this kickoff ends with its summary, and whether to build is decided after it.")}
	case certain:
		return []slack.Block{block.Para(block.Plain("Nobody can say that yet: whether it is built at all is decided on "), block.Day(at), block.Plain(", when the time box ends."))}
	}
	return []slack.Block{block.Para(block.Plain("Nobody can say that yet: whether it is built at all is decided after the tests, about "), block.Day(at), block.Plain("."))}
}

// askedMessage brings a question to a lead, who may know the answer.
func askedMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	q, err := screen.Numbered(k.Brief.Questions, "question", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	if q.Answer != "" {
		return screen.Line(p, "A question about the brief", fmt.Sprintf("%s has answered it; both stand under the brief.", words.Clip(k.Name(q.Answered), 60))), nil
	}
	out, err := questionMessage(p, arg)
	out.Text = screen.Aloud(k, "%s asks: %s Press Answer, if you know.", words.Clip(k.Name(q.By), 60), words.Clip(words.OneLine(q.Ask), 200))
	out.Blocks = slices.Concat([]slack.Block{block.Heading("A question about the brief")}, out.Blocks, []slack.Block{block.Note("Anyone may answer. It also stands under the brief in the channel.")})
	return out, err
}

func newQuestion(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Ask a question", "Ask"
	hint := "It goes into the brief's thread under your name, and to the lead. Anyone who knows can answer."
	if p.Kickoff.Stage == state.StageBrief {
		hint += " Asking counts as having read the brief."
	}
	return flows.Ask{By: screen.By(p), Ask: f.Text("ask", "What is not clear?", "", block.Hint(hint))}
}

func hasQuestion(p screen.Page) error {
	_, err := screen.Numbered(p.Kickoff.Brief.Questions, "question", strconv.Itoa(p.Args.N))
	return err
}

func answeredQuestion(p screen.Page, f *block.Form) flows.Intent {
	q, _ := screen.Numbered(p.Kickoff.Brief.Questions, "question", strconv.Itoa(p.Args.N))
	f.Title, f.Submit = "Answer", "Share the Answer"
	f.Add(block.Para(block.BoldTyped(p.Kickoff.Name(q.By), 60), block.Plain(" asks:")), block.Quote(block.Typed(q.Ask, flows.MaxText)))
	return flows.Answer{By: screen.By(p), N: p.Args.N, Answer: f.Text("answer", "The answer", q.Answer, block.Hint("It goes into the thread under your name."))}
}
