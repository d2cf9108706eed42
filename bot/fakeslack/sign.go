package fakeslack

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"
	"time"
)

// Headers of a signed delivery.
const (
	headerSignature = "X-Slack-Signature"
	headerTimestamp = "X-Slack-Request-Timestamp"
)

// signature is v0 of the platform's request signing: HMAC-SHA256 of version,
// timestamp and raw body, under the secret as text. Source: the page on
// verifying requests.
func signature(secret string, timestamp int64, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + strconv.FormatInt(timestamp, 10) + ":"))
	mac.Write(body)
	return "v0=" + hex.EncodeToString(mac.Sum(nil))
}

// sign puts the two headers on. The time is the workspace's, as the bot in a
// rehearsal is given the same clock.
func sign(h http.Header, secret string, at time.Time, body []byte) {
	h.Set(headerTimestamp, strconv.FormatInt(at.Unix(), 10))
	h.Set(headerSignature, signature(secret, at.Unix(), body))
}
