package incoming

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// Who floods is refused before anything is read, and nobody else is.
func TestFloodIsRefused(t *testing.T) {
	now := time.Unix(docStamp, 0)
	v := &Receiver{Secret: "made up", Clock: func() time.Time { return now }, Logger: slog.New(slog.DiscardHandler)}
	h := v.Handler()
	send := func(from string) int {
		r := httptest.NewRequest(http.MethodPost, "/slack/commands", strings.NewReader(docBody))
		r.RemoteAddr = from
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code
	}
	for i := range burst {
		assert.Equal(t, http.StatusUnauthorized, send(fmt.Sprintf("[2001:db8:1:2::%x]:443", i)))
	}
	assert.Equal(t, http.StatusTooManyRequests, send("[2001:db8:1:2:ffff::1]:443"), "of the same network")
	assert.Equal(t, http.StatusUnauthorized, send("192.0.2.1:443"), "of another one")
	now = now.Add(time.Second / perSecond)
	assert.Equal(t, http.StatusUnauthorized, send("[2001:db8:1:2::1]:443"), "later")
}

func TestLimitsAreBounded(t *testing.T) {
	l := newLimits()
	for i := range 3 * mostLimiters {
		l.allow(fmt.Sprintf("10.%d.%d.%d:1", i>>16, i>>8&255, i&255), time.Unix(docStamp, 0))
	}
	assert.Equal(t, mostLimiters, l.byAddress.Len())
}
