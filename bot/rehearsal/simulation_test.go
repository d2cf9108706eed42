package rehearsal

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/report"
	"soundings/flows/state"
)

var (
	oneSeed  = flag.Int("seed", -1, "play this one seed of the simulation, and say what happens")
	allSeeds = flag.Int("seeds", fewSeeds(), "how many seeds of the simulation are played")
	fromSeed = flag.Int("from", 0, "the first seed of the simulation")
)

// fewSeeds is enough to see that it works, and .ci/run plays more; the race detector
// takes ten times as long.
func fewSeeds() int {
	about, _ := debug.ReadBuildInfo()
	if slices.Contains(about.Settings, debug.BuildSetting{Key: "-race", Value: "true"}) {
		return 10
	}
	return 30
}

// mostFailures is how many failing seeds are told before the simulation ends.
const mostFailures = 10

// TestSimulation plays random kickoffs while random things go wrong, on one to
// four processes that share a journal, and looks afterwards whether what is
// promised was kept. A seed always goes the same way:
//
//	go test ./bot/rehearsal -run TestSimulation -seed 1234
func TestSimulation(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(800)) // each play leaves all its garbage behind
	from, to := *fromSeed, *fromSeed+*allSeeds
	if *oneSeed >= 0 {
		from, to = *oneSeed, *oneSeed+1
	}
	store := startStore(t)
	calm := map[uint64]string{}
	failures, struck := 0, map[string]int{}
	for seed := from; seed < to; seed++ {
		if _, known := calm[uint64(seed)/kickoffsOf]; !known {
			s := newSimulation(t, store, uint64(seed), simFaults{processes: 1})
			require.Empty(t, s.run(calm), "the kickoff of seed %d in calm times", seed)
		}
		s := newSimulation(t, store, uint64(seed), randomFaults(uint64(seed)))
		wrong := s.run(calm)
		for what, n := range s.struck {
			struck[what] += n
		}
		if len(wrong) == 0 {
			continue
		}
		t.Errorf("seed %d:\n\t%s\nplay it again with\n\tgo test ./bot/rehearsal -run TestSimulation -seed %d", seed, strings.Join(wrong, "\n\t"), seed)
		if failures++; failures == mostFailures {
			break
		}
	}
	t.Logf("%d seeds, %d of them failed; struck: %v", to-from, failures, struck)
}

// A simulation is a play that goes wrong at random. One thing happens at a time,
// however many processes there are: what they do at once is done by turns, so
// that every run is the same.
type simulation struct {
	*Play
	*rand.Rand
	tb        testing.TB
	seed      uint64
	script    *simScript
	faults    simFaults
	store     *miniredis.Miniredis
	plain     redis.UniversalClient // to which nothing happens
	queue     *simQueue
	processes []*process
	started   []redis.UniversalClient

	calm    bool // nothing goes wrong any more
	depth   int  // of steps in the middle of steps
	reached bool // the stage at which it ends
	out     outage
	sweepAt time.Time // when to look for what was never queued; zero: no need

	copied       *storeCopy
	lost         int                     // how often Redis went back
	unlucky      map[string]state.UserID // the entries that Redis has lost, and whose they were
	endings      int                     // processes that ended
	chatted      map[string]bool
	acknowledged map[string]bool // deliveries
	struck       map[string]int
	unserved     int            // calls of the job at work that the platform did not answer, or refused
	refusals     map[string]int // how often each job with a message of the brief failed by that
	inRow        int            // deliveries that failed one after the other
}

// kickoffsOf is how many seeds have the same kickoff: what it leaves behind in
// calm times need be found out once.
const kickoffsOf = 10

func newSimulation(t *testing.T, store *miniredis.Miniredis, seed uint64, f simFaults) *simulation {
	t.Helper()
	store.FlushAll()
	script := randomScript(seed / kickoffsOf)
	s := &simulation{tb: t, seed: seed, Rand: rand.New(rand.NewPCG(seed, 3)), script: script, faults: f, store: store,
		chatted: map[string]bool{}, acknowledged: map[string]bool{}, unlucky: map[string]state.UserID{}, struck: map[string]int{}, refusals: map[string]int{}}
	s.plain = connect(store)
	s.started = append(s.started, s.plain)
	s.Play = &Play{journal: journal.New(s.plain, journal.Options{})}
	s.cast = &cast{script: script.Scenario, clock: jobs.NewVirtual(script.Starts),
		early: 6 * time.Minute} // two clocks may be four minutes apart, and an answer is tried again
	s.queue = &simQueue{Virtual: s.clock, known: map[string]bool{}, running: map[string]jobs.Job{}}
	s.team = fakeslack.NewTeam(fakeslack.Config{Clock: s.clock.Now, SigningSecret: GuestSigningSecret, EnforceRates: true,
		Faults: f.reordered, Pause: s.wait, AckWithin: 2 * patient, HTTPClient: &http.Client{Transport: deliveries{s}}, URL: "http://platform", BotURL: "http://bot"})
	s.team.OnCall(s.called)
	s.gather()
	for range f.processes {
		s.processes = append(s.processes, s.startProcess())
	}
	return s
}

