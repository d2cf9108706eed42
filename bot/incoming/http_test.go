package incoming

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"soundings/bot/metrics"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The example of the platform's documentation, "Verifying requests": the
// body is from memory, and the published signature confirms every byte of it.
const (
	docSecret    = "8f742231b10e8888abcd99yyyzzz85a5"
	docStamp     = 1531420618
	docSignature = "v0=a2114d57b48eac39b9ad189dd8316235a7b4a8d21a10bd27519666489c69b503"
	docBody      = "token=xyzz0WbapA4vBCDEFasx0q6G&team_id=T1DC2JH3J&team_domain=testteamnow&channel_id=G8PSS9T3V" +
		"&channel_name=foobar&user_id=U2CERLKJA&user_name=roadrunner&command=%2Fwebhook-collect&text=" +
		"&response_url=https%3A%2F%2Fhooks.slack.com%2Fcommands%2FT1DC2JH3J%2F397700885554%2F96rGlfmibIGlgcZRskXaIFfN" +
		"&trigger_id=398738663015.47445629121.803a0bc887a14d10d2c447fce8b6703c"
)

func TestVerify(t *testing.T) {
	at := time.Unix(docStamp, 0)
	for _, c := range []struct {
		rule, secret, stamp, signature, body string
		now                                  time.Time
		want                                 error
	}{
		{"the documented example holds", docSecret, strconv.Itoa(docStamp), docSignature, docBody, at, nil},
		{"five minutes late is in time", docSecret, strconv.Itoa(docStamp), docSignature, docBody, at.Add(5 * time.Minute), nil},
		{"later is too old", docSecret, strconv.Itoa(docStamp), docSignature, docBody, at.Add(5*time.Minute + time.Second), errStale},
		{"from the future", docSecret, strconv.Itoa(docStamp), docSignature, docBody, at.Add(-6 * time.Minute), errStale},
		{"another body", docSecret, strconv.Itoa(docStamp), docSignature, docBody + "x", at, errSignature},
		{"another secret", "8f74", strconv.Itoa(docStamp), docSignature, docBody, at, errSignature},
		{"another stamp", docSecret, strconv.Itoa(docStamp + 1), docSignature, docBody, at, errSignature},
		{"no signature", docSecret, strconv.Itoa(docStamp), "", docBody, at, errUnsigned},
		{"no stamp", docSecret, "", docSignature, docBody, at, errUnsigned},
		{"a stamp that is no number", docSecret, "yesterday", docSignature, docBody, at, errStale},
	} {
		t.Run(c.rule, func(t *testing.T) {
			h := http.Header{}
			h.Set("X-Slack-Request-Timestamp", c.stamp)
			h.Set("X-Slack-Signature", c.signature)
			assert.Equal(t, c.want, verify(c.secret, h, []byte(c.body), c.now), "verify")
		})
	}
}

// Anybody can send unsigned requests: they are counted, and do not fill the log.
func TestUnsignedRequestsDoNotFillTheLog(t *testing.T) {
	var log bytes.Buffer
	r := prometheus.NewRegistry()
	v := &Receiver{Secret: "made up", Clock: time.Now, Logger: slog.New(slog.NewTextHandler(&log, nil)), Metrics: metrics.New(r)}
	handler := v.Handler()
	for range 500 {
		request := httptest.NewRequest(http.MethodPost, "/slack/commands", strings.NewReader("text=start"))
		request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		answer := httptest.NewRecorder()
		handler.ServeHTTP(answer, request)
		require.Equal(t, http.StatusUnauthorized, answer.Code)
	}
	assert.Less(t, strings.Count(log.String(), "\n"), 20)
	families, err := r.Gather()
	require.NoError(t, err)
	counted := 0.0
	for _, family := range families {
		for _, m := range family.GetMetric() {
			if family.GetName() == "soundings_requests_total" {
				counted += m.GetCounter().GetValue()
			}
		}
	}
	assert.EqualValues(t, 500, counted)
}
