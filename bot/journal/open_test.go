package journal_test

import (
	"context"
	"net"
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/assert"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

type ctx = context.Context

const setting = "SOUNDINGS_REDIS_URL"

func TestOpen(t *testing.T) {
	t.Parallel()
	storetest.EachURL(t, func(t *testing.T, _, url string) {
		rdb, err := journal.Open(t.Context(), setting, url)
		must(t, "open", err)
		must(t, "ping", rdb.Ping(t.Context()).Err())
		must(t, "close", rdb.Close())
	})
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	locked := miniredis.RunT(t)
	locked.RequireAuth("anchor")
	gone := miniredis.RunT(t)
	nobody := gone.Addr()
	gone.Close()
	mute, err := net.Listen("tcp", "127.0.0.1:0") // as a server without TLS that is spoken to in TLS
	must(t, "listen", err)
	t.Cleanup(func() { _ = mute.Close() })
	tests := []struct {
		name, url string
		want      error
		says      string
	}{
		{"no URL", "", journal.ErrAddress, "redis://localhost:6379/0"},
		{"another scheme", "http://:anchorage@localhost", journal.ErrAddress, "must begin with"},
		{"a wrong password", "redis://:anchorage@" + locked.Addr(), journal.ErrUnreachable, "user and password"},
		{"no password", "redis://" + locked.Addr(), journal.ErrUnreachable, "user and password"},
		{"nobody there", "redis://:anchorage@" + nobody, journal.ErrUnreachable, "Check that Redis runs"},
		{"TLS where none is spoken", "rediss://:anchorage@" + mute.Addr().String(), journal.ErrUnreachable, "else use redis:// in place of rediss://"},
		{"no password, in one sentence each", "redis://" + locked.Addr(), journal.ErrUnreachable, "required. Put"},
		{"no sentinel there", "redis+sentinel://:anchorage@" + nobody + "/harbour", journal.ErrUnreachable, "sentinels"},
		{"no cluster there", "redis+cluster://:anchorage@" + nobody, journal.ErrUnreachable, "Check that Redis runs"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := journal.Open(t.Context(), setting, tt.url)
			wantError(t, "Open", err, tt.want)
			if err == nil {
				return
			}
			for _, want := range []string{setting, tt.says} {
				assert.Contains(t, err.Error(), want, "Open does not say what is wrong, and where")
			}
			assert.NotContains(t, err.Error(), "anchorage", "Open shows the password")
		})
	}
}
