package rehearsal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/flows/event"
	"soundings/flows/state"
)

// simFaults say what goes wrong in a simulation. Each is a chance: one in so
// many steps of a process, and never where it is zero.
type simFaults struct {
	processes int
	skew      bool // their clocks differ by up to two minutes
	crash     int  // the process ends
	between   int  // another process does something in the middle of a step
	unheard   int  // Redis does what it is told, and the answer is lost
	repeated  int  // the client sends a command once more
	outage    int  // Redis is away, full, or takes no writes
	loss      int  // Redis goes back to what it held a while ago
	queueToo  bool // and so does the queue
	busy      bool // people write a lot where the bot does
	start     bool // things go wrong also while the kickoff is started

	// Of a call of the Web API, and of a delivery to the bot:
	slow, refused, failed, limited, lost int
	late, cut, unanswered, doubled       int
	reordered                            fakeslack.Faults // events, by the stand-in
}

func randomFaults(seed uint64) simFaults {
	r := rand.New(rand.NewPCG(seed, 2))
	sometimes := func(often, between int) int {
		if r.IntN(often) > 0 {
			return 0
		}
		return between/4 + r.IntN(between)
	}
	f := simFaults{processes: 1 + r.IntN(4), skew: r.IntN(4) == 0,
		crash: sometimes(2, 200), between: sometimes(2, 40), unheard: sometimes(3, 120), repeated: sometimes(3, 60),
		outage: sometimes(3, 400), loss: sometimes(4, 1500), queueToo: r.IntN(4) > 0, busy: r.IntN(6) == 0, start: r.IntN(20) == 0}
	for _, often := range []*int{&f.slow, &f.refused, &f.failed, &f.limited, &f.lost, &f.late, &f.cut, &f.unanswered, &f.doubled} {
		*often = sometimes(4, 30)
	}
	if f.busy {
		f.lost = 2 + r.IntN(6)
	}
	if r.IntN(4) == 0 {
		f.reordered = fakeslack.Faults{"reordered": {Every: 2}}
	}
	return f
}

// A process is a bot of its own beside others on the same Redis. It may end at
// each of its steps: a command to Redis, a call of the Web API, a job for the
// queue. Nothing that it does afterwards reaches anybody.
type process struct {
	s       *simulation
	bot     *bot.Bot
	handler http.Handler
	skew    time.Duration
	ended   bool

	written map[string]bool // deliveries that were written down since the last look
}

var errEnded = errors.New("the process has ended")

// startProcess begins a process anew: it knows nothing.
func (s *simulation) startProcess() *process {
	p := &process{s: s, written: map[string]bool{}}
	if s.faults.skew {
		p.skew = time.Duration(s.IntN(241)-120) * time.Second
	}
	rdb := connect(s.store)
	rdb.AddHook(p)
	var err error
	p.bot, err = bot.New(bot.Config{
		Journal: journal.New(rdb, journal.Options{}), Queue: &processQueue{p}, Chat: chat.New(GuestBotToken, "http://platform/api/", &http.Client{Transport: p}),
		Clock: func() time.Time { return s.clock.Now().Add(p.skew) }, Secret: GuestSigningSecret, Lookups: 1, AnswerWithin: patient,
	})
	if err != nil {
		panic(fmt.Sprintf("start a process: %v", err))
	}
	p.handler = p.bot.Handler()
	s.started = append(s.started, rdb)
	return p
}

// step is before whatever reaches outside of the process, and after it.
func (p *process) step() error {
	s := p.s
	if p.ended {
		return errEnded
	}
	if s.calm {
		return nil
	}
	if s.strikes("crash", s.faults.crash) {
		p.ended = true
		return errEnded
	}
	if s.depth == 0 && s.chance(s.faults.between) {
		s.meanwhile(p)
	}
	if s.chance(s.faults.loss) {
		s.lose()
	}
	return nil
}

// DialHook is for redis.Hook.
func (p *process) DialHook(next redis.DialHook) redis.DialHook { return next }

// ProcessHook is for redis.Hook.
func (p *process) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		return p.command(ctx, []redis.Cmder{cmd}, func() error { return next(ctx, cmd) })
	}
}

