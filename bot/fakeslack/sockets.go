package fakeslack

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"soundings/bot/fakeslack/wire"
)

// Socket Mode. Sources: the platform's page on it for the frames and the ten
// connections; what is known from clients' records only is marked so.
const (
	mostSockets = 10
	mostTickets = 100 // given out and not used; older ones are forgotten

	socketLife  = time.Hour        // as in the page's example of a hello
	warnedAhead = 10 * time.Second // between the warning and the end
	pingEvery   = 5 * time.Second

	socketHost = "applink-rehearsal"
)

// Reasons for which the platform ends a socket.
const (
	DisconnectWarning = "warning"             // it will end in about ten seconds
	DisconnectRefresh = "refresh_requested"   // routine, every few hours
	DisconnectOff     = "link_disabled"       // Socket Mode was switched off
	disconnectTooMany = "too_many_websockets" // from public bug reports
)

// A sockets value holds the sockets that the app has open and sends each delivery
// through one of them, in turn: the platform promises no pattern, so an app
// must not need one.
//
// It is also a transport. An acknowledgement counts only on the socket that the
// envelope went out on, and only while that stays open; whether the platform
// is as strict is not documented, and a bot that copes with this copes with
// less.
type sockets struct {
	clock     func() time.Time
	log       *slog.Logger
	app       string
	ackWithin time.Duration
	pingEvery time.Duration
	life      time.Duration
	warned    time.Duration // how long before its end a socket is warned
	faults    *FaultCounter

	mu        sync.Mutex
	numbers   int // of tickets and envelopes
	tickets   []string
	asked     bool // an app has asked for a socket at some time
	off       bool // closed for good
	lines     []*socket
	turn      int
	ended     int           // sockets ended from this side, since last asked for
	changed   chan struct{} // closed at the next change of lines
	beingHeld sync.WaitGroup
}

func newSockets(c Config, app string, t *FaultCounter) *sockets {
	return &sockets{
		clock: c.Clock, log: c.Logger, app: app, ackWithin: c.AckWithin, pingEvery: pingEvery, life: socketLife, warned: warnedAhead,
		faults: t, changed: make(chan struct{}),
	}
}

// connectionsOpen gives out the address of one socket, good for one
// connection.
func (api *webAPI) connectionsOpen(a args) (reply, error) {
	if api.cfg.NoSocketMode {
		// From memory: the platform's word while the app's switch is off.
		return nil, wire.Refuse("socket_mode_not_enabled")
	}
	ticket := api.sockets.ticket()
	return reply{"url": "ws" + a.base[len("http"):] + "/link/?ticket=" + ticket + "&app_id=" + api.app}, nil
}

func (s *sockets) ticket() string {
	n := s.number()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.asked = true
	ticket := fmt.Sprintf("%08x-%04x", n, n%7919)
	s.tickets = append(s.tickets, ticket)
	if len(s.tickets) > mostTickets {
		s.tickets = s.tickets[1:]
	}
	return ticket
}

// redeem takes a ticket, once.
func (s *sockets) redeem(ticket string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	at := slices.Index(s.tickets, ticket)
	if at < 0 {
		return false
	}
	s.tickets = slices.Delete(s.tickets, at, at+1)
	return true
}

// serveSocket holds one socket until it ends. Clients name an Origin that is
// not ours, so none is looked at.
func (api *webAPI) serveSocket(rw http.ResponseWriter, r *http.Request) {
	if !api.sockets.redeem(r.URL.Query().Get("ticket")) {
		http.Error(rw, "this ticket was used or is not known: ask apps.connections.open for another one", http.StatusForbidden)
		return
	}
	upgrader := websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}
	conn, err := upgrader.Upgrade(rw, r, nil)
	if err != nil {
		return // it has been answered
	}
	api.sockets.hold(newSocket(conn, api.sockets.pingEvery, api.cfg.Logger))
}

