package incoming

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"strconv"
	"time"
)

// signatureAge is how old, or how far ahead, a signed request may be.
const signatureAge = 5 * time.Minute

// Why a request is refused before it is read.
var (
	errUnsigned  = errors.New("the request carries no signature")
	errStale     = errors.New("the request is too old, or from the future: set the clock of this machine")
	errSignature = errors.New("the signature does not match: set the signing secret of the app that sends here, from its page Basic Information")
)

// verify holds a request to the platform's signature over its raw body. The
// client library has the same check, but reads the machine's clock; ours is
// given one.
func verify(secret string, h http.Header, body []byte, now time.Time) error {
	stamp, signature := h.Get("X-Slack-Request-Timestamp"), h.Get("X-Slack-Signature")
	if stamp == "" || signature == "" {
		return errUnsigned
	}
	seconds, err := strconv.ParseInt(stamp, 10, 64)
	if err != nil {
		return errStale
	}
	if age := now.Sub(time.Unix(seconds, 0)); age > signatureAge || age < -signatureAge {
		return errStale
	}
	if !hmac.Equal([]byte(signature), []byte(sign(secret, stamp, body))) {
		return errSignature
	}
	return nil
}

// sign computes the signature of a body at a time.
func sign(secret, stamp string, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + stamp + ":"))
	mac.Write(body)
	return "v0=" + hex.EncodeToString(mac.Sum(nil))
}