// chance is one in so many; never where that is zero.
func (s *simulation) chance(oneIn int) bool { return oneIn > 0 && s.IntN(oneIn) == 0 }

// strikes is chance, and notes that something went wrong.
func (s *simulation) strikes(what string, oneIn int) bool {
	hit := s.chance(oneIn)
	if hit {
		s.strike(what)
	}
	return hit
}

// strike counts what went wrong, after which the sweeper has something to do.
func (s *simulation) strike(what string) {
	s.struck[what]++
	s.trouble()
	s.tell("%s", what)
}

// tell says what happens, where one seed is looked at.
func (s *simulation) tell(format string, args ...any) {
	if *oneSeed >= 0 {
		s.tb.Logf(s.clock.Now().Format(time.DateTime)+"  "+format, args...)
	}
}

func (s *simulation) trouble() {
	if s.sweepAt.IsZero() {
		s.sweepAt = s.clock.Now().Add(time.Minute)
	}
}

// one is one of the processes.
func (s *simulation) one() *process { return s.processes[s.IntN(len(s.processes))] }

// revive starts a process in the place of each that has ended.
func (s *simulation) revive() {
	for i, p := range s.processes {
		if p.ended {
			s.endings++
			s.processes[i] = s.startProcess()
			s.trouble()
		}
	}
}

// deliveries carry what people do to one of the processes.
type deliveries struct{ *simulation }

// RoundTrip is for http.RoundTripper.
func (d deliveries) RoundTrip(r *http.Request) (*http.Response, error) {
	s := d.simulation
	s.revive()
	p := s.one()
	p.written = map[string]bool{}
	if s.inRow == mostInRow { // people do not try for ever
		calm := s.calm
		s.calm = true
		defer func() { s.calm = calm }()
	}
	answer, err := s.deliver(p, r)
	if p.ended {
		answer, err = nil, errEnded
	}
	if s.inRow++; err == nil && answer.StatusCode == http.StatusOK {
		s.inRow = 0
	}
	if err == nil && answer.StatusCode == http.StatusOK {
		for delivery := range p.written {
			s.acknowledged[delivery] = true
		}
	}
	if err == nil && answer.StatusCode >= http.StatusInternalServerError {
		s.trouble()
	}
	return answer, err
}

// mostInRow is how many deliveries fail one after the other.
const mostInRow = 4

func formOf(body []byte) url.Values {
	form, _ := url.ParseQuery(string(body))
	return form
}

// meanwhile lets another process do a job in the middle of a step of this one.
func (s *simulation) meanwhile(busy *process) {
	others := slices.DeleteFunc(slices.Clone(s.processes), func(p *process) bool { return p == busy || p.ended })
	due, waits := s.clock.Next()
	if len(others) == 0 || !waits || due.After(s.clock.Now()) {
		return
	}
	s.struck["meanwhile"]++
	s.depth++
	defer func() { s.depth-- }()
	s.workAt(others[s.IntN(len(others))])
}

// workAt has a process do the next job. One that ended leaves it to others,
// once they know.
func (s *simulation) workAt(p *process) {
	var again *jobs.Job
	var ran string
	var forgotten bool
	unserved := s.unserved // by the job in the middle of which this one is done
	s.unserved = 0
	defer func() { s.unserved = unserved }()
	_, err := s.clock.Step(s.tb.Context(), func(ctx context.Context, j jobs.Job) error {
		s.queue.running[j.ID] = j
		err := p.bot.Work(ctx, j)
		if s.unserved > 0 && err != nil && ofTheBrief.MatchString(err.Error()) {
			s.refusals[j.ID]++
		}
		s.tell("job %s: %v", j.ID, err)
		ran = j.ID
		if again, forgotten = s.queue.did(j, err); p.ended {
			return jobs.Retry(errEnded, 10*time.Second)
		}
		return err
	})
	if again != nil {
		s.queue.again(*again)
	}
	if forgotten {
		s.queue.forget(ran)
	}
	require.NoError(s.tb, err)
}

