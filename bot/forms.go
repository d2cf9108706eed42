package bot

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// submitted handles a filled-in form: field errors, the next page, or
// nothing, which closes it.
func (b *Bot) submitted(ctx context.Context, in Interaction) (any, error) {
	var answer screens.Answer
	v, err := b.visit(ctx, in, in.View.PrivateMetadata)
	if err == nil {
		answer, err = screens.Submit(in.View.CallbackID, v.page, values(in))
	}
	var refusal *flows.Refusal
	switch {
	case b.sentAgain(ctx, v, answer, err):
		return after(in, v, answer), b.redrawHome(ctx, v, "")
	case errors.As(err, &refusal):
		return b.refused(in, v, refusal)
	case err != nil:
		return nil, err
	case len(answer.Errors) > 0:
		return fieldErrors(in.View.Blocks, answer.Errors), nil
	}
	for _, intent := range answer.Intents {
		delivery := part(v.delivery, intent)
		intent, err := b.complete(ctx, v, intent)
		if err == nil {
			err = b.doFrom(ctx, keyFor(v.key, intent), intent, delivery, v.source)
		}
		if err == nil {
			err = b.orderDrafts(ctx, v, in.View.ID, intent)
		}
		if errors.As(err, &refusal) {
			return b.refused(in, v, refusal)
		}
		if err != nil {
			return nil, err
		}
	}
	if answer.Next != nil && len(answer.Intents) == 0 {
		return slack.NewUpdateViewSubmissionResponse(answer.Next), nil // nothing has changed
	}
	return after(in, v, answer), b.redrawHome(ctx, v, "")
}

// after is what a form shows once it was taken; nil closes it.
func after(in Interaction, v visit, answer screens.Answer) any {
	switch more := screens.More(in.View.CallbackID, v.page); {
	case more != nil:
		return slack.NewUpdateViewSubmissionResponse(more)
	case answer.Next != nil && len(answer.Intents) > 0:
		return slack.NewUpdateViewSubmissionResponse(answer.Next)
	case answer.CloseAll:
		return slack.NewClearViewSubmissionResponse()
	}
	return nil
}

// sentAgain reports whether a form that is not taken was taken a moment ago:
// its acknowledgement was lost, and by now what it brought stands in its way.
func (b *Bot) sentAgain(ctx context.Context, v visit, answer screens.Answer, err error) bool {
	taken := err == nil && len(answer.Errors) == 0 && (len(answer.Intents) > 0 || answer.Next == nil)
	return !taken && (err == nil || isRefusal(err)) && b.wrote(ctx, v.key, v.page.Kickoff.Version, v.delivery)
}

// part names one intent of a form's delivery. Its place in the form would not
// do: what a form that comes again still wants depends on what was taken of it.
func part(delivery string, in flows.Intent) string {
	sum := fnv.New64a()
	fmt.Fprintf(sum, "%T%+v", in, in)
	return fmt.Sprintf("%s/%x", delivery, sum.Sum64())
}

// keyFor is the kickoff that an intent is about: the one that it begins, or
// the one of the form.
func keyFor(key journal.Key, in flows.Intent) journal.Key {
	if start, ok := in.(flows.Start); ok {
		key.Kickoff = start.ID
	}
	return key
}

// refused shows a refusal at its field, or where no field is meant, in the
// form's place: with the question, where it is one that its reader may say yes
// to.
func (b *Bot) refused(in Interaction, v visit, r *flows.Refusal) (any, error) {
	if r.Ask != "" {
		view, err := screens.Ask(in.View.CallbackID, v.page, values(in))
		if err == nil {
			return slack.NewUpdateViewSubmissionResponse(&view), nil
		}
		if !errors.As(err, &r) {
			return nil, err
		}
	}
	return refused(in, r), nil
}

func refused(in Interaction, r *flows.Refusal) any {
	if field := fieldFor(in.View.Blocks, r.Field); field != "" {
		return slack.NewErrorsViewSubmissionResponse(map[string]string{field: r.Reason})
	}
	notice := screens.Notice("Nothing was changed", r.Reason)
	return slack.NewUpdateViewSubmissionResponse(&notice)
}

// fieldFor finds the input that a refusal is about: the one of that name, or
// the first of those whose names begin with it, as "ticks/0" does.
func fieldFor(blocks []BlockHead, field string) string {
	if field == "" {
		return ""
	}
	for _, block := range blocks {
		name := screens.FieldOf(block.ID)
		if block.Type == slack.MBTInput && (name == field || strings.HasPrefix(name, field+"/")) {
			return block.ID
		}
	}
	return ""
}

// fieldErrors shows what is amiss at each field.
func fieldErrors(blocks []BlockHead, errs map[string]string) any {
	at := make(map[string]string, len(errs))
	for field, reason := range errs {
		if block := fieldFor(blocks, field); block != "" {
			field = block
		}
		at[field] = reason
	}
	return slack.NewErrorsViewSubmissionResponse(at)
}

func values(in Interaction) screens.Values {
	return screens.Values(in.View.State.Values).ByField()
}
