package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// The kinds of jobs.
const (
	jobEffects = "effects" // do the effects of one entry, in order
	jobRefresh = "refresh" // bring one message up to date
	jobWake    = "wake"    // look at the clock
	jobCanvas  = "canvas"  // bring a canvas up to date
)

// work is the payload of every job.
type work struct {
	Key     journal.Key
	Version int64          // the entry that caused it
	Effects []flows.Effect `json:",omitempty"`
	Slot    flows.Slot     `json:",omitzero"`
	At      time.Time      `json:",omitzero"`
	Draft   *draftOrder    `json:",omitempty"`

	Source *screens.Source `json:",omitempty"` // the message from which the entry came
}

// follow queues what should follow from the entry that w tells of.
func (b *Bot) follow(ctx context.Context, w work, effects []flows.Effect) error {
	var failed []error
	var now []flows.Effect
	for _, e := range effects {
		switch e.Do {
		case flows.Wake:
			failed = append(failed, b.Queue.Enqueue(ctx, b.wakeJob(w.Key, w.Version, e.At)))
		case flows.Refresh:
			failed = append(failed, b.Queue.Enqueue(ctx, b.refreshJob(w, e.Slot)))
		case flows.RefreshCanvas:
			failed = append(failed, b.Queue.Enqueue(ctx, b.canvasJob(w.Key, w.Version)))
		default:
			now = append(now, e)
		}
	}
	if len(now) > 0 {
		w.Effects = now
		job := jobOf(jobEffects, fmt.Sprint(w.Version), b.Clock(), w)
		failed = append(failed, b.Queue.Enqueue(ctx, job))
	}
	return errors.Join(failed...)
}

// jobOf builds a job whose id is the same in every replay.
func jobOf(kind, which string, at time.Time, w work) jobs.Job {
	payload, err := json.Marshal(w)
	if err != nil {
		panic(fmt.Sprintf("bot: a job does not encode: %v", err)) // plain data always does
	}
	id := fmt.Sprintf("%s/%s/%s/%s", kind, w.Key.Team, w.Key.Kickoff, which)
	return jobs.Job{ID: id, Kind: kind, Payload: payload, At: at}
}

func (b *Bot) wakeJob(key journal.Key, version int64, at time.Time) jobs.Job {
	// The queue keeps whole seconds; waking early would only cost another look.
	if whole := at.Truncate(time.Second); whole.Before(at) {
		at = whole.Add(time.Second)
	}
	return jobOf(jobWake, fmt.Sprint(at.Unix()), at, work{Key: key, Version: version, At: at})
}

// refreshJob brings a message up to date soon where that costs no Web API
// call, and else after a while.
func (b *Bot) refreshJob(w work, slot flows.Slot) jobs.Job {
	at := b.Clock().Add(b.Coalesce)
	if w.Source != nil {
		at = b.Clock().Truncate(together).Add(together)
	}
	w.Slot = slot
	return jobOf(jobRefresh, fmt.Sprintf("%s/%d", slot.Name(), w.Version), at, w)
}

// together is how many seconds of answers become one redrawing of their
// message.
const together = 10 * time.Second

// Work does one job. It is safe to repeat at any point: whatever was done is
// found done. Its error says whether trying again may help.
func (b *Bot) Work(ctx context.Context, j jobs.Job) error {
	err := b.work(ctx, j)
	b.Metrics.job(j.Kind, err)
	return err
}

func (b *Bot) work(ctx context.Context, j jobs.Job) error {
	var w work
	if err := json.Unmarshal(j.Payload, &w); err != nil {
		return jobs.Drop(fmt.Errorf("read job %s: %w", j.Kind, err))
	}
	b, err := b.atWork(ctx, w.Key.Team)
	if err == nil {
		err = b.workThere(ctx, j, w)
	}
	if errors.Is(err, ErrRevoked) {
		if failed := b.revoked(ctx, w.Key.Team); failed != nil {
			return failed
		}
		err = errAway
	}
	if errors.Is(err, errAway) {
		return jobs.Retry(errAway, stoppedPause)
	}
	return err
}

