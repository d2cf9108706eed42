package incoming

import (
	"bytes"
	"context"
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
)

// The same for requests over HTTP and payloads over a socket, which is not
// acknowledged then.
func TestInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		v := &Receiver{Logger: slog.New(slog.NewTextHandler(&log, nil))}
		for rule, test := range map[string]struct {
			work  func(context.Context) (any, error)
			after time.Duration
			want  string
		}{
			"what obeys its context ends in order": {func(ctx context.Context) (any, error) {
				<-ctx.Done()
				return nil, nil // a word to somebody was cut off, and the rest is done
			}, answerTime - leftToEnd, ""},
			"what waits on is not waited for": {func(context.Context) (any, error) {
				time.Sleep(time.Minute)
				return nil, nil
			}, answerTime, errLate.Error()},
			"a panic is an error": {func(context.Context) (any, error) { panic("what somebody wrote") }, 0, "the request panicked with a string"},
		} {
			began := time.Now()
			_, err := v.inTime(t.Context(), test.work)
			assert.Equal(t, test.after, time.Since(began), rule)
			if test.want == "" {
				assert.NoError(t, err, rule)
				continue
			}
			assert.EqualError(t, err, test.want, rule)
		}
		assert.NotContains(t, log.String(), "somebody wrote")
		time.Sleep(time.Minute)
	})
}
