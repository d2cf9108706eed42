package outgoing

import (
	"context"
	"errors"

	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/flows"
	"soundings/flows/state"
)

// redraw takes away the messages that show what never was, and brings all
// others up to date, each by a job of its own: there may be more than the
// platform lets through at once.
func (r *run) redraw(ctx context.Context, k state.Kickoff) error {
	if err := r.Journal.Marks.ResetShown(ctx, r.Key); err != nil {
		return err
	}
	for _, at := range k.Loss.Strays {
		// Each once: there may be more than the platform lets through in a minute, and
		// an attempt that began anew would never come to the end.
		_, err := r.once(ctx, "stray/"+at.Channel+"/"+at.TS, func() error { return r.chat.Delete(ctx, at) })
		if errors.As(err, new(*chat.RateLimited)) || errors.Is(err, chat.ErrRevoked) || err != nil && chat.Lost(err) {
			return err
		}
		if err != nil {
			r.Logger.Info("a message that shows what was lost stays", "kickoff", k.ID, "error", err)
		}
	}
	// The queue may not have gone back as far as the journal has, as where they
	// stand on two servers. It would take the jobs of what was undone for done.
	if err := r.Queue.Jobs.Forget(ctx, jobs.OfKickoff(r.Key.Team, r.Key.Kickoff)); err != nil {
		return err
	}
	if err := r.Journal.Marks.ResetQueued(ctx, r.Key); err != nil {
		return err
	}
	if err := r.Kickoffs.SweepKickoff(ctx, r.Key); err != nil {
		return err
	}
	var failed []error
	for name := range k.Posted {
		failed = append(failed, r.Queue.refresh(ctx, payload{Key: r.Key, Version: r.Version, Digest: r.Digest}, flows.ParseSlot(name)))
	}
	if k.Extras.Canvas != "" {
		failed = append(failed, r.canvas(ctx, k))
	}
	return errors.Join(failed...)
}
