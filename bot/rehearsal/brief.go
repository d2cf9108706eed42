package rehearsal

import (
	"context"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

var briefScenes = []scene{
	{action: "open/brief.ask", what: "ask about the brief", do: askQuestions},
	{action: "do/brief.read", after: 10 * time.Minute, what: "mark the brief as read", do: markRead},
	{action: "open/brief.answer", leads: true, what: "answer a question", do: answerQuestion},
}

func askQuestions(ctx context.Context, a *actor, b button) error {
	for _, q := range a.cast.script.Brief.Questions {
		if q.By != a.Key {
			continue
		}
		if err := a.openAndFill(ctx, b, field{"ask", blockkit.Value{Text: q.Ask}}); err != nil {
			return err
		}
	}
	return nil
}

func markRead(ctx context.Context, a *actor, b button) error {
	if a.lead {
		return nil // starting it was reading it
	}
	return a.press(ctx, b)
}

// answerQuestion answers the question of the message in which the button stands.
func answerQuestion(ctx context.Context, a *actor, b button) error {
	m, ok := a.cast.team.Message(b.channel, b.ts)
	if !ok {
		return nil
	}
	shown := allText(m.Blocks)
	for _, q := range a.cast.script.Brief.Questions {
		if q.Answer == "" || a.added["answer/"+q.Ask] || !strings.Contains(shown, q.Ask) {
			continue
		}
		a.added["answer/"+q.Ask] = true
		return a.openAndFill(ctx, b, field{"answer", blockkit.Value{Text: q.Answer}})
	}
	return nil
}