// workThere does a job in its team.
func (b *Bot) workThere(ctx context.Context, j jobs.Job, w work) error {
	switch j.Kind {
	case jobWake:
		return b.wake(ctx, w)
	case jobRefresh:
		return b.retrying(b.refresh(ctx, w))
	case jobCanvas:
		return b.retrying(b.canvasLater(ctx, w))
	case jobEffects:
		return b.retrying(b.all(ctx, w))
	case jobDraft:
		return b.draft(ctx, w)
	}
	return jobs.Drop(fmt.Errorf("do job %s: there is no such kind", j.Kind))
}

// burst is how many messages go out in one go. The platform takes short
// bursts, and beyond them one message a second in a channel.
const burst = 4

var errPaced = errors.New("more messages follow, a little later")

// all does the effects of one entry in order, a few at a time. One that fails
// does not hold up the others, since a person who cannot be reached must not
// silence a channel; but when the platform asks us to wait, all of them wait.
func (b *Bot) all(ctx context.Context, w work) error {
	var failed []error
	sent := 0
	for _, e := range w.Effects {
		if sent == burst {
			return errors.Join(append(failed, jobs.Retry(errPaced, burst*time.Second))...)
		}
		did, err := b.once(ctx, w, e)
		if errors.Is(err, errShut) {
			continue // it is done when the channel is there again
		}
		if err != nil && e.Do == flows.Resume {
			return err // what is later comes later
		}
		if did && e.Do == flows.Show {
			sent++
		}
		var limited *RateLimited
		if errors.As(err, &limited) || errors.Is(err, ErrRevoked) {
			return err
		}
		if hopeless(err) {
			b.Logger.Error("an effect is given up", "kickoff", w.Key.Kickoff, "effect", e.Do, "error", err)
			failed = append(failed, b.unreached(ctx, w, e, err))
			continue
		}
		failed = append(failed, err)
	}
	return errors.Join(failed...)
}

// wake lets flows look at the clock, and sees that it will look again.
func (b *Bot) wake(ctx context.Context, w work) error {
	if early := w.At.Sub(b.Clock()); early > 0 {
		return jobs.Retry(errEarly, early)
	}
	if err := b.do(ctx, w.Key, flows.Tick{}, ""); err != nil {
		return err
	}
	k, err := b.load(ctx, w.Key)
	if err != nil {
		return err
	}
	next := k.NextWake()
	if next.IsZero() {
		return nil
	}
	if now := b.Clock(); !next.After(now) {
		next = now.Add(time.Minute) // the id of a wake at this moment is taken: by this one
	}
	return b.Queue.Enqueue(ctx, b.wakeJob(w.Key, k.Version, next))
}

var errEarly = errors.New("woken early")

// once does an effect unless the journal says that it was done; did reports
// that it was done now.
func (b *Bot) once(ctx context.Context, w work, e flows.Effect) (did bool, err error) {
	mark := fmt.Sprintf("%d/%s", w.Version, e.ID())
	done, err := b.Journal.Marks.Done(ctx, w.Key, mark)
	if err != nil || done {
		return false, err
	}
	if err := b.perform(ctx, w, e); err != nil {
		return true, fmt.Errorf("%s of kickoff %s: %w", e.ID(), w.Key.Kickoff, err)
	}
	return true, b.Journal.Marks.SetDone(ctx, w.Key, mark)
}