// ProcessPipelineHook is for redis.Hook.
func (p *process) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		return p.command(ctx, cmds, func() error { return next(ctx, cmds) })
	}
}

// command is what becomes of something that a process asks of Redis.
func (p *process) command(_ context.Context, cmds []redis.Cmder, do func() error) error {
	fail := func(err error) error {
		for _, cmd := range cmds {
			cmd.SetErr(err)
		}
		return err
	}
	s := p.s
	if err := p.step(); err != nil {
		return fail(err)
	}
	if err := s.outage(cmds); err != nil {
		return fail(err)
	}
	s.store.SetTime(s.clock.Now())
	if !s.calm && len(cmds) == 1 && repeatable(cmds[0]) && s.strikes("repeated", s.faults.repeated) {
		_ = do() // its answer is lost, and the client asks again
	}
	err := do()
	if err == nil {
		p.note(cmds)
	}
	if !s.calm && s.strikes("unheard", s.faults.unheard) {
		return fail(errUnheard)
	}
	if failed := p.step(); failed != nil {
		return fail(failed)
	}
	return err
}

var errUnheard = &simNetError{"the connection was cut before the answer"}

// A simNetError is what the client reports where the network fails.
type simNetError struct{ text string }

func (e *simNetError) Error() string { return e.text }

// repeatable is what the client sends again by itself.
func repeatable(cmd redis.Cmder) bool { return cmd.Name() != "script" }

// note remembers which deliveries a process has written down.
func (p *process) note(cmds []redis.Cmder) {
	for _, cmd := range cmds {
		answer, ok := cmd.(*redis.Cmd)
		if !ok || !strings.HasPrefix(cmd.Name(), "evalsha") {
			continue
		}
		numbers, err := answer.Int64Slice()
		for i, arg := range cmd.Args() {
			name, is := arg.(string)
			if delivery, of := strings.CutPrefix(name, "delivery/"); is && of && err == nil {
				// script, count, three keys and the attempt come first; then eight of each entry
				if at := 2 * ((i - 7) / 8); at < len(numbers) && numbers[at] == 0 {
					p.written[delivery] = true
				}
			}
		}
	}
}

// An outage of Redis lasts for a while, less than people keep trying.
type outage struct {
	until time.Time
	left  int // commands
	says  string
	reads bool // goes on answering what only reads
}

var outages = []outage{
	{says: "dial tcp: connection refused"},
	{says: "LOADING Redis is loading the dataset in memory"},
	{says: "OOM command not allowed when used memory > 'maxmemory'.", reads: true},
	{says: "READONLY You can't write against a read only replica.", reads: true},
	{says: "MISCONF Redis is configured to save RDB snapshots, but it's currently unable to persist to disk.", reads: true},
}

// onlyReads are the commands that a Redis answers which takes no writes.
var onlyReads = map[string]bool{"xread": true, "exists": true, "hget": true, "hmget": true, "hgetall": true, "smembers": true, "sismember": true, "xinfo": true, "ping": true}

// outage is Redis refusing to do what it is asked.
func (s *simulation) outage(cmds []redis.Cmder) error {
	now := s.clock.Now()
	if !s.calm && s.strikes("outage", s.faults.outage) {
		s.out = outages[s.IntN(len(outages))]
		s.out.left, s.out.until = 1+s.IntN(40), now.Add(time.Duration(1+s.IntN(50))*time.Second)
	}
	if s.calm || s.out.left == 0 || now.After(s.out.until) {
		return nil
	}
	if s.out.reads && !slices.ContainsFunc(cmds, func(c redis.Cmder) bool { return !onlyReads[c.Name()] }) {
		return nil
	}
	s.out.left--
	return &simNetError{s.out.says}
}

