package outgoing

import (
	"context"
	"errors"
	"fmt"
	"time"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/teams"
	"soundings/flows"
	"soundings/flows/state"
)

// What stands in a channel outlasts the store. Where a copy was restored while
// no bot ran, nobody has seen what is gone; but messages of ours say which entry
// they show, and one that the journal does not have tells of it.

// comparePause keeps within the platform's 50 calls a minute for reading.
const comparePause = 1500 * time.Millisecond

// Compare compares what stands in the channel of each open kickoff with the
// journal, and has drawn anew what shows more than the journal knows. It tells
// how many it has compared and which are behind. What cannot be compared now is
// passed over, with a line in the log.
func (w *Worker) Compare(ctx context.Context) (compared int, behind []journal.Key, err error) {
	keys, err := w.Journal.Index.Open(ctx)
	if err != nil {
		return 0, nil, err
	}
	for i, key := range keys {
		if i > 0 && !pause(ctx, comparePause) {
			break
		}
		is, err := w.compare(ctx, key)
		switch {
		case errors.Is(err, teams.ErrUninstalled), ctx.Err() != nil:
			continue
		case err != nil:
			w.Logger.Warn("what stands in a channel was not compared with the journal", "kickoff", key.Kickoff, "error", err)
			continue
		}
		if compared++; is {
			behind = append(behind, key)
		}
	}
	return compared, behind, ctx.Err()
}

func (w *Worker) compare(ctx context.Context, key journal.Key) (behind bool, err error) {
	team, err := w.Teams.ForJob(ctx, key.Team)
	if err != nil {
		return false, err
	}
	k, err := w.Kickoffs.Load(ctx, key)
	if err != nil || k.Channel == "" || k.Unreachable.Why != "" {
		return false, err
	}
	standing, err := newest(ctx, team.Chat, chat.Place{Channel: k.Channel}, key)
	if err != nil {
		return false, err
	}
	// Read again: what was written while the channel was read is not lost.
	if k, err = w.Kickoffs.Load(ctx, key); err != nil {
		return false, err
	}
	shown := int64(0)
	for _, m := range standing {
		shown = max(shown, m.Entry)
	}
	if shown <= k.Version {
		return false, nil
	}
	// Once: a message that can be neither changed nor deleted says the same at the next start.
	mark := fmt.Sprintf("compared/%d", shown)
	if done, err := w.Journal.Marks.Done(ctx, key, mark); err != nil || done {
		return false, err
	}
	strays, err := straysOf(ctx, team.Chat, key, k, standing)
	if err != nil {
		return false, err
	}
	w.Logger.Error("a channel shows more than the journal knows, as after an older copy of Redis was restored",
		"kickoff", key.Kickoff, "shown", shown, "now", k.Version, "strays", len(strays))
	if err := w.Kickoffs.Do(ctx, key, flows.ReportLoss{After: k.Version, Posted: strays}, kickoffs.Origin{}); err != nil {
		return false, err
	}
	return true, w.Journal.Marks.SetDone(ctx, key, mark)
}

// straysOf are the messages, in the channel and in the threads under ours, that
// show what the journal does not know, and of which it knows nothing either.
func straysOf(ctx context.Context, c *chat.Client, key journal.Key, k state.Kickoff, standing []chat.Standing) (map[string]state.Posting, error) {
	all := standing
	for _, parent := range standing {
		under, err := newest(ctx, c, chat.Place{Channel: parent.At.Channel, Thread: parent.At.TS}, key)
		if err != nil {
			return nil, err
		}
		all = append(all, under...)
	}
	known := map[state.Posting]bool{}
	for _, at := range k.Posted {
		known[at] = true
	}
	strays := map[string]state.Posting{}
	for _, m := range all {
		if m.Entry > k.Version && !known[m.At] {
			strays[m.Slot+"/"+m.At.TS] = m.At // a slot may stand twice by now
		}
	}
	return strays, nil
}

// newest is Newest, and waits where the platform asks to.
func newest(ctx context.Context, c *chat.Client, in chat.Place, key journal.Key) ([]chat.Standing, error) {
	for {
		found, err := c.Newest(ctx, in, key.Kickoff)
		limited, is := errors.AsType[*chat.RateLimited](err)
		if !is || !pause(ctx, limited.Wait) {
			return found, err
		}
	}
}

// pause waits; it reports false where the context ends before.
func pause(ctx context.Context, d time.Duration) bool {
	select {
	case <-time.After(d):
		return true
	case <-ctx.Done():
		return false
	}
}
