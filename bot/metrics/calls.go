package metrics

import (
	"io"
	"net/http"
	"path"
	"regexp"
	"strconv"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Transport counts the calls that go through next, each once its answer was
// read: the platform says in the answer, mostly with status 200, that it did not
// do what was asked.
func (m *Metrics) Transport(next http.RoundTripper) http.RoundTripper {
	return promhttp.RoundTripperFunc(func(r *http.Request) (*http.Response, error) {
		method := methodOf(r)
		answer, err := next.RoundTrip(r)
		if err != nil {
			m.calls.WithLabelValues(method, "none", "").Inc()
			return nil, err
		}
		answer.Body = &overheard{ReadCloser: answer.Body, heard: func(head []byte) {
			m.calls.WithLabelValues(method, strconv.Itoa(answer.StatusCode), platformError(head)).Inc()
		}}
		return answer, nil
	})
}

// methodOf is the Web API method of a request; other addresses, which hold
// ids, all count as one.
func methodOf(r *http.Request) string {
	if dir, name := path.Split(r.URL.Path); path.Base(dir) == "api" {
		return name
	}
	return "other"
}

// An overheard body remembers its beginning until it is closed.
type overheard struct {
	io.ReadCloser
	head  [256]byte
	n     int
	heard func(head []byte)
}

func (b *overheard) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.n += copy(b.head[b.n:], p[:n])
	return n, err
}

// Close tells what was heard, the first time.
func (b *overheard) Close() error {
	if b.heard != nil {
		b.heard(b.head[:b.n])
		b.heard = nil
	}
	return b.ReadCloser.Close()
}

// What the platform says where it did not do what was asked. Its errors are
// words with underscores, and few.
var refusedCall = regexp.MustCompile(`^\s*\{\s*"ok"\s*:\s*false\s*,\s*"error"\s*:\s*"([a-z0-9_]{1,64})"`)

// platformError is the error with which an answer begins; empty without one.
func platformError(head []byte) string {
	if found := refusedCall.FindSubmatch(head); found != nil {
		return string(found[1])
	}
	return ""
}