// RoundTrip is for http.RoundTripper: a call of the Web API.
func (p *process) RoundTrip(r *http.Request) (*http.Response, error) {
	if err := p.step(); err != nil {
		return nil, err
	}
	s := p.s
	posts := strings.HasSuffix(r.URL.Path, "/chat.postMessage")
	var body []byte
	if posts && s.faults.busy && !s.calm {
		body, _ = io.ReadAll(r.Body)
		r.Body = io.NopCloser(bytes.NewReader(body))
		s.chatter(formOf(body).Get("thread_ts"), true)
	}
	answer, err := s.call(r)
	if err != nil || answer.StatusCode != http.StatusOK {
		s.unserved++
	}
	if body != nil && err != nil {
		s.chatter(formOf(body).Get("thread_ts"), false)
	}
	if err != nil {
		return nil, err
	}
	if err := p.step(); err != nil {
		return nil, err
	}
	return answer, nil
}

// call is what becomes of a call on its way to the platform and back.
func (s *simulation) call(r *http.Request) (*http.Response, error) {
	answered := func(status int, after time.Duration) *http.Response {
		w := httptest.NewRecorder()
		w.Header().Set("Retry-After", fmt.Sprint(int(after.Seconds())))
		w.WriteHeader(status)
		return w.Result()
	}
	switch {
	case s.calm:
	case s.strikes("slow", s.faults.slow):
		s.wait(time.Duration(1+s.IntN(9)) * time.Second)
	case s.strikes("refused", s.faults.refused):
		return nil, errCut
	case s.strikes("failed", s.faults.failed):
		return answered(http.StatusServiceUnavailable, 0), nil
	case s.strikes("limited", s.faults.limited):
		return answered(http.StatusTooManyRequests, time.Duration(1+s.IntN(30))*time.Second), nil
	case s.strikes("lost", s.faults.lost):
		_, _ = direct(s.team.Handler(), r)
		return nil, errCut
	}
	return direct(s.team.Handler(), r)
}

var errCut = &simNetError{"the connection was cut"}

// deliver is what becomes of a delivery on its way to a process and back.
func (s *simulation) deliver(p *process, r *http.Request) (*http.Response, error) {
	body, _ := io.ReadAll(r.Body)
	send := func() (*http.Response, error) {
		again := r.Clone(r.Context())
		again.Body = io.NopCloser(bytes.NewReader(body))
		return direct(p.handler, again)
	}
	switch {
	case s.calm:
	case s.strikes("late", s.faults.late):
		s.wait(time.Duration(1+s.IntN(20)) * time.Second)
	case s.strikes("cut", s.faults.cut):
		return nil, errCut
	case s.strikes("unanswered", s.faults.unanswered):
		_, _ = send()
		return nil, errCut
	case s.strikes("doubled", s.faults.doubled):
		first, err := send()
		other := s.one()
		other.written = map[string]bool{}
		again := r.Clone(r.Context())
		again.Body = io.NopCloser(bytes.NewReader(body))
		if !opensForm(body) { // whose trigger opens one
			_, _ = direct(other.handler, again)
		}
		return first, err
	}
	return send()
}

// opensForm reports whether a delivery opens a form.
func opensForm(body []byte) bool {
	payload := formOf(body).Get("payload")
	return strings.Contains(payload, `"action_id":"open/`) && !strings.Contains(payload, `"view_submission"`) || formOf(body).Get("command") != ""
}

// direct has a handler answer where it is asked. A handler that ends the
// connection gives no answer.
func direct(h http.Handler, r *http.Request) (answer *http.Response, err error) {
	if r.Body == nil {
		r.Body = http.NoBody
	}
	r.RequestURI = r.URL.RequestURI()
	w := httptest.NewRecorder()
	defer func() {
		if x := recover(); x != nil {
			if x != http.ErrAbortHandler {
				panic(x)
			}
			answer, err = nil, io.ErrUnexpectedEOF
		}
	}()
	h.ServeHTTP(w, r)
	return w.Result(), nil
}

// A processQueue takes jobs from a process.
type processQueue struct{ *process }

// Enqueue is for jobs.Queue.
func (q *processQueue) Enqueue(ctx context.Context, j jobs.Job) error {
	if err := q.step(); err != nil {
		return err
	}
	if err := q.s.queue.Enqueue(ctx, j); err != nil {
		return err
	}
	return q.step()
}

// Forget is for jobs.Queue.
func (q *processQueue) Forget(ctx context.Context, mine func(string) bool) error {
	if err := q.step(); err != nil {
		return err
	}
	return q.s.queue.Forget(ctx, mine)
}

