package incoming

import (
	"context"
	"errors"
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/flows"
)

// A request is what one person wants of one kickoff.
type request struct {
	*team
	key      journal.Key
	page     screens.Page
	trigger  string
	url      string          // where to answer a button, if anywhere
	surface  slack.ViewType  // where the button stands; empty for a message
	source   *screens.Source // the message behind it all, if there is one
	delivery string
}

// do has an intent of the request decided, and written down.
func (r *request) do(ctx context.Context, in flows.Intent) error {
	return r.Kickoffs.Do(ctx, r.key, in, kickoffs.Origin{Delivery: r.delivery, Source: r.source})
}

// open opens a form by its name.
func (r *request) open(ctx context.Context, form string) error {
	view, err := screens.Open(form, r.page)
	if err != nil {
		return err
	}
	return r.present(ctx, view)
}

// act does what a button or a word of the command means, and thanks whoever
// asked for it.
func (r *request) act(ctx context.Context, action string) error {
	intent, thanks, err := screens.Do(action, r.page)
	if err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if intent, err = r.complete(ctx, intent); err == nil {
		err = r.do(ctx, intent)
	}
	if err != nil {
		return err
	}
	return r.respond(ctx, thanks)
}

// present opens a form: on top of the form in which a button was pressed, or
// by itself.
func (r *request) present(ctx context.Context, view slack.ModalViewRequest) error {
	if r.surface == slack.VTModal {
		return r.chat.PushView(ctx, r.trigger, view)
	}
	return r.chat.OpenView(ctx, r.trigger, view)
}

// tell tells a person why nothing was done, and keeps every other error.
func (r *request) tell(ctx context.Context, err error) error {
	refusal, is := errors.AsType[*flows.Refusal](err)
	if !is {
		return err
	}
	if refusal.Ask != "" {
		view, err := screens.Ask("", r.page, nil)
		if err == nil {
			return r.present(ctx, view)
		}
		if !errors.As(err, &refusal) {
			return err
		}
	}
	if r.surface == "" {
		return r.respond(ctx, refusal.Reason)
	}
	// A form and the home tab have no address to answer to. What was wrong
	// has to be seen, wherever somebody has scrolled to: it opens by itself.
	if err := r.present(ctx, screens.Notice("Nothing was changed", refusal.Reason)); err != nil {
		return err
	}
	return r.redrawHome(ctx, "")
}

// respond answers a button to the one who pressed it. A button in a form has
// no address to answer to; there the form itself shows what changed. The home
// tab says it at its top, and shows what changed.
func (r *request) respond(ctx context.Context, text string) error {
	if r.surface == slack.VTHomeTab {
		return r.redrawHome(ctx, text)
	}
	if r.url == "" || text == "" {
		return nil
	}
	if err := r.chat.Respond(ctx, r.url, block.Escape(text)); err != nil {
		r.Logger.Warn("a word to one person was not delivered", "error", err)
	}
	return nil
}

func isRefusal(err error) bool {
	_, is := errors.AsType[*flows.Refusal](err)
	return is
}
