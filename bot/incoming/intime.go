package incoming

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"
)

// The platform gives a request three seconds, on its way there and back, and then
// shows the person an error and forgets what we say. So we say it before: the
// work's context ends first, for whatever obeys it to end in order, and what
// still waits then, as in line behind others for a Redis that does not answer, is
// not waited for.
const (
	answerTime = 2500 * time.Millisecond
	leftToEnd  = 300 * time.Millisecond // of that, for the work to end in order
)

// errLate says that nobody knows yet whether a request was done: it was not
// acknowledged, and does no harm when it comes again.
var errLate = errors.New("it took longer than the platform waits")

// inTime has a request worked on, and gives its answer while the platform still
// waits for one. A panic becomes an error, as net/http would have it.
func (v *Receiver) inTime(ctx context.Context, work func(context.Context) (any, error)) (any, error) {
	type result struct {
		answer any
		err    error
	}
	done := make(chan result, 1)
	within := cmp.Or(v.AnswerWithin, answerTime)
	working, cancel := context.WithTimeout(ctx, within-leftToEnd)
	go func() {
		defer cancel()
		var r result
		defer func() {
			if x := recover(); x != nil {
				v.Logger.Error("request panicked", "stack", string(debug.Stack()))
				r = result{err: fmt.Errorf("the request panicked with a %T", x)} // its value may quote people
			}
			done <- r
		}()
		r.answer, r.err = work(working)
	}()
	late := time.NewTimer(within)
	defer late.Stop()
	select {
	case r := <-done:
		return r.answer, r.err
	case <-late.C:
		return nil, errLate
	}
}