// hold keeps a socket until either side ends it.
func (s *sockets) hold(line *socket) {
	defer line.conn.Close()
	if !s.greet(line) {
		_ = line.write(disconnectFrame(disconnectTooMany)) // it ends either way
		line.hangUp()
		return
	}
	defer s.beingHeld.Done()
	defer s.drop(line)
	var pump sync.WaitGroup
	pump.Go(func() { line.pump(s.pingEvery, s.life, s.warned) })
	defer pump.Wait()
	line.listen()
}

// greet takes a socket in and says hello on it, unless there are as many as
// an app may have. The socket counts as open before the app can have read the
// hello, and whatever is sent meanwhile waits behind it.
func (s *sockets) greet(line *socket) bool {
	line.writing.Lock()
	defer line.writing.Unlock()
	n, ok := s.take(line)
	if ok {
		_ = line.put(s.hello(n)) // the reader notices a socket that is gone
	}
	return ok
}

func (s *sockets) take(line *socket) (n int, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.off || len(s.lines) >= mostSockets {
		return 0, false
	}
	s.lines = append(s.lines, line)
	s.beingHeld.Add(1)
	s.tellChange()
	s.log.Debug("a socket is open", "sockets", len(s.lines))
	return len(s.lines), true
}

// drop takes a socket out of the turn. It may be called twice.
func (s *sockets) drop(line *socket) {
	s.mu.Lock()
	defer s.mu.Unlock()
	at := slices.Index(s.lines, line)
	if at < 0 {
		return
	}
	s.lines = slices.Delete(s.lines, at, at+1)
	if line.leaving.Load() {
		s.ended++
	}
	s.tellChange()
}

// tellChange is called with sockets locked.
func (s *sockets) tellChange() {
	close(s.changed)
	s.changed = make(chan struct{})
}

func (s *sockets) hello(n int) reply {
	return reply{
		"type": "hello", "num_connections": n,
		"connection_info": reply{"app_id": s.app},
		"debug_info": reply{
			"host": socketHost, "started": s.clock().UTC().Format("2006-01-02 15:04:05.000"),
			"build_number": 1, "approximate_connection_time": int(s.life / time.Second),
		},
	}
}

// pick chooses the socket whose turn it is, and waits for one where none is
// open: an app that was told to reconnect is away for a moment only. There is
// none when ctx or the team has ended.
func (s *sockets) pick(ctx context.Context) *socket {
	for {
		s.mu.Lock()
		line, changed, off := s.next(), s.changed, s.off
		s.mu.Unlock()
		switch {
		case off:
			return nil
		case line != nil:
			return line
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return nil
		}
	}
}

// next is called with sockets locked. A socket that was told to go
// gets deliveries only when there is no other.
func (s *sockets) next() *socket {
	var last *socket
	for i := range s.lines {
		at := (s.turn + i) % len(s.lines)
		if line := s.lines[at]; line.leaving.Load() {
			last = line
		} else {
			s.turn = at + 1
			return line
		}
	}
	return last
}

// open counts the sockets that can take deliveries.
func (s *sockets) open() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.lines)
}

// expected reports whether an app has ever asked for a socket.
func (s *sockets) expected() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.asked
}

// takeEnded says how many sockets were ended from this side since it was last
// asked.
func (s *sockets) takeEnded() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := s.ended
	s.ended = 0
	return n
}

// cut ends a socket without a close frame, as a network does.
func (s *sockets) cut(line *socket) {
	line.leaving.Store(true)
	s.drop(line)
	_ = line.conn.Close() // it is gone either way
}

// all lists the open sockets.
func (s *sockets) all() []*socket {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.lines)
}

// close ends every socket and waits until nothing serves one any more.
func (s *sockets) close() {
	s.mu.Lock()
	s.off = true
	s.tellChange()
	s.mu.Unlock()
	for _, line := range s.all() {
		s.cut(line)
	}
	s.beingHeld.Wait()
}
