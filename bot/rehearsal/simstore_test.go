package rehearsal

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/alicebob/miniredis/v2/server"
	"github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/maintnotifications"
	"github.com/stretchr/testify/require"
)

// startStore starts the embedded store, for many simulations one after the other.
func startStore(t *testing.T) *miniredis.Miniredis {
	t.Helper()
	store := miniredis.NewMiniRedis()
	require.NoError(t, store.Start())
	t.Cleanup(store.Close)
	return store
}

// connect makes a client whose commands are carried out where they are written:
// thousands of simulations would else spend their time in sockets.
func connect(store *miniredis.Miniredis) redis.UniversalClient {
	return redis.NewClient(&redis.Options{
		Addr: "127.0.0.1:1", Protocol: 2, DisableIdentity: true, MaxRetries: -1,
		MaintNotificationsConfig: &maintnotifications.Config{Mode: maintnotifications.ModeDisabled}, // else it looks up where the server is
		Dialer: func(context.Context, string, string) (net.Conn, error) {
			c := &storeConn{to: store.Server()}
			c.peer = server.NewPeer(bufio.NewWriter(&c.answers))
			return c, nil
		},
	})
}

// A storeConn is a connection to the embedded store without a network.
type storeConn struct {
	to   *server.Server
	peer *server.Peer

	mu      sync.Mutex
	asked   []byte // what is not yet a whole command
	answers bytes.Buffer
}

func (c *storeConn) Write(b []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.asked = append(c.asked, b...)
	for {
		args, rest, ok := command(c.asked)
		if !ok {
			return len(b), nil
		}
		c.asked = rest
		c.to.Dispatch(c.peer, args)
		c.peer.Flush()
	}
}

func (c *storeConn) Read(b []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.answers.Len() == 0 {
		return 0, io.ErrUnexpectedEOF // whoever reads has written before
	}
	return c.answers.Read(b)
}

func (c *storeConn) Close() error                     { return nil }
func (c *storeConn) LocalAddr() net.Addr              { return &net.TCPAddr{} }
func (c *storeConn) RemoteAddr() net.Addr             { return &net.TCPAddr{} }
func (c *storeConn) SetDeadline(time.Time) error      { return nil }
func (c *storeConn) SetReadDeadline(time.Time) error  { return nil }
func (c *storeConn) SetWriteDeadline(time.Time) error { return nil }

// command takes the first command off what was written: an array of strings,
// each with its length before it.
func command(b []byte) (args []string, rest []byte, whole bool) {
	n, b, err := count(b, '*')
	if err != nil {
		return nil, nil, false
	}
	for range n {
		size, after, err := count(b, '$')
		if err != nil || len(after) < size+2 {
			return nil, nil, false
		}
		args, b = append(args, string(after[:size])), after[size+2:]
	}
	return args, b, true
}

var errPartial = errors.New("more is to come")

func count(b []byte, kind byte) (int, []byte, error) {
	line, rest, found := bytes.Cut(b, []byte("\r\n"))
	if !found || len(line) < 2 || line[0] != kind {
		return 0, nil, errPartial
	}
	n, err := strconv.Atoi(string(line[1:]))
	return n, rest, err
}
