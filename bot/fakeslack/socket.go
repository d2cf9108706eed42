package fakeslack

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"soundings/bot/fakeslack/wire"
)

// heaviestFrame is how many bytes of one frame are read. It lies far above
// what counts, so that an answer which is too large is passed over, as the
// platform does, and does not end the socket.
const heaviestFrame = 1 << 20

// writeWithin bounds one write, so that a client that reads nothing holds up
// nobody for long.
const writeWithin = time.Second

// A socket is one connection of the app.
type socket struct {
	conn    *websocket.Conn
	silence time.Duration // without a pong, after which the client is taken for dead
	log     *slog.Logger
	gone    chan struct{} // closed when nothing is read any more
	leave   chan struct{} // has room for one: the client was told to go

	writing sync.Mutex // one frame at a time

	leaving atomic.Bool // it was told to go

	mu      sync.Mutex
	waiting map[string]chan []byte // who waits for an acknowledgement, by envelope
}

// newSocket makes a socket that ends after three pings without an answer.
func newSocket(conn *websocket.Conn, every time.Duration, log *slog.Logger) *socket {
	return &socket{
		conn: conn, silence: 3*every + writeWithin, log: log,
		gone: make(chan struct{}), leave: make(chan struct{}, 1), waiting: map[string]chan []byte{},
	}
}

// listen reads acknowledgements until the connection ends.
func (c *socket) listen() {
	defer close(c.gone)
	c.conn.SetReadLimit(heaviestFrame)
	_ = c.alive("") // a connection that takes no deadline fails at the first read
	c.conn.SetPongHandler(c.alive)
	for {
		_, frame, err := c.conn.ReadMessage()
		if err != nil {
			return
		}
		c.acknowledged(frame)
	}
}

// alive extends the time in which the client has to be heard of.
func (c *socket) alive(string) error { return c.conn.SetReadDeadline(time.Now().Add(c.silence)) }

// acknowledged hands an acknowledgement to whoever waits for it. One that is
// too large, cannot be read, or comes too late is ignored.
func (c *socket) acknowledged(frame []byte) {
	var ack struct {
		Envelope string          `json:"envelope_id"`
		Payload  json.RawMessage `json:"payload"`
	}
	switch {
	case len(frame) >= heaviestAnswer:
		c.log.Debug("an acknowledgement was dropped: it is too large", "bytes", len(frame))
		return
	case json.Unmarshal(frame, &ack) != nil:
		c.log.Debug("a frame was dropped: it is no acknowledgement")
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	waiting, known := c.waiting[ack.Envelope]
	if !known {
		c.log.Debug("an acknowledgement was dropped: nobody waits for it")
		return
	}
	delete(c.waiting, ack.Envelope)
	waiting <- saidNothing(ack.Payload)
}

// saidNothing takes an empty payload for none: the Node client sends {} with
// every acknowledgement.
func saidNothing(payload json.RawMessage) []byte {
	var v any
	_ = json.Unmarshal(payload, &v) // what cannot be read says nothing
	if o, ok := v.(map[string]any); v == nil || ok && len(o) == 0 {
		return nil
	}
	return payload
}

// errNotSent says that a socket takes nothing any more.
var errNotSent = errors.New("the socket takes nothing")

// send sends an envelope and waits for its acknowledgement. Where the error
// is errNotSent the app has not seen it.
func (c *socket) send(ctx context.Context, p delivery, envelope reply) (answer, error) {
	id := wire.Str(envelope, "envelope_id")
	arrives := make(chan []byte, 1)
	c.wait(id, arrives)
	defer c.wait(id, nil)
	if err := c.write(envelope); err != nil {
		return answer{}, errNotSent
	}
	select {
	case body := <-arrives:
		return accepted(envelope, body), nil
	case <-c.gone:
	case <-ctx.Done():
		return answer{}, &deliveryError{kind: p.kind, reason: "http_timeout", detail: "no acknowledgement came"}
	}
	select {
	case body := <-arrives: // the last thing that the socket said
		return accepted(envelope, body), nil
	default:
		return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "the socket ended"}
	}
}

// wait says where the acknowledgement of an envelope is to arrive; nil forgets
// the envelope.
func (c *socket) wait(envelope string, arrives chan []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.waiting[envelope] = arrives; arrives == nil {
		delete(c.waiting, envelope)
	}
}

// accepted leaves out what the app was told not to send.
func accepted(envelope reply, body []byte) answer {
	if !wire.Flag(envelope, "accepts_response_payload") {
		return answer{}
	}
	return answer{body: body}
}

func (c *socket) write(frame reply) error {
	c.writing.Lock()
	defer c.writing.Unlock()
	return c.put(frame)
}

// put is called with writing held.
func (c *socket) put(frame reply) error {
	if err := c.conn.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	return c.conn.WriteMessage(websocket.TextMessage, wire.Encode(frame))
}

// pump keeps the socket alive and ends it when its time is up.
func (c *socket) pump(every, life, warned time.Duration) {
	ping, warn, end := time.NewTicker(every), time.NewTimer(life-warned), time.NewTimer(life)
	defer func() { ping.Stop(); warn.Stop(); end.Stop() }()
	for {
		select {
		case <-c.gone:
			return
		case now := <-ping.C:
			_ = c.conn.WriteControl(websocket.PingMessage, []byte("Ping from "+socketHost), now.Add(writeWithin)) // the reader notices
		case <-warn.C:
			c.askToLeave(DisconnectWarning)
		case <-c.leave:
			end.Reset(warned)
		case <-end.C:
			c.askToLeave(DisconnectRefresh)
			c.hangUp()
		}
	}
}

// askToLeave tells the client to connect anew. It has a while to do so.
func (c *socket) askToLeave(reason string) {
	c.leaving.Store(true)
	_ = c.write(disconnectFrame(reason)) // the reader notices a socket that is gone
	select {
	case c.leave <- struct{}{}:
	default:
	}
}

// hangUp sends a close frame, and ends the connection soon even if none comes
// back.
func (c *socket) hangUp() {
	until := time.Now().Add(writeWithin)
	_ = c.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseNormalClosure, ""), until)
	_ = c.conn.SetReadDeadline(until)
}
