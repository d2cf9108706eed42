package outgoing

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/flows"
	"soundings/flows/state"
)

// burst is how many messages go out in one go. The platform takes short
// bursts, and beyond them one message a second in a channel.
const burst = 4

var errPaced = errors.New("more messages follow, a little later")

// effects does the effects of one entry in order, a few at a time. One that fails
// does not hold up the others, since a person who cannot be reached must not
// silence a channel; but when the platform asks us to wait, all of them wait.
func (r *run) effects(ctx context.Context) error {
	var failed []error
	sent := 0
	for _, e := range r.Effects {
		if sent == burst {
			return errors.Join(append(failed, jobs.Retry(errPaced, burst*time.Second))...)
		}
		if e.Do == flows.DestroyKeys { // not once but each time: the entry at this version may be another one by now
			failed = append(failed, r.Kickoffs.DestroyKeys(ctx, r.Key))
			continue
		}
		did, err := r.once(ctx, fmt.Sprintf("%d/%s", r.Version, e.ID()), func() error { return r.perform(ctx, e) })
		if err != nil {
			err = fmt.Errorf("%s of kickoff %s: %w", e.ID(), r.Key.Kickoff, err)
		}
		if errors.Is(err, errUnreachable) {
			continue // it is done when the channel is there again
		}
		if err != nil && e.Do == flows.Resume {
			return err // what is later comes later
		}
		if did && e.Do == flows.Show {
			sent++
		}
		if errors.As(err, new(*chat.RateLimited)) || errors.Is(err, chat.ErrRevoked) {
			return err
		}
		if permanent(err) {
			r.Logger.Error("an effect is given up", "kickoff", r.Key.Kickoff, "effect", e.Do, "error", err)
			failed = append(failed, r.unreached(ctx, e, err))
			continue
		}
		failed = append(failed, err)
	}
	return errors.Join(failed...)
}

func (r *run) perform(ctx context.Context, e flows.Effect) error {
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	if k.Unreachable.Why != "" && needsChannel(e) {
		return errUnreachable
	}
	switch e.Do {
	case flows.Resume:
		return r.resume(ctx, k.Unreachable.Since)
	case flows.Redraw:
		return r.redraw(ctx, k)
	case flows.Show:
		return errors.Join(r.show(ctx, k, e.Slot), noteStage(ctx, r, k, e.Slot))
	case flows.ShareMap:
		return r.sharePicture(ctx, k, e.Slot)
	case flows.ShareFiles:
		return r.shareFiles(ctx, k, e.Slot)
	case flows.Pin, flows.Unpin:
		return r.pin(ctx, k, e)
	case flows.UpdateCanvas:
		return r.canvas(ctx, k)
	case flows.AddBookmark:
		return r.bookmark(ctx, k, e.Slot)
	case flows.RemoveBookmark:
		return r.unbookmark(ctx, k)
	case flows.InspectChannel:
		return r.inspect(ctx, k.Channel)
	case flows.ListKickoff:
		return r.listKickoff(ctx, k)
	case flows.ReleaseChannel:
		if err := errors.Join(r.Journal.Index.SetStage(ctx, r.Key, ""), r.Journal.Index.Release(ctx, r.Key.Team, k.Channel, r.Key.Kickoff)); err != nil {
			return err
		}
		return r.Journal.Index.End(ctx, r.Key, r.Clock())
	}
	return fmt.Errorf("%w: there is no action %q", errUndrawable, e.Do)
}

// noteStage notes a new stage as its message is shown, for the metrics.
func noteStage(ctx context.Context, r *run, k state.Kickoff, slot flows.Slot) error {
	if slot.Screen != flows.ScreenStage && slot.Screen != flows.ScreenSummary {
		return nil
	}
	return r.Journal.Index.SetStage(ctx, r.Key, string(k.Stage))
}

func (r *run) pin(ctx context.Context, k state.Kickoff, e flows.Effect) error {
	at, ok := k.Posted[e.Slot.Name()]
	switch {
	case !ok && e.Do == flows.Unpin:
		return nil
	case !ok:
		return notYet(e.Slot.Name())
	}
	err := r.chat.Pin(ctx, at, e.Do == flows.Pin)
	if errors.Is(err, chat.ErrNotAllowed) {
		r.Logger.Info("a message was not pinned: the app may not pin", "kickoff", k.ID)
		return nil // a pin is a convenience
	}
	return err
}

// listKickoff lists the kickoff for those who take part in it, and no longer for
// those who have gone.
func (r *run) listKickoff(ctx context.Context, k state.Kickoff) error {
	if err := r.Journal.Index.Join(ctx, r.Key, usersOf(k, false)...); err != nil {
		return err
	}
	gone := usersOf(k, true)
	if err := r.Journal.Index.Leave(ctx, r.Key, gone...); err != nil || len(gone) == 0 {
		return err
	}
	// Whoever has come back meanwhile may have been listed before Leave.
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	return r.Journal.Index.Join(ctx, r.Key, slices.DeleteFunc(gone, func(u string) bool { return !k.Takes(state.UserID(u)) })...)
}

// usersOf lists those who take part, or those who have gone.
func usersOf(k state.Kickoff, gone bool) (users []string) {
	for _, p := range k.People {
		if p.Gone == gone {
			users = append(users, string(p.ID))
		}
	}
	return users
}
