package fakeslack

import (
	"net/http"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The example that the platform prints on its page about verifying requests:
// secret, time, body and signature.
const (
	docBody = "token=xyzz0WbapA4vBCDEFasx0q6G&team_id=T1DC2JH3J&team_domain=testteamnow&channel_id=G8PSS9T3V&channel_name=foobar" +
		"&user_id=U2CERLKJA&user_name=roadrunner&command=%2Fwebhook-collect&text=" +
		"&response_url=https%3A%2F%2Fhooks.slack.com%2Fcommands%2FT1DC2JH3J%2F397700885554%2F96rGlfmibIGlgcZRskXaIFfN" +
		"&trigger_id=398738663015.47445629121.803a0bc887a14d10d2c447fce8b6703c"
	docSignature = "v0=a2114d57b48eac39b9ad189dd8316235a7b4a8d21a10bd27519666489c69b503"
)

func TestSignatureOfThePlatformsExample(t *testing.T) {
	assert.Equal(t, docSignature, signature("8f742231b10e8888abcd99yyyzzz85a5", 1531420618, []byte(docBody)), "signature")
}

func TestASignedRequestStandsUpToTheClientsVerifier(t *testing.T) {
	body := []byte(`{"type":"event_callback"}`)
	h := http.Header{}
	sign(h, "secret", time.Now(), body)
	for _, c := range []struct {
		rule, secret string
		body         []byte
		good         bool
	}{
		{"as signed", "secret", body, true},
		{"another secret", "secrets", body, false},
		{"another body", "secret", append(body, ' '), false},
	} {
		v, err := slack.NewSecretsVerifier(h, c.secret)
		require.NoError(t, err, c.rule)
		_, err = v.Write(c.body)
		require.NoError(t, err)
		assert.Equal(t, c.good, v.Ensure() == nil, "%s: verified", c.rule)
	}
}
