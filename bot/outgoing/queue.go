package outgoing

import (
	"context"
	"errors"
	"fmt"
	"time"

	"soundings/bot/drafts"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/screens/screen"
	"soundings/flows"
)

// The kinds of jobs.
const (
	jobEffects = "effects" // do the effects of one entry, in order
	jobRefresh = "refresh" // bring one message up to date
	jobWake    = "wake"    // look at the clock
	jobCanvas  = "canvas"  // bring a canvas up to date
	jobPeople  = "people"  // find out who people are
	jobDraft   = "draft"   // ask the model, and show the answer to whoever asked
)

// A payload is that of every job. Jobs outlive a release: what is queued by
// one must be understood by the next.
type payload struct {
	Key     journal.Key
	Version int64          // the entry that caused it
	Digest  string         `json:",omitempty"` // of that entry; empty from older releases
	Effects []flows.Effect `json:",omitempty"`
	Slot    flows.Slot     `json:",omitzero"`
	At      time.Time      `json:",omitzero"`
	Draft   *drafts.Order  `json:",omitempty"`

	Source *screen.Source `json:",omitempty"` // the message from which the entry came
}

// entry names the entry that caused a job, so that the jobs of one that the
// server has lost are not taken for those of the one that has its number now.
func (p payload) entry() string {
	if p.Digest == "" {
		return fmt.Sprint(p.Version)
	}
	return fmt.Sprintf("%d-%.8s", p.Version, p.Digest)
}

// A Queue turns what should follow into jobs.
type Queue struct {
	Jobs  jobs.Queue
	Clock func() time.Time

	// Coalesce is how long a change of progress may wait for others, so that
	// many answers cost one update.
	Coalesce time.Duration
}

// Follow queues the effects of an entry. It is for kickoffs.Follower.
func (q *Queue) Follow(ctx context.Context, e kickoffs.Entry, effects []flows.Effect) error {
	p := payload{Key: e.Key, Version: e.Version, Digest: e.Digest, Source: e.Source}
	var failed []error
	var now []flows.Effect
	for _, effect := range effects {
		switch effect.Do {
		case flows.Wake:
			failed = append(failed, q.wake(ctx, e.Key, e.Version, effect.At))
		case flows.LookUpPeople:
			failed = append(failed, q.enqueue(ctx, jobPeople, p.entry(), q.Clock(), payload{Key: e.Key, Version: e.Version, Digest: e.Digest}))
		case flows.Refresh:
			failed = append(failed, q.refresh(ctx, p, effect.Slot))
		case flows.RefreshLater: // likewise
			at := q.Clock().Truncate(deskPause).Add(deskPause)
			failed = append(failed, q.enqueue(ctx, jobRefresh, fmt.Sprintf("%s/later/%d", effect.Slot.Name(), at.Unix()), at,
				payload{Key: e.Key, Version: e.Version, Slot: effect.Slot}))
		case flows.RefreshCanvas: // all that ask for one before the next full pause become one
			at := q.Clock().Truncate(canvasPause).Add(canvasPause)
			failed = append(failed, q.enqueue(ctx, jobCanvas, fmt.Sprint(at.Unix()), at, payload{Key: e.Key, Version: e.Version}))
		default:
			now = append(now, effect)
		}
	}
	if len(now) > 0 {
		p.Effects = now
		failed = append(failed, q.enqueue(ctx, jobEffects, p.entry(), q.Clock(), p))
	}
	return errors.Join(failed...)
}

// enqueue queues a job whose id is the same in every replay.
func (q *Queue) enqueue(ctx context.Context, kind, which string, at time.Time, p payload) error {
	return q.Jobs.Enqueue(ctx, jobs.ForKickoff(kind, p.Key.Team, p.Key.Kickoff, which, at, p))
}

func (q *Queue) wake(ctx context.Context, key journal.Key, version int64, at time.Time) error {
	// The queue keeps whole seconds; waking early would only cost another look.
	if whole := at.Truncate(time.Second); whole.Before(at) {
		at = whole.Add(time.Second)
	}
	return q.enqueue(ctx, jobWake, fmt.Sprint(at.Unix()), at, payload{Key: key, Version: version, At: at})
}

// sourcePause is how many seconds of answers become one redrawing of their
// message at its source.
const sourcePause = 10 * time.Second

// refresh brings a message up to date soon where that costs no Web API call,
// and else after a while.
func (q *Queue) refresh(ctx context.Context, p payload, slot flows.Slot) error {
	at := q.Clock().Add(q.Coalesce)
	if p.Source != nil {
		at = q.Clock().Truncate(sourcePause).Add(sourcePause)
	}
	p.Slot = slot
	return q.enqueue(ctx, jobRefresh, slot.Name()+"/"+p.entry(), at, p)
}

// canvasPause is how long late changes wait for each other before they are on
// the canvas: nobody's day has more than a handful of its edits.
const canvasPause = 4 * time.Hour

// deskPause is how long a lead's desk may lag behind the answers: it says as of
// when it speaks, and the form behind it speaks of now. Twice a day, so that one of the
// two falls into a working day or the night before it, wherever the lead is.
const deskPause = 12 * time.Hour

// Draft queues an order for drafts; delivery names the request that asked.
func (q *Queue) Draft(ctx context.Context, key journal.Key, delivery string, o drafts.Order) error {
	now := q.Clock()
	return q.enqueue(ctx, jobDraft, delivery, now.Add(ackTime), payload{Key: key, At: now, Draft: &o})
}

// ackTime is what the platform is given to draw the answer to a form before
// that answer may be replaced.
const ackTime = time.Second
