package bot_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/jobs"
	"soundings/bot/journal/storetest"
	"soundings/bot/report"
	"soundings/flows/state"
)

// A crasher is a process that may crash at any of its steps: a command to Redis,
// a call of the Web API, a job for the queue. Nothing that it does after its
// crash reaches anybody.
type crasher struct {
	mu      sync.Mutex
	armed   bool // to die after so many steps
	left    int
	crashed bool
	kill    func()
	safe    bool // until the next append: see RoundTrip

	crashes int
}

var errCrashed = errors.New("the process crashed")

// crashAfter lets the process do so many steps, and die at the next.
func (m *crasher) crashAfter(steps int, kill func()) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.armed, m.left, m.crashed, m.kill = true, steps, false, kill
}

// revive lets the process live on, and reports whether it had crashed.
func (m *crasher) revive() (hasCrashed bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	hasCrashed = m.crashed
	m.armed, m.crashed = false, false
	if hasCrashed {
		m.crashes++
	}
	return hasCrashed
}

func (m *crasher) step() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	switch {
	case !m.armed || m.safe:
		return nil
	case m.crashed:
		return errCrashed
	case m.left > 0:
		m.left--
		return nil
	}
	m.crashed = true
	if m.kill != nil {
		m.kill()
	}
	return errCrashed
}

// DialHook is for redis.Hook.
func (m *crasher) DialHook(next redis.DialHook) redis.DialHook { return next }

// ProcessHook is for redis.Hook.
func (m *crasher) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		if err := m.step(); err != nil {
			return err
		}
		err := next(ctx, cmd)
		if name := cmd.Name(); name == "evalsha" || name == "eval" {
			m.keepSafe(false) // the append
		}
		return err
	}
}

// keepSafe lets the process not crash for a while, or ends that.
func (m *crasher) keepSafe(safe bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.safe = safe
}

// ProcessPipelineHook is for redis.Hook.
func (m *crasher) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		if err := m.step(); err != nil {
			return err
		}
		return next(ctx, cmds)
	}
}

// RoundTrip is for http.RoundTripper. The process may die before a call goes
// out, and after the platform has taken it, when its answer reaches nobody.
// Messages to one person are left out of the second, until they are noted: the
// app does not ask for im:history, so it cannot find one again, and sends it
// twice.
func (m *crasher) RoundTrip(r *http.Request) (*http.Response, error) {
	if err := m.step(); err != nil {
		return nil, err
	}
	toPerson := strings.HasSuffix(r.URL.Path, "/chat.postMessage") && strings.HasPrefix(formValue(r, "channel"), "U")
	answer, err := transport.RoundTrip(r)
	if err != nil || toPerson {
		m.keepSafe(err == nil && toPerson)
		return answer, err
	}
	if err := m.step(); err != nil {
		_ = answer.Body.Close()
		return nil, err
	}
	return answer, nil
}

// formValue reads a field of a request and leaves its body as it was.
func formValue(r *http.Request, name string) string {
	if r.Body == nil {
		return ""
	}
	body, _ := io.ReadAll(r.Body)
	r.Body = io.NopCloser(bytes.NewReader(body))
	form, _ := url.ParseQuery(string(body))
	return form.Get(name)
}

// A crashingQueue takes jobs from a crasher.
type crashingQueue struct {
	*crasher
	next jobs.Queue
}

func (q crashingQueue) Enqueue(ctx context.Context, j jobs.Job) error {
	if err := q.step(); err != nil {
		return err
	}
	return q.next.Enqueue(ctx, j)
}

// Forget is for jobs.Queue.
func (q crashingQueue) Forget(ctx context.Context, mine func(string) bool) error {
	if err := q.step(); err != nil {
		return err
	}
	return q.next.Forget(ctx, mine)
}

// what is left behind: how often each message and file stands, and the files.
type leftBehind struct {
	slots map[string]int
	files map[string]string
}

// moments differ where a job had to wait.
var moments = regexp.MustCompile(`\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z|\d{8}T\d{6}Z`)