// called sees every call of the Web API.
func (s *simulation) called(c fakeslack.Call) {
	s.stale.Store(true)
	if c.Method != "chat.postMessage" || !c.OK {
		return
	}
	data, _ := c.Args["metadata"].(map[string]any)
	payload, _ := data["event_payload"].(map[string]any)
	slot, _ := payload["slot"].(string)
	stage, ours := strings.CutPrefix(slot, "stage/")
	if !ours {
		return
	}
	stage, _, _ = strings.Cut(stage, "/")
	if s.script.until != "" && s.passed(stage) {
		s.reached = true
	}
	lead := s.actors[0]
	for _, act := range s.script.acts {
		if act.stage == stage && !lead.added["act/"+stage] {
			lead.added["act/"+stage] = true
			s.add(task{at: s.clock.Now().Truncate(time.Minute).Add(act.after), who: lead, what: act.action, do: func(ctx context.Context) error { return s.lead(ctx, act) }})
		}
	}
}

// passed reports whether a stage is the one at which this ends, or comes after.
func (s *simulation) passed(stage string) bool {
	all := state.Stages()
	return slices.Index(all, state.Stage(stage)) >= slices.Index(all, state.Stage(s.script.until))
}

// lead does what the lead does beside the script.
func (s *simulation) lead(ctx context.Context, act leadAct) error {
	a := s.actors[0]
	defer a.close()
	if err := a.pressAsLead(ctx, act.action); err != nil || act.fields == nil {
		return err
	}
	if _, open := a.view(); !open {
		return nil
	}
	return a.fill(ctx, act.fields...)
}

// run plays to the end, and says what was not kept.
func (s *simulation) run(calm map[uint64]string) (wrong []string) {
	defer s.Close()
	defer func() {
		for _, rdb := range s.started {
			_ = rdb.Close()
		}
	}()
	if err := s.play(s.tb.Context()); err != nil {
		wrong = append(wrong, err.Error())
	}
	s.settleDown()
	s.catchUp()
	wrong = append(wrong, s.check()...)
	left, err := s.leaves()
	if err != nil {
		return append(wrong, err.Error())
	}
	kickoff := s.seed / kickoffsOf
	switch want, known := calm[kickoff]; {
	case len(wrong) > 0 || s.lost > 0 || s.script.races() || known && want == left:
	case known:
		wrong = append(wrong, "what it leaves behind differs:\n"+difference(want, left))
	default:
		calm[kickoff] = left
	}
	return wrong
}

// moments differ where something had to wait, and so do days: a window that
// opens a minute later may close after the weekend.
var moments = regexp.MustCompile(`\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d(\.\d+)?Z)?|\pL+day( \d+ \pL+)?( \d{4})?`)

// leaves is what the kickoff leaves behind, as text.
func (s *simulation) leaves() (string, error) {
	s.bot = s.processes[0].bot
	k, found, err := s.newest(s.tb.Context())
	if err != nil || !found {
		return "", err
	}
	files, err := report.LastFiles(k)
	if err != nil {
		return "", err
	}
	text := string(k.Stage) + "\n"
	for _, f := range files {
		if strings.HasSuffix(f.Name, ".ics") {
			continue // how many check-ins fit in depends on the day on which the time box begins
		}
		text += moments.ReplaceAllString(string(f.Data), "then")
	}
	// Sorted, since what two people add at about the same time may come in any order.
	lines := strings.Split(strings.ReplaceAll(text, k.ID, "it"), "\n")
	for i, line := range lines {
		lines[i] = strings.TrimSuffix(line, ",")
	}
	return strings.Join(slices.Sorted(slices.Values(lines)), "\n"), nil
}

// mostTold is how many lines of a difference are told.
const mostTold = 6

// difference is the first of the lines that two sorted texts do not share.
func difference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	var told []string
	for len(told) < mostTold && len(w)+len(g) > 0 {
		switch {
		case len(g) == 0 || len(w) > 0 && w[0] < g[0]:
			told, w = append(told, "\t calm "+w[0]), w[1:]
		case len(w) == 0 || g[0] < w[0]:
			told, g = append(told, "\t here "+g[0]), g[1:]
		default:
			w, g = w[1:], g[1:]
		}
	}
	return strings.Join(told, "\n")
}

// longestSim is how many steps a simulation takes at most; most take a few hundred.
const longestSim = 20_000

// play goes on until the script is done, or the stage has come at which it ends.
func (s *simulation) play(ctx context.Context) error {
	s.addStart(s.script.Starts)
	s.calm = !s.faults.start
	for range longestSim {
		if s.stale.Swap(false) {
			s.look()
		}
		s.revive()
		if s.reached {
			return nil
		}
		if s.faults.loss > 0 && s.copied == nil && s.chance(60) && len(s.authors()) > 0 {
			s.keepCopy(s.tb, storetest.Copy)
		}
		if over, err := s.goOn(ctx); over || err != nil {
			return err
		}
	}
	return errors.New("it did not come to an end")
}

