package rehearsal

import (
	"context"
	"slices"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// tidyList does with what stands out on the list what the script says, and leaves the
// rest as it is. A script that says nothing leaves it all.
func tidyList(ctx context.Context, a *actor, b button) error {
	if len(a.cast.script.Tidy) == 0 {
		return a.press(ctx, b)
	}
	if err := a.pressInDM(ctx, "open/tidying.look"); err != nil {
		return err
	}
	for {
		view, open := a.view()
		if !open || view.CallbackID != "tidying.look" {
			return nil
		}
		for _, e := range blockkit.Elements(view.Blocks) {
			if err := a.tidyField(e, view.Title); err != nil {
				return err
			}
		}
		if err := a.submit(ctx); err != nil {
			return err
		}
	}
}

// tidyField enters what the script has for a field of the form about one remark, whose
// title names the assumptions.
func (a *actor) tidyField(e blockkit.Element, title string) error {
	name, _, _ := strings.Cut(e.BlockID, "/")
	for _, t := range a.cast.script.Tidy {
		about := strings.Fields(title)
		switch {
		case !slices.Contains(about, a.cast.number(t.Assumption)):
		case name == "keep" && t.Join != "" && slices.Contains(about, a.cast.number(t.Join)):
			return a.enter(chosen(e.BlockID, a.cast.number(t.Join)))
		case name == "text" && t.Text != "":
			return a.enter(typed(e.BlockID, t.Text))
		case name == "word" && t.Word != "":
			return a.enter(typed(e.BlockID, t.Word))
		}
	}
	return nil
}

// answerBack puts into other words what was sent back, where the script has an answer.
func answerBack(ctx context.Context, a *actor, b button) error {
	m, ok := a.cast.team.Message(b.channel, b.ts)
	if !ok {
		return nil
	}
	at := slices.IndexFunc(a.cast.script.Tidy, func(t scenario.Tidied) bool {
		return t.Answer != "" && b.slot == "back/"+a.cast.number(t.Assumption)+"/@"+a.id
	})
	if at < 0 {
		return nil
	}
	for _, e := range blockkit.Elements(m.Blocks) {
		if e.ActionID == "open/assumptions.edit" {
			return a.openAndFill(ctx, button{Element: e, channel: b.channel, ts: b.ts}, typed("text", a.cast.script.Tidy[at].Answer))
		}
	}
	return nil
}