func (b *Bot) perform(ctx context.Context, w work, e flows.Effect) error {
	k, err := b.load(ctx, w.Key)
	if err != nil {
		return err
	}
	if k.Unreachable.Why != "" && needsChannel(e) {
		return errShut
	}
	switch e.Do {
	case flows.Resume:
		return b.resume(ctx, w, k.Unreachable.Since)
	case flows.Show:
		return b.show(ctx, w, k, e.Slot)
	case flows.ShareMap:
		return b.sharePicture(ctx, w, k, e.Slot)
	case flows.ShareFiles:
		return b.shareFiles(ctx, w, k, e.Slot)
	case flows.Pin, flows.Unpin:
		return b.pin(ctx, k, e)
	case flows.UpdateCanvas:
		return b.canvas(ctx, w, k)
	case flows.AddBookmark:
		return b.bookmark(ctx, w, k, e.Slot)
	case flows.RemoveBookmark:
		return b.unbookmark(ctx, w, k)
	case flows.InspectChannel:
		return b.look(ctx, w.Key, k.Channel)
	case flows.ListKickoff:
		return b.enlist(ctx, w.Key, k)
	case flows.ReleaseChannel:
		return b.Journal.Index.Release(ctx, w.Key.Team, k.Channel, w.Key.Kickoff)
	}
	return fmt.Errorf("%w: there is no deed %q", errUndrawable, e.Do)
}

// errUndrawable is a fault of ours: no second try will draw it.
var errUndrawable = errors.New("this cannot be drawn")

// hopeless reports that trying again cannot help.
func hopeless(err error) bool { return errors.Is(err, ErrClosedDoor) || errors.Is(err, errUndrawable) }

// refresh brings a message up to date unless a later look has done so.
func (b *Bot) refresh(ctx context.Context, w work) error {
	k, err := b.load(ctx, w.Key)
	if err != nil {
		return err
	}
	if _, posted := k.Posted[w.Slot.Name()]; !posted || k.Unreachable.Why != "" && w.Slot.To == "" {
		return nil // it will be shown as it stands then
	}
	err = b.show(ctx, w, k, w.Slot)
	return errors.Join(err, b.unreached(ctx, w, flows.Effect{Do: flows.Refresh, Slot: w.Slot}, err))
}

// show posts the message of a slot, or brings it up to date unless a later
// look has done so.
func (b *Bot) show(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	key := w.Key
	shown, err := b.Journal.Marks.Shown(ctx, key, slot.Name())
	if err != nil || shown >= w.Version {
		return err
	}
	message, err := screens.Message(k, slot, b.Clock())
	if err != nil {
		return fmt.Errorf("%w: %w", errUndrawable, err)
	}
	message = b.offerDrafting(message, k, slot)
	at, posted := k.Posted[slot.Name()]
	if posted {
		err := b.update(ctx, at, message, w.Source)
		if !errors.Is(err, ErrGone) {
			return b.shown(ctx, key, k, slot, err)
		}
		// Deleted, or too old to edit here: it is posted anew.
	}
	at, err = b.post(ctx, key, k, slot, message)
	if err != nil {
		return err
	}
	if err := b.do(ctx, key, flows.Posted{Slot: slot.Name(), Posting: at}, ""); err != nil {
		return err
	}
	return b.shown(ctx, key, k, slot, nil)
}

// update changes a message that stands: at the address of a press in it, as
// long as the platform takes that, and else by the Web API.
func (b *Bot) update(ctx context.Context, at flows.Posting, m screens.Posting, from *screens.Source) error {
	if from != nil && from.Channel == at.Channel && from.TS == at.TS && b.Clock().Unix() < from.Until {
		err := b.Chat.Redraw(ctx, from.URL, m)
		if err == nil {
			return nil
		}
		b.Logger.Info("a message is changed by the Web API instead", "error", err)
	}
	return b.Chat.Update(ctx, at, m)
}

func (b *Bot) shown(ctx context.Context, key journal.Key, k flows.Kickoff, slot flows.Slot, err error) error {
	if err != nil {
		return err
	}
	return b.Journal.Marks.SetShown(ctx, key, slot.Name(), k.Version)
}

