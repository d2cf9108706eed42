package incoming

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
)

// submitted handles a filled-in form: field errors, the next page, or
// nothing, which closes it.
func (t *team) submitted(ctx context.Context, in Interaction) (any, error) {
	var answer screen.Answer
	r, err := t.request(ctx, in, in.View.PrivateMetadata)
	if err == nil {
		r.page.SentBefore = func() bool { return r.wrote(ctx) }
		answer, err = screens.Submit(in.View.CallbackID, r.page, r.View.values)
	}
	var refusal *flows.Refusal
	switch {
	case r.sentAgain(ctx, answer, err):
		return r.takenBefore(ctx, answer)
	case errors.As(err, &refusal):
		return r.refused(refusal)
	case err != nil:
		return nil, err
	case len(answer.Errors) > 0:
		return fieldErrors(r.View.blocks, answer.Errors), nil
	}
	for _, intent := range answer.Intents {
		delivery := part(r.delivery, intent)
		intent, err := r.complete(ctx, intent)
		if start, begins := intent.(flows.Start); err == nil && begins && answer.Next != nil {
			screen.About(answer.Next, start.ID)
		}
		if err == nil {
			err = t.Kickoffs.Do(ctx, keyFor(r.key, intent), intent, kickoffs.Origin{Delivery: delivery, Source: r.source})
		}
		if err == nil {
			err = r.orderDrafts(ctx, intent)
		}
		if errors.As(err, &refusal) {
			return r.refused(refusal)
		}
		if err != nil {
			return nil, err
		}
	}
	switch nothing := len(answer.Intents) == 0; {
	case nothing && answer.Next != nil:
		return slack.NewUpdateViewSubmissionResponse(answer.Next), nil // nothing has changed
	case nothing:
		return r.takenBefore(ctx, answer)
	}
	return r.after(in.View.CallbackID, answer), r.redrawHome(ctx, "")
}

// takenBefore acknowledges a form of which nothing is to be written, maybe since
// all of it was when it came before.
func (r *request) takenBefore(ctx context.Context, answer screen.Answer) (any, error) {
	if err := r.Journal.Replicated(ctx, r.key); err != nil {
		return nil, err
	}
	return r.after(r.View.CallbackID, answer), r.redrawHome(ctx, "")
}

// after is what a form shows once it was taken; nil closes it.
func (r *request) after(form string, answer screen.Answer) any {
	switch more := screens.More(form, r.page); {
	case more != nil:
		return slack.NewUpdateViewSubmissionResponse(more)
	case answer.Next != nil && len(answer.Intents) > 0:
		return slack.NewUpdateViewSubmissionResponse(answer.Next)
	case answer.CloseAll:
		return slack.NewClearViewSubmissionResponse()
	}
	return nil
}

// wrote reports whether the delivery of this request was written before.
func (r *request) wrote(ctx context.Context) bool {
	return r.Kickoffs.Wrote(ctx, r.key, r.page.Kickoff.Version, r.delivery)
}

// sentAgain reports whether a form that is not taken was taken a moment ago:
// its acknowledgement was lost, and by now what it brought stands in its way.
func (r *request) sentAgain(ctx context.Context, answer screen.Answer, err error) bool {
	taken := err == nil && len(answer.Errors) == 0 && (len(answer.Intents) > 0 || answer.Next == nil)
	return !taken && (err == nil || errors.As(err, new(*flows.Refusal))) && r.wrote(ctx)
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
func (r *request) refused(refusal *flows.Refusal) (any, error) {
	if refusal.Ask != "" {
		view, err := screens.Ask(r.View.CallbackID, r.page, r.View.values)
		if err == nil {
			return slack.NewUpdateViewSubmissionResponse(&view), nil
		}
		if !errors.As(err, &refusal) {
			return nil, err
		}
	}
	return refusalAt(r.Interaction, refusal), nil
}

// refusalAt shows a refusal at its field, or in the place of the form.
func refusalAt(in Interaction, r *flows.Refusal) any {
	if field := fieldFor(in.View.blocks, r.Field); field != "" {
		return slack.NewErrorsViewSubmissionResponse(map[string]string{field: r.Reason})
	}
	notice := screens.Notice("Nothing was changed", r.Reason)
	return slack.NewUpdateViewSubmissionResponse(&notice)
}

// fieldFor finds the input that a refusal is about: the one of that name, or
// the first of those whose names begin with it, as "ticks/0" does.
func fieldFor(blocks []blockHead, field string) string {
	if field == "" {
		return ""
	}
	for _, b := range blocks {
		name := block.FieldOf(b.ID)
		if b.Type == slack.MBTInput && (name == field || strings.HasPrefix(name, field+"/")) {
			return b.ID
		}
	}
	return ""
}

// fieldErrors shows what is amiss at each field.
func fieldErrors(blocks []blockHead, errs map[string]string) any {
	at := make(map[string]string, len(errs))
	for field, reason := range errs {
		if id := fieldFor(blocks, field); id != "" {
			field = id
		}
		at[field] = reason
	}
	return slack.NewErrorsViewSubmissionResponse(at)
}