func (h *testBot) leaves() leftBehind {
	h.t.Helper()
	require.Empty(h.t, h.clock.Failed())
	out := leftBehind{slots: h.slots(), files: map[string]string{}}
	for _, m := range h.ws.Messages(h.channel) {
		for _, id := range m.Files {
			f, _ := h.ws.File(id)
			out.slots["file "+f.Name+" under "+m.ThreadTS]++
		}
	}
	for _, c := range h.ws.Canvases() {
		out.slots["a canvas"]++
		out.files["the canvas"] = c.Markdown
	}
	for range h.ws.Bookmarks(h.channel) {
		out.slots["a bookmark"]++
	}
	k, err := h.bot.Kickoffs.Load(h.t.Context(), h.key())
	h.must(err)
	files, err := report.Files(k)
	h.must(err)
	for _, f := range files {
		out.files[f.Name] = moments.ReplaceAllString(string(f.Data), "then")
	}
	return out
}

// sameAs compares with a calm run. What a name is followed by differs from
// run to run, since messages are numbered by the moment.
func (h *testBot) sameAs(calm leftBehind) {
	h.t.Helper()
	got := h.leaves()
	for slot, n := range got.slots {
		assert.Equal(h.t, 1, n, "%s stands %d times", slot, n)
	}
	names := func(all map[string]int) []string {
		out := slices.Sorted(maps.Keys(all))
		for i, name := range out {
			out[i], _, _ = strings.Cut(name, " under ")
		}
		return out
	}
	assert.Equal(h.t, names(calm.slots), names(got.slots), "messages and files")
	for name, data := range calm.files {
		assert.Equal(h.t, data, got.files[name], "%s differs", name)
	}
}

// undisturbed plays everything with nothing in the way.
func undisturbed(t *testing.T) leftBehind {
	t.Helper()
	h := newTestBot(t, options{})
	h.playOn()
	out := h.leaves()
	require.GreaterOrEqual(t, len(out.slots), 4*scenesPlayed, "a calm run leaves %d messages and %d files", len(out.slots), len(out.files))
	require.GreaterOrEqual(t, len(out.files), 5, "a calm run leaves %d messages and %d files", len(out.slots), len(out.files))
	return out
}

// repeatable reports whether a delivery may come twice. One that opens a form
// may not: its trigger opens one form.
func repeatable(r *http.Request) bool {
	if !strings.HasSuffix(r.URL.Path, "/interactions") {
		return false
	}
	body, err := io.ReadAll(r.Body)
	form, _ := url.ParseQuery(string(body))
	return err == nil && !strings.Contains(form.Get("payload"), `"action_id":"open/`) || strings.Contains(form.Get("payload"), `"view_submission"`)
}

// crashingBot is a testBot that may crash at any step.
func crashingBot(t *testing.T) (*testBot, *crasher) {
	t.Helper()
	m := &crasher{}
	rdb := storetest.Client(t, storetest.Embedded(t))
	rdb.AddHook(m)
	return newTestBot(t, options{rdb: rdb, transport: m, queue: func(next jobs.Queue) jobs.Queue { return crashingQueue{m, next} }}), m
}

// untilThrough lets the process die at the first step of a delivery, at the
// second, and so on, each time with the same delivery sent again.
func (h *testBot) untilThrough(m *crasher, w http.ResponseWriter, again func() *http.Request) {
	for steps := 0; ; steps += crashEvery {
		m.crashAfter(steps, nil)
		answer := httptest.NewRecorder()
		h.front.handler().ServeHTTP(answer, again())
		if !m.revive() {
			h.must(h.bot.Kickoffs.Sweep(h.t.Context()))
			pass(w, answer)
			return
		}
		h.restart()
	}
}

// crashingWork lets the process die at every step of the jobs of each kind, until
// one of them comes through. A job that puts itself off has not: the next run
// of its kind goes on where that one was.
func (h *testBot) crashingWork(m *crasher, steps map[string]int, through map[string]bool) bool {
	for {
		kind, finished := "", false
		ctx, kill := context.WithCancel(h.t.Context())
		did, err := h.clock.Step(ctx, func(ctx context.Context, j jobs.Job) error {
			if kind = jobKind(h.t, j); !through[kind] {
				m.crashAfter(steps[kind], kill)
			}
			err := h.bot.Work(ctx, j)
			finished = err == nil
			return err
		})
		kill()
		if !m.revive() {
			h.must(err)
			through[kind] = through[kind] || finished
			return did
		}
		steps[kind] += crashEvery
		h.restart()
		if did { // it was all but done; what it did not queue is found
			h.must(h.bot.Kickoffs.Sweep(h.t.Context()))
			return true
		}
	}
}

