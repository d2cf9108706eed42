package incoming

import (
	"context"
	"errors"
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/drafts"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// A request is what one person wants of one kickoff, by an interaction, or by
// the command, which is read as one.
type request struct {
	*team
	Interaction
	key      journal.Key
	page     screen.Page
	source   *screen.Source // the message behind it all, if there is one
	delivery string
}

// request reads who wants something, and about which kickoff. It is of use
// with a refusal, too: to tell it.
func (t *team) request(ctx context.Context, in Interaction, args string) (*request, error) {
	r, err := t.unread(in, args)
	r.source = in.source(t.Clock())
	if err == nil {
		err = r.View.read()
	}
	if err == nil && r.key.Kickoff != "" { // else it is the form that begins one
		err = r.load(ctx)
	}
	return r, err
}

// unread is a request whose kickoff has not been read.
func (t *team) unread(in Interaction, args string) (*request, error) {
	r := &request{team: t, Interaction: in, delivery: "click/" + in.TriggerID}
	a, err := screen.ParseArgs(args)
	if err != nil {
		return r, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	r.page = screen.Page{Viewer: state.UserID(in.User.ID), Now: t.Clock(), Args: a, Drafting: drafts.Terms(t.Drafter)}
	r.key = journal.Key{Team: t.id, Kickoff: a.Kickoff}
	return r, nil
}

// load reads the kickoff.
func (r *request) load(ctx context.Context) (err error) {
	r.page.Kickoff, err = r.Kickoffs.Load(ctx, r.key)
	if err == nil && r.page.Kickoff.Started.IsZero() { // of another team, or purged
		err = &flows.Refusal{Reason: "That kickoff is not in this workplace, so nothing was changed."}
	}
	return err
}

// inChannel is a request about the kickoff of a channel, or about none where
// none is open there.
func (t *team) inChannel(ctx context.Context, channel, who, delivery string) (*request, error) {
	key, k, err := t.Kickoffs.InChannel(ctx, t.id, channel)
	return &request{team: t, key: key, delivery: delivery,
		page: screen.Page{Kickoff: k, Viewer: state.UserID(who), Now: t.Clock(), Args: screen.Args{Kickoff: key.Kickoff}}}, err
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

// openForm opens the form behind a button. The message behind it travels along.
func (r *request) openForm(ctx context.Context, form string) error {
	if err := r.mayStart(ctx, form); err != nil {
		return err
	}
	r.page.Args.Source = r.source
	return r.open(ctx, form)
}

// mayStart refuses the form that begins a kickoff where one is open.
func (r *request) mayStart(ctx context.Context, form string) error {
	if form != "brief.start" {
		return nil
	}
	return r.channelFree(ctx, r.page.Args.Choice)
}

// turn shows another form in the place of the one in which a button was pressed, so
// that there is none to come back to.
func (r *request) turn(ctx context.Context, form string) error {
	if r.View.Type != slack.VTModal {
		return r.openForm(ctx, form)
	}
	if err := r.mayStart(ctx, form); err != nil {
		return err
	}
	r.page.Args.Source = r.source
	view, err := screens.Open(form, r.page)
	if err != nil {
		return err
	}
	return r.chat.UpdateView(ctx, r.View.ID, view)
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
// by itself. Of a form that only lists what there is to do it takes the place.
func (r *request) present(ctx context.Context, view slack.ModalViewRequest) error {
	if r.onMenu() {
		return r.chat.UpdateView(ctx, r.View.ID, view)
	}
	if r.View.Type == slack.VTModal {
		return r.chat.PushView(ctx, r.TriggerID, view)
	}
	return r.chat.OpenView(ctx, r.TriggerID, view)
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
	if r.View.Type == "" {
		return errors.Join(r.respond(ctx, refusal.Reason), r.redrawSource(ctx))
	}
	// A form and the home tab have no address to answer to. What was wrong
	// has to be seen, wherever somebody has scrolled to: it opens by itself.
	if err := r.present(ctx, screens.Notice("Nothing was changed", refusal.Reason)); err != nil {
		return err
	}
	return r.redrawHome(ctx, "")
}

// redrawSource shows the message in which something refused was pressed as it would be
// posted now: what an old one offers is over. It costs no Web API call.
func (r *request) redrawSource(ctx context.Context) error {
	if r.source == nil || r.source.URL == "" {
		return nil
	}
	for name, at := range r.page.Kickoff.Posted {
		slot := flows.ParseSlot(name)
		if at.Channel != r.source.Channel || at.TS != r.source.TS || slot.Screen == flows.ScreenDesk { // that one is redrawn by itself
			continue
		}
		message, err := screens.Message(r.page.Kickoff, slot, r.page.Now)
		if err != nil {
			return err
		}
		if err := r.chat.Replace(ctx, r.source.URL, message); err != nil {
			r.Logger.Warn("an old message was not redrawn", "error", err)
		}
	}
	return nil
}

// onMenu reports that a button was pressed in a form that only lists what there
// is to do.
func (r *request) onMenu() bool {
	return r.View.Type == slack.VTModal && screens.IsMenu(r.View.CallbackID)
}

// respond answers a button to the one who pressed it. A button in a form has
// no address to answer to; there the form itself shows what changed, or in the
// place of a form that only lists what there is to do stands what was done. The
// home tab says it at its top, and shows what changed.
func (r *request) respond(ctx context.Context, text string) error {
	if r.View.Type == slack.VTHomeTab {
		return r.redrawHome(ctx, text)
	}
	if r.onMenu() {
		return errors.Join(r.chat.UpdateView(ctx, r.View.ID, screens.Notice("Done", text)), r.redrawHome(ctx, text))
	}
	if r.ResponseURL == "" || text == "" {
		return nil
	}
	if err := r.chat.Respond(ctx, r.ResponseURL, block.Escape(text)); err != nil {
		r.Logger.Warn("a word to one person was not delivered", "error", err)
	}
	return nil
}
