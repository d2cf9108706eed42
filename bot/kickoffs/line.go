package kickoffs

import (
	"slices"
	"sync"

	"soundings/bot/journal"
	"soundings/flows"
)

// A write is an intent that waits to be decided and written.
type write struct {
	in   flows.Intent
	from Origin

	lead chan struct{} // closed when it is this one's turn to write for all who wait
	done chan struct{} // closed when it was written, or was not

	written []written // set before done is closed
	err     error
}

// lines keeps those who write to one kickoff through this process in a line.
// The first of a line writes for all who have come by then, in one round trip;
// then it is the turn of the next. Without it, each of many presses at once
// would decide on the same state, and all but one would have to decide again.
type lines struct {
	mu  sync.Mutex
	all map[journal.Key]*line
}

type line struct {
	leader  *write
	waiting []*write // the leader among them, until they are taken
}

// join puts a write at the end of the line of its kickoff.
func (l *lines) join(key journal.Key, w *write) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.all == nil {
		l.all = map[journal.Key]*line{}
	}
	if l.all[key] == nil {
		l.all[key] = &line{}
	}
	at := l.all[key]
	at.waiting = append(at.waiting, w)
	if at.leader == nil {
		at.appoint(w)
	}
}

func (at *line) appoint(w *write) {
	at.leader = w
	close(w.lead)
}

// most bounds what is written at once, so that nobody waits for a crowd.
const most = 32

// take gives the leader what waits.
func (l *lines) take(key journal.Key) []*write {
	l.mu.Lock()
	defer l.mu.Unlock()
	at := l.all[key]
	n := min(most, len(at.waiting))
	taken := slices.Clone(at.waiting[:n])
	at.waiting = slices.Delete(at.waiting, 0, n)
	return taken
}

// leave takes a write out of the line that nobody waits for any more, and
// hands the lead on. One that was taken already is written all the same.
func (l *lines) leave(key journal.Key, w *write) {
	l.mu.Lock()
	defer l.mu.Unlock()
	at := l.all[key]
	if at == nil {
		return
	}
	at.waiting = slices.DeleteFunc(at.waiting, func(other *write) bool { return other == w })
	if at.leader != w {
		return
	}
	if at.leader = nil; len(at.waiting) == 0 {
		delete(l.all, key)
		return
	}
	at.appoint(at.waiting[0])
}