// TestResumes plays the kickoff in bad times. What is left behind is the same
// as in calm ones.
func TestResumes(t *testing.T) {
	t.Parallel()
	calm := undisturbed(t)
	t.Run("after a crash at every step", func(t *testing.T) { crashAtEveryStep(t, calm) })
	t.Run("with everything twice at once", func(t *testing.T) { everythingTwice(t, calm, atOnce) })
	t.Run("with everything twice in turn", func(t *testing.T) { everythingTwice(t, calm, inTurn) })
}

// crashAtEveryStep lets a process die at every step of the first job and
// the first delivery of each kind: at the first step, at the second, and so
// on, until it comes through. A new process then finds the same job in the
// queue, or is sent the same delivery again.
func crashAtEveryStep(t *testing.T, calm leftBehind) {
	h, m := crashingBot(t)
	hasCrashed := map[string]bool{}
	h.front.deliver = func(w http.ResponseWriter, again func() *http.Request) {
		kind := deliveryKind(again())
		if !repeatable(again()) || hasCrashed[kind] {
			h.front.handler().ServeHTTP(w, again())
			return
		}
		hasCrashed[kind] = true
		h.untilThrough(m, w, again)
	}
	steps := map[string]int{}
	h.work = func() bool { return h.crashingWork(m, steps, hasCrashed) }
	h.playOn()
	h.sameAs(calm)
	t.Logf("%d crashes in %d kinds of jobs and deliveries", m.crashes, len(hasCrashed))
	assert.GreaterOrEqual(t, m.crashes, 300/crashEvery, "only %d crashes", m.crashes)
}

func pass(w http.ResponseWriter, answer *httptest.ResponseRecorder) {
	maps.Copy(w.Header(), answer.Header())
	w.WriteHeader(answer.Code)
	_, _ = w.Write(answer.Body.Bytes())
}

var kindPattern = regexp.MustCompile(`"(?:action_id|callback_id)":"([a-z]+/?[a-z]+\.[a-z-]+|rate/[a-z]+)`)

// deliveryKind is what somebody did: the action, or the form that was sent.
func deliveryKind(r *http.Request) string {
	body, _ := io.ReadAll(r.Body)
	form, _ := url.ParseQuery(string(body))
	payload := form.Get("payload")
	if at := strings.Index(payload, `"actions":`); at >= 0 {
		payload = payload[at:]
	}
	if found := kindPattern.FindStringSubmatch(payload); found != nil {
		return r.URL.Path + " " + found[1]
	}
	return r.URL.Path
}

// jobKind is what a job does, and on which screens.
func jobKind(t testing.TB, j jobs.Job) string {
	var w struct {
		Effects []struct {
			Do   string
			Slot struct{ Screen, Arg string }
		}
		Slot struct{ Screen string }
	}
	assert.NoError(t, json.Unmarshal(j.Payload, &w), "read a job")
	kind := j.Kind + " " + w.Slot.Screen
	for _, e := range w.Effects {
		kind += " " + e.Do + "/" + e.Slot.Screen
	}
	return kind
}

// thanks reports whether an answer is the last page of a ballot. It says what was
// rated. The ballot that ends the rating is counted and forgotten with it, so the same
// delivery once more finds nothing left to say, and closes the form.
func thanks(answer *httptest.ResponseRecorder) bool {
	return strings.Contains(answer.Body.String(), "You have answered for")
}

// everythingTwice lets two processes do each job and handle each delivery: at
// the same time, or one after the other, as when the platform repeats a
// delivery whose answer was lost.
func everythingTwice(t *testing.T, calm leftBehind, both func(first, second func())) {
	h := newTestBot(t, options{})
	other, err := bot.New(h.config)
	h.must(err)
	h.front.deliver = func(w http.ResponseWriter, again func() *http.Request) {
		if !repeatable(again()) {
			h.bot.Handler().ServeHTTP(w, again())
			return
		}
		answers := [2]*httptest.ResponseRecorder{httptest.NewRecorder(), httptest.NewRecorder()}
		requests := [2]*http.Request{again(), again()}
		both(func() { h.bot.Handler().ServeHTTP(answers[0], requests[0]) }, func() { other.Handler().ServeHTTP(answers[1], requests[1]) })
		for _, answer := range answers {
			assert.Equal(t, http.StatusOK, answer.Code, "one of two answers: %s", answer.Body)
		}
		if !thanks(answers[0]) && !thanks(answers[1]) {
			assert.Equal(t, answers[1].Body.String(), answers[0].Body.String(), "the same delivery was answered in two ways")
		}
		pass(w, answers[0])
	}
	h.work = func() bool {
		did, err := h.clock.Step(t.Context(), func(ctx context.Context, j jobs.Job) error {
			var errs [2]error
			both(func() { errs[0] = h.bot.Work(ctx, j) }, func() { errs[1] = other.Work(ctx, j) })
			return errors.Join(errs[:]...)
		})
		h.must(err)
		return did
	}
	h.playOn()
	h.sameAs(calm)
}