// post sends the message of a slot, in the place of one that is gone where
// there was one.
func (b *Bot) post(ctx context.Context, key journal.Key, k flows.Kickoff, slot flows.Slot, m screens.Posting) (at flows.Posting, err error) {
	to, thread, err := place(k, slot)
	if err != nil {
		return at, err
	}
	tag, mark := Tag{Kickoff: key.Kickoff, Slot: slot.Name()}, "sending/"+slot.Name()
	gone, anew := k.Posted[slot.Name()]
	if anew {
		mark += "/after/" + gone.TS
	}
	sent, err := b.attempted(ctx, key, mark, func() (found bool, err error) {
		at, found, err = b.Chat.Find(ctx, known(k, slot, to), thread, tag, gone.TS)
		return found, err
	})
	if err != nil || sent {
		return at, err
	}
	return b.Chat.Post(ctx, to, thread, tag, m)
}

// attempted reports whether something was done already that the platform has
// no key for, which would make doing it twice harmless. So an attempt is
// marked first. One that was cut off is looked for; and since it may also be
// on its way at this moment, by a worker that was thought dead, the second one
// to try waits once until that must be over.
func (b *Bot) attempted(ctx context.Context, key journal.Key, mark string, find func() (bool, error)) (bool, error) {
	first, err := b.Journal.Marks.Begin(ctx, key, mark)
	if err != nil || first {
		return false, err
	}
	if found, err := find(); found || err != nil {
		return found, err
	}
	waits, err := b.Journal.Marks.Begin(ctx, key, mark+"/again")
	if err == nil && waits {
		err = jobs.Retry(errUnderWay, attemptTime)
	}
	return false, err
}

var errUnderWay = errors.New("somebody else may be at it")

// attemptTime is longer than an attempt can take.
const attemptTime = callTimeout + time.Second

// known is the id of the conversation in which a message to somebody stands:
// that of an earlier message to them, where there is one.
func known(k flows.Kickoff, slot flows.Slot, to string) string {
	if slot.To == "" {
		return to
	}
	for name, at := range k.Posted {
		if strings.HasSuffix(name, "/@"+string(slot.To)) {
			return at.Channel
		}
	}
	return to
}

// place says where a slot's message goes: to a person, into the channel, or
// into a thread once its first message stands.
func place(k flows.Kickoff, slot flows.Slot) (to, thread string, err error) {
	to = k.Channel
	if slot.To != "" {
		to = string(slot.To)
	}
	if slot.Under == "" {
		return to, "", nil
	}
	parent, ok := k.Posted[slot.Under]
	if !ok {
		return "", "", notYet(slot.Under)
	}
	return parent.Channel, parent.TS, nil
}

// notYet puts off what needs a message that could not be sent so far.
func notYet(slot string) error {
	return jobs.Retry(fmt.Errorf("the message %s does not stand yet", slot), time.Second)
}

func (b *Bot) pin(ctx context.Context, k flows.Kickoff, e flows.Effect) error {
	at, ok := k.Posted[e.Slot.Name()]
	switch {
	case !ok && e.Do == flows.Unpin:
		return nil
	case !ok:
		return notYet(e.Slot.Name())
	}
	err := b.Chat.Pin(ctx, at, e.Do == flows.Pin)
	if errors.Is(err, ErrNotAllowed) {
		b.Logger.Info("a message was not pinned: the app may not pin", "kickoff", k.ID)
		return nil // a pin is a convenience
	}
	return err
}

func (b *Bot) enlist(ctx context.Context, key journal.Key, k flows.Kickoff) error {
	for _, u := range k.Participants() {
		if err := b.Journal.Index.Join(ctx, key.Team, string(u), key.Kickoff); err != nil {
			return err
		}
	}
	return nil
}

// retrying turns an error of the platform into advice for the queue.
func (b *Bot) retrying(err error) error {
	var limited *RateLimited
	switch {
	case err == nil:
		return nil
	case errors.As(err, &limited):
		return jobs.Retry(err, limited.Wait)
	case hopeless(err):
		return jobs.Drop(err)
	}
	return err
}