// A simQueue is a queue that can go back to what it held.
type simQueue struct {
	*jobs.Virtual
	known    map[string]bool     // ever taken
	taken    map[string]bool     // since the copy, and not before
	finished map[string]jobs.Job // since the copy, of those that were there before
	running  map[string]jobs.Job
	orphaned map[string]bool // running when the queue forgot them
}

func (q *simQueue) Enqueue(ctx context.Context, j jobs.Job) error {
	if q.taken != nil && !q.known[j.ID] {
		q.taken[j.ID] = true
	}
	q.known[j.ID] = true
	return q.Virtual.Enqueue(ctx, j)
}

// copy is where rewind goes back to.
func (q *simQueue) copy() { q.taken, q.finished = map[string]bool{}, map[string]jobs.Job{} }

// did notes that a job has run. One that was rewound meanwhile is to wait again; one
// that the queue has forgotten meanwhile stays forgotten.
func (q *simQueue) did(j jobs.Job, err error) (again *jobs.Job, forgotten bool) {
	_, is := q.running[j.ID]
	delete(q.running, j.ID)
	if q.orphaned[j.ID] {
		delete(q.orphaned, j.ID)
		return nil, true
	}
	if !is {
		return &j, false
	}
	if err == nil && q.taken != nil && !q.taken[j.ID] {
		q.finished[j.ID] = j
	}
	return nil, false
}

func (q *simQueue) forget(id string) {
	_ = q.Forget(context.Background(), func(other string) bool { return other == id })
}

func (q *simQueue) again(j jobs.Job) {
	q.forget(j.ID)
	_ = q.Virtual.Enqueue(context.Background(), j)
}

func (q *simQueue) rewind(ctx context.Context) {
	_ = q.Forget(ctx, func(id string) bool { return q.taken[id] })
	for _, id := range slices.Sorted(maps.Keys(q.finished)) {
		q.again(q.finished[id])
	}
	q.orphaned = map[string]bool{}
	for id := range q.running {
		if q.taken[id] {
			q.orphaned[id] = true
		} else {
			delete(q.running, id)
		}
	}
	q.taken, q.finished = nil, nil
}

// A storeCopy is what Redis held at a moment.
type storeCopy struct {
	restore func()
	ended   int // processes that had ended by then
}

// keepCopy keeps what Redis holds, so that it can be lost what comes after.
func (s *simulation) keepCopy(tb testing.TB, of func(testing.TB, redis.UniversalClient, ...string) func()) {
	s.copied = &storeCopy{restore: of(tb, s.plain), ended: s.endings}
	s.queue.copy()
}

// lose lets Redis go back to what was copied.
func (s *simulation) lose() {
	if s.copied == nil || s.lost > 0 {
		return
	}
	s.strike("loss")
	s.lost++
	before := s.authors()
	s.copied.restore()
	after := s.authors()
	for entry, by := range before {
		if _, stands := after[entry]; !stands && by != "" && len(after) > 0 {
			s.unlucky[entry] = by
		}
	}
	if s.faults.queueToo {
		s.queue.rewind(context.Background())
	}
	s.trouble()
}

// authors are who wrote each entry there is.
func (s *simulation) authors() map[string]state.UserID {
	all := map[string]state.UserID{}
	for _, records := range s.records() {
		for entry, r := range records {
			all[entry] = r.By
		}
	}
	return all
}

// records are the entries of each kickoff, by number and digest.
func (s *simulation) records() []map[string]event.Record {
	var all []map[string]event.Record
	keys, err := s.journal.Index.All(s.tb.Context(), s.team.TeamID())
	require.NoError(s.tb, err)
	for _, key := range keys {
		entries, err := s.journal.Read(s.tb.Context(), key, journal.Position{})
		require.NoError(s.tb, err)
		records := map[string]event.Record{}
		for _, e := range entries {
			var r event.Record
			require.NoError(s.tb, r.UnmarshalJSON(e.Data))
			records[fmt.Sprint(key.Kickoff, e.Position())] = r
		}
		all = append(all, records)
	}
	return all
}