func atOnce(first, second func()) {
	var both sync.WaitGroup
	both.Go(first)
	both.Go(second)
	both.Wait()
}

func inTurn(first, second func()) {
	first()
	second()
}

// A closedQueue takes nothing while it is closed.
type closedQueue struct {
	next   jobs.Queue
	closed bool
}

var errQueueClosed = errors.New("the queue is out of reach")

func (q *closedQueue) Enqueue(ctx context.Context, j jobs.Job) error {
	if q.closed {
		return errQueueClosed
	}
	return q.next.Enqueue(ctx, j)
}

// Forget is for jobs.Queue.
func (q *closedQueue) Forget(ctx context.Context, mine func(string) bool) error {
	if q.closed {
		return errQueueClosed
	}
	return q.next.Forget(ctx, mine)
}

// TestSweepFindsWhatWasNeverQueued lets the queue be out of reach when
// something is written, and again when it is swept: what should follow comes
// when it is back, and no sooner is it taken for queued.
func TestSweepFindsWhatWasNeverQueued(t *testing.T) {
	t.Parallel()
	q := &closedQueue{}
	h := newTestBot(t, options{queue: func(next jobs.Queue) jobs.Queue { q.next = next; return q }})
	q.closed = true
	h.start("ana", h.channel, "bo")
	require.Empty(t, h.slots(), "without a queue")
	assert.ErrorIs(t, h.bot.Kickoffs.Sweep(t.Context()), errQueueClosed, "sweep without a queue")
	q.closed = false
	for range 2 { // the second finds nothing left to do
		h.must(h.bot.Kickoffs.Sweep(t.Context()))
		h.settle()
		got := h.slots()
		assert.False(t, got["stage/brief"] != 1 || got["desk/@"+h.ids["ana"]] != 1 || len(got) != 2, "after the sweep, got %v", got)
	}
}

// TestChoicesSentAgain makes choices in a tunnel, where none arrives, so that
// they come with the last page of the ballot; whose sending is then cut off
// after every step. Sent again, it brings what was not taken, and nothing of
// it is mistaken for something that was.
func TestChoicesSentAgain(t *testing.T) {
	t.Parallel()
	h, m := crashingBot(t)
	for _, s := range script()[:4] {
		s.play(h)
	}
	h.press("cy", "open/rating.ballot")
	v := h.top("cy")
	h.front.deliver = func(w http.ResponseWriter, _ func() *http.Request) { w.WriteHeader(http.StatusBadGateway) }
	for _, e := range blockkit.Elements(v.Blocks) {
		value := blockkit.Value{Option: map[string]string{"importance": "6", "evidence": "4"}[named(e.ActionID)]}
		err := h.ws.Client.Press(t.Context(), h.ids["cy"], fakeslack.Where{ViewID: v.ID}, e.ActionID, e.BlockID, value)
		require.ErrorIs(t, err, fakeslack.ErrNoAck, "in the tunnel")
	}
	h.front.deliver = func(w http.ResponseWriter, again func() *http.Request) { h.untilThrough(m, w, again) }
	h.send("cy")
	assert.GreaterOrEqual(t, m.crashes, 5/crashEvery, "only %d crashes", m.crashes)
	k, err := h.bot.Kickoffs.Load(t.Context(), h.key())
	h.must(err)
	for _, a := range k.Listed() {
		assert.Equal(t, (state.Marking{Importance: 6, Evidence: 4}), k.Ballot(1, state.UserID(h.ids["cy"]))[a.ID], a.ID)
	}
	_, done := k.Window.Done[state.UserID(h.ids["cy"])]
	assert.True(t, done, "cy has not finished")
}
