package outgoing

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"strings"
	"time"

	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// refresh brings a message up to date unless a later look has done so.
func (r *run) refresh(ctx context.Context) error {
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	if _, posted := k.Posted[r.Slot.Name()]; !posted || k.Unreachable.Why != "" && r.Slot.To == "" {
		return nil // it will be shown as it stands then
	}
	err = r.show(ctx, k, r.Slot)
	return errors.Join(err, r.unreached(ctx, flows.Effect{Do: flows.Refresh, Slot: r.Slot}, err))
}

// show posts the message of a slot, or brings it up to date unless a later
// look has done so.
func (r *run) show(ctx context.Context, k state.Kickoff, slot flows.Slot) error {
	shown, err := r.Journal.Marks.Shown(ctx, r.Key, slot.Name())
	if err != nil || shown >= r.Version {
		return err
	}
	at, err := send(ctx, r, k, slot)
	if k.Posted[slot.Name()].Picture != "" && badBlocks(err) {
		at, err = send(ctx, r, withoutPicture(k, slot), slot)
	}
	if err != nil {
		return err
	}
	if stood, posted := k.Posted[slot.Name()]; !posted || stood != at {
		if err := r.report(ctx, flows.Report{News: event.MessagePosted{Slot: slot.Name(), Posting: at}}); err != nil {
			return err
		}
	}
	return r.markShown(ctx, k, slot)
}

// send draws the message of a slot and says where it stands from now on.
func send(ctx context.Context, r *run, k state.Kickoff, slot flows.Slot) (at state.Posting, err error) {
	message, err := draw(r, k, slot)
	if err != nil {
		return at, err
	}
	stood, posted := k.Posted[slot.Name()]
	if posted {
		if err := r.update(ctx, stood, tagOf(r.Key, k, slot), message); !errors.Is(err, chat.ErrGone) {
			return stood, err
		}
		// Deleted, or too old to edit here: it is posted anew.
	}
	at, err = r.post(ctx, k, slot, message)
	at.Picture = stood.Picture
	return at, err
}

func draw(r *run, k state.Kickoff, slot flows.Slot) (screen.Posting, error) {
	message, err := screens.Message(k, slot, r.Clock())
	if err != nil {
		return message, fmt.Errorf("%w: %w", errUndrawable, err)
	}
	if r.Drafter != nil && slot.Screen == flows.ScreenDesk {
		message = screens.OfferDrafting(message, k, slot.To)
	}
	return message, nil
}

// withoutPicture is the kickoff as if the message of a slot had no picture.
func withoutPicture(k state.Kickoff, slot flows.Slot) state.Kickoff {
	at := k.Posted[slot.Name()]
	at.Picture = ""
	k.Posted = maps.Clone(k.Posted)
	k.Posted[slot.Name()] = at
	return k
}

// update changes a message that stands: at the address of a press in it, as
// long as the platform takes that, and else by the Web API.
func (r *run) update(ctx context.Context, at state.Posting, tag chat.Tag, m screen.Posting) error {
	if from := r.Source; from != nil && from.Channel == at.Channel && from.TS == at.TS && r.Clock().Unix() < from.Until {
		err := r.chat.Replace(ctx, from.URL, m)
		if err == nil {
			return nil
		}
		r.Logger.Info("a message is changed by the Web API instead", "error", err)
	}
	return r.chat.Update(ctx, at, tag, m)
}

func tagOf(key journal.Key, k state.Kickoff, slot flows.Slot) chat.Tag {
	return chat.Tag{Kickoff: key.Kickoff, Slot: slot.Name(), Entry: k.Version}
}

func (r *run) markShown(ctx context.Context, k state.Kickoff, slot flows.Slot) error {
	return r.Journal.Marks.SetShown(ctx, r.Key, slot.Name(), k.Version)
}

// post sends the message of a slot, in the place of one that is gone where
// there was one.
func (r *run) post(ctx context.Context, k state.Kickoff, slot flows.Slot, m screen.Posting) (at state.Posting, err error) {
	to, thread, err := place(k, slot)
	if err != nil {
		return at, err
	}
	tag, mark := tagOf(r.Key, k, slot), "sending/"+slot.Name()
	gone, anew := k.Posted[slot.Name()]
	if anew {
		mark += "/after/" + gone.TS
	}
	err = r.attempt(ctx, mark, func(since time.Time) (found bool, err error) {
		at, found, err = r.chat.Find(ctx, chat.Place{Channel: known(k, slot, to), Thread: thread}, since, tag, gone.TS)
		return found, err
	}, func() (err error) {
		at, err = r.chat.Post(ctx, to, thread, tag, m)
		return err
	})
	return at, err
}

// once does something unless the journal says that it was done; did reports
// that it was done now.
func (r *run) once(ctx context.Context, mark string, do func() error) (did bool, err error) {
	done, err := r.Journal.Marks.Done(ctx, r.Key, mark)
	if err != nil || done {
		return false, err
	}
	if err := do(); err != nil {
		return true, err
	}
	return true, r.Journal.Marks.SetDone(ctx, r.Key, mark)
}

// attempt does something that the platform has no key for which would make
// doing it twice harmless. So an attempt is marked first. One that was cut off
// is looked for; and since it may also be on its way at this moment, by a worker
// that was thought dead, the second one to try waits once until that must be
// over.
//
// A message to one person cannot be looked for: the app does not ask for
// im:history, the right to read what people write to it. One that was sent just
// before a crash is sent again.
func (r *run) attempt(ctx context.Context, mark string, find func(since time.Time) (bool, error), do func() error) error {
	first, since, err := r.Journal.Marks.Begin(ctx, r.Key, mark, r.Clock())
	if err != nil {
		return err
	}
	if first {
		return do()
	}
	if found, err := find(since); found || err != nil {
		return err
	}
	waits, _, err := r.Journal.Marks.Begin(ctx, r.Key, mark+"/again", r.Clock())
	if err != nil {
		return err
	}
	if waits {
		return jobs.Retry(errUnderWay, attemptTime)
	}
	return do()
}

var errUnderWay = errors.New("somebody else may be at it")

// attemptTime is longer than an attempt can take.
const attemptTime = chat.CallTimeout + time.Second

// known is the id of the conversation in which a message to somebody stands:
// that of an earlier message to them, where there is one.
func known(k state.Kickoff, slot flows.Slot, to string) string {
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
func place(k state.Kickoff, slot flows.Slot) (to, thread string, err error) {
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
	return jobs.NotYet(fmt.Errorf("the message %s does not stand yet", slot))
}