// goOn does whatever comes next: a job, something that a person does, or the
// sweeper's round.
func (s *simulation) goOn(ctx context.Context) (over bool, err error) {
	job, waiting := s.clock.Next()
	next, planned := s.next(func(task) bool { return true }, time.Time{})
	if !s.doneAt.IsZero() && (!waiting || job.After(s.doneAt.Add(lastJobsWithin))) && !planned {
		return true, nil
	}
	first := func(at time.Time) bool { return s.sweepAt.IsZero() || at.Before(s.sweepAt) }
	switch {
	case planned && (!waiting || !job.Before(s.tasks[next].at)) && first(s.tasks[next].at):
		t := s.take(next)
		err := t.do(ctx)
		t.who.close()
		s.tell("%s: %s: %v", t.who.Name, t.what, err)
		if t.what == startsIt {
			s.calm = false
			// A claim without a kickoff gives way after two minutes. Where the kickoff did
			// begin and only the answer was lost, they see it in the channel.
			if err != nil && len(s.authors()) == 0 {
				s.addStart(s.clock.Now().Add(3 * time.Minute))
			}
		}
	case waiting && first(job):
		if job.Sub(s.script.Starts) > longestPlay {
			return true, errors.New("it did not come to an end within a year")
		}
		s.workAt(s.one())
	case !s.sweepAt.IsZero():
		s.clock.Advance(s.sweepAt)
		s.sweep(ctx)
	default:
		return true, errors.New("it came to a halt: nobody has anything left to do")
	}
	return false, nil
}

// sweep is what each process does once a minute; here one of them, where
// something went wrong. The platform tries again what was not acknowledged.
func (s *simulation) sweep(ctx context.Context) {
	s.sweepAt = time.Time{}
	_ = s.team.Outbox.Redeliver(ctx)
	if err := s.one().bot.Kickoffs.Sweep(ctx); err != nil {
		s.trouble()
	}
}

// settleDown lets nothing go wrong any more, and the bot do what is left.
func (s *simulation) settleDown() {
	ctx := s.tb.Context()
	s.calm = true
	s.team.Faults.Set(nil)
	s.revive()
	for range 2 {
		for _, p := range s.processes {
			_ = p.bot.Kickoffs.Sweep(ctx)
		}
		_ = s.team.Outbox.Redeliver(ctx)
		for until := s.clock.Now().Add(15 * time.Minute); ; {
			due, waits := s.clock.Next()
			if !waits || due.After(until) {
				break
			}
			s.workAt(s.one())
		}
	}
}

// holdNothingUp are matters that are welcome until the end, and that nobody waits for.
var holdNothingUp = []string{"open/brief.ask", "open/brief.answer"}

// ofTheBrief are the messages in which they stand, as an error names them.
var ofTheBrief = regexp.MustCompile(`show/(stage/brief|question/\d+) `)

// manyRefusals is how often the platform refuses such a message before it counts as held up
// by it: with the pauses between tries that takes a quarter of an hour.
const manyRefusals = 10

// catchUp has people do at the end what they had no time for: where the platform held up the
// brief or a question for an hour, the stage at which this ends may come before they have
// asked, or answered. What they enter must then stand in the files as in calm times. They
// do it out of hours, since a night later a window may have closed. Where nothing was held
// up by the platform they do nothing, so that an answer that the bot made late is missing.
func (s *simulation) catchUp() {
	heldUp := slices.ContainsFunc(slices.Collect(maps.Values(s.refusals)), func(n int) bool { return n >= manyRefusals })
	for heldUp {
		s.look()
		var left []task
		s.tasks = slices.DeleteFunc(s.tasks, func(t task) bool {
			is := slices.Contains(holdNothingUp, t.matter)
			if is {
				left = append(left, t)
			}
			return is
		})
		if len(left) == 0 {
			return
		}
		for _, t := range left {
			err := t.do(s.tb.Context())
			s.tell("%s: %s, at the end: %v", t.who.Name, t.what, err)
		}
		s.settleDown()
	}
}

// chatter has people write where the bot is about to write, or has just written.
func (s *simulation) chatter(thread string, before bool) {
	if thread == "" && before || s.chatted[thread] {
		return
	}
	s.chatted[thread] = true
	for i := range 210 {
		_, _ = s.team.Client.Say(s.tb.Context(), s.actors[0].id, s.channel, fmt.Sprintf("Talk %d.", i), thread)
	}
}
