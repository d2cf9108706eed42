package kickoffs

import (
	"context"
	"sync"

	"soundings/bot/journal"
)

// turns lets those who write to one kickoff through this process wait for each
// other. Without it, each of many presses at once would decide on the same
// state, and all but one would have to decide again.
type turns struct {
	mu  sync.Mutex
	all map[journal.Key]*turn
}

type turn struct {
	free    chan struct{} // holds one thing while it is nobody's turn
	waiting int           // for it, whoever has it included
}

// take waits for a turn at a kickoff, which lasts until it is released.
func (t *turns) take(ctx context.Context, key journal.Key) (release func(), err error) {
	t.mu.Lock()
	if t.all == nil {
		t.all = map[journal.Key]*turn{}
	}
	at, ok := t.all[key]
	if !ok {
		at = &turn{free: make(chan struct{}, 1)}
		at.free <- struct{}{}
		t.all[key] = at
	}
	at.waiting++
	t.mu.Unlock()
	select {
	case <-at.free:
		return func() {
			at.free <- struct{}{}
			t.leave(key, at)
		}, nil
	case <-ctx.Done():
		t.leave(key, at)
		return nil, context.Cause(ctx)
	}
}

func (t *turns) leave(key journal.Key, at *turn) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if at.waiting--; at.waiting == 0 {
		delete(t.all, key)
	}
}
