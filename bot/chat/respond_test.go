package chat

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// dialled notes the addresses that a client calls, and answers them all.
type dialled []string

func (d *dialled) RoundTrip(r *http.Request) (*http.Response, error) {
	*d = append(*d, r.URL.String())
	return &http.Response{StatusCode: http.StatusOK, Body: io.NopCloser(strings.NewReader("ok")), Request: r}, nil
}

// An address at which to answer comes with a payload, and travels through Redis.
// Whoever can write one there must not have the bot call what it can reach.
func TestRespondsOnlyToThePlatform(t *testing.T) {
	for address, known := range map[string]bool{
		"https://hooks.slack.com/actions/T1/2/3":               true,
		"https://hooks.slack-gov.com/commands/T1/2/3":          true,
		"http://127.0.0.1:8090/response/R1":                    true, // of SLACK_API_URL
		"http://hooks.slack.com/actions/T1/2/3":                false,
		"https://hooks.slack.com:8443/actions/T1/2/3":          false,
		"https://hooks.slack.com.elsewhere.example/actions":    false,
		"https://hooks.slack.com@elsewhere.example/actions/T1": false,
		"https://127.0.0.1:8090/response/R1":                   false,
		"http://127.0.0.1:6379/":                               false,
		"http://169.254.169.254/latest/meta-data":              false,
		"//hooks.slack.com/actions":                            false,
		"":                                                     false,
	} {
		var calls dialled
		c := New("xoxb-test", "http://127.0.0.1:8090/api/", &http.Client{Transport: &calls})
		err := c.Respond(t.Context(), address, "Done.")
		if known {
			assert.NoError(t, err, address)
			assert.Equal(t, dialled{address}, calls, address)
			continue
		}
		assert.ErrorIs(t, err, errForeign, address)
		assert.Empty(t, calls, address)
	}
	var calls dialled
	err := New("xoxb-test", "", &http.Client{Transport: &calls}).Respond(t.Context(), "http://127.0.0.1:8090/response/R1", "Done.")
	assert.ErrorIs(t, err, errForeign, "without another Web API only the platform's hosts are known")
}
