package flows

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// Transcripts are kickoffs told step by step, for people who do not read Go:
// testdata/flows/README.md says how to read them. go test ./flows -rewrite
// writes down what happens now; read that diff as code.
func TestTranscripts(t *testing.T) {
	files, err := filepath.Glob("../testdata/flows/*.txt")
	require.NoError(t, err, "no transcripts found")
	require.NotEmpty(t, files, "no transcripts found")
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			s := &script{world: newWorld()}
			s.posts = true
			datadriven.RunTest(t, file, s.run)
			holdFolds(t, s.journal)
		})
	}
}

// TestTranscriptsShowEveryKind finds events that no transcript shows: a rule
// that nobody can read about.
func TestTranscriptsShowEveryKind(t *testing.T) {
	files, err := filepath.Glob("../testdata/flows/*.txt")
	require.NoError(t, err, "no transcripts found")
	require.NotEmpty(t, files, "no transcripts found")
	var all strings.Builder
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		all.Write(data)
	}
	for _, kind := range event.Kinds() {
		assert.False(t, !strings.Contains(all.String(), "\n  "+kind) && kind != event.KindOf(event.MessagePosted{}), "no transcript shows the event %q", kind)
	}
}

// A script plays one transcript.
type script struct {
	*world
	cast []state.Person
}

// run does one step of a transcript and tells what followed.
func (s *script) run(t *testing.T, d *datadriven.TestData) string {
	t.Helper()
	switch d.Cmd {
	case "cast":
		return s.setCast(t, d.Input)
	case "given":
		return s.given(t, newLine(d.Cmd, d.CmdArgs, d.Input))
	case "quietly":
		return s.quietly(t, d.Input)
	}
	l := newLine(d.Cmd, d.CmdArgs, d.Input)
	var out strings.Builder
	if err := s.step(t, l, &out); err != nil {
		fmt.Fprintln(&out, refusal(t, err))
	}
	if out.Len() == 0 {
		return "nothing follows"
	}
	return out.String()
}

// step does one command and writes what followed, unless out is nil.
func (s *script) step(t *testing.T, l line, out *strings.Builder) error {
	t.Helper()
	from, before := len(s.journal), s.k
	switch l.who {
	case "wait":
		s.until(t, s.now.Add(duration(t, l.what)))
	case "until":
		s.until(t, moment(t, l.what))
	case "wake":
		s.until(t, NextWake(&s.k))
	case "sleep":
		s.now = s.now.Add(duration(t, l.what))
		return nil
	case "tick":
		_, err := s.do(Tick{})
		require.NoError(t, err)
	case "state":
		out.WriteString(printState(&s.k, s.now))
		return nil
	case "show":
		out.WriteString(s.show(t, l))
		return nil
	case "channel":
		_, err := s.do(MoveChannel{To: l.what})
		require.NoError(t, err)
	default:
		for _, in := range s.intents(t, l) {
			if _, err := s.do(in); err != nil {
				s.tell(from, before, out)
				return err
			}
		}
	}
	s.tell(from, before, out)
	return nil
}

func (s *script) until(t *testing.T, at time.Time) {
	t.Helper()
	require.False(t, at.IsZero(), "the kickoff asks for no wake")
	_, err := s.wakeUntil(at)
	require.NoError(t, err)
}

// tell writes the records that followed on the state before, but for messages
// being posted.
func (s *script) tell(from int, before state.Kickoff, out *strings.Builder) {
	if out == nil {
		return
	}
	for i, r := range s.journal[from:] {
		woken := NextWake(&before)
		before = Apply(before, int64(from+i+1), r)
		if !onlyBookkeeping(r.Events) {
			printRecord(out, r, React(before, r), woken)
		}
	}
}

// refusal is the sentence that a person reads; anything else is a fault.
func refusal(t *testing.T, err error) string {
	t.Helper()
	var r *Refusal
	require.ErrorAs(t, err, &r, err)
	if r.Field != "" {
		return fmt.Sprintf("refused at %s: %s", r.Field, r.Reason)
	}
	return "refused: " + r.Reason
}

// setCast names the people: one a line, with their time zone, or “?” where the
// shell is still to find out who they are.
func (s *script) setCast(t *testing.T, input string) string {
	for _, row := range strings.Split(input, "\n") {
		name, zone, ok := strings.Cut(strings.TrimSpace(row), " ")
		require.True(t, ok, "%q is no name with a time zone", row)
		p := person(line{opts: map[string][]string{"person": {name}, "zone": {strings.TrimSpace(zone)}}})
		if p.Zone == "?" {
			p = state.Person{ID: p.ID, Sought: true}
		}
		s.cast = append(s.cast, p)
	}
	return fmt.Sprintf("%d people", len(s.cast))
}

// quietly does commands, one a line, of which none may be refused.
func (s *script) quietly(t *testing.T, input string) string {
	t.Helper()
	for _, row := range strings.Split(input, "\n") {
		s.quiet(t, row)
	}
	return fmt.Sprintf("now %s, stage %s, %s", clock(s.now), StageArg(s.k.Stage, s.k.Window.Round), s.k.Window.Phase)
}

func (s *script) quiet(t *testing.T, row string) {
	t.Helper()
	l, err := parseLine(row)
	require.NoError(t, err)
	if l.who == "cast" {
		s.setCast(t, l.text)
		return
	}
	require.NoError(t, s.step(t, l, nil), row)
}

// given begins where the usual kickoff stands at the stage named; with the
// word settling, where the lead settles it.
func (s *script) given(t *testing.T, l line) string {
	t.Helper()
	s.world = usual(t, l.what)
	return fmt.Sprintf("now %s, stage %s, %s", clock(s.now), StageArg(s.k.Stage, s.k.Window.Round), s.k.Window.Phase)
}

// usual is the usual kickoff at a stage.
func usual(t *testing.T, stage string) *world {
	t.Helper()
	usualKickoff.play.Do(func() { usualKickoff.at = playUsual(t) })
	w, ok := usualKickoff.at[stage]
	require.True(t, ok, "the usual kickoff does not come to %q", stage)
	w.journal = slices.Clone(w.journal)
	return &w
}

// The usual kickoff is played once; nothing changes its states.
var usualKickoff struct {
	play sync.Once
	at   map[string]world
}

func playUsual(t *testing.T) map[string]world {
	t.Helper()
	s, at := &script{world: newWorld()}, map[string]world{}
	s.posts = true
	for _, row := range scriptLines(t, "../testdata/flows/usual.script") {
		s.quiet(t, row)
		stage := StageArg(s.k.Stage, s.k.Window.Round)
		if s.k.Window.Phase == state.PhaseSettling {
			stage += " settling"
		}
		if _, known := at[stage]; !known {
			w := *s.world
			w.journal = slices.Clone(w.journal)
			at[stage] = w
		}
	}
	return at
}

// scriptLines reads the commands of a script; lines that begin with # are not.
func scriptLines(t *testing.T, file string) []string {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	var rows []string
	for row := range strings.Lines(string(data)) {
		if row = strings.TrimSpace(row); row != "" && !strings.HasPrefix(row, "#") {
			rows = append(rows, row)
		}
	}
	return rows
}

// ViewsToShow are what package views, which imports this one, reads off a
// state; an external test fills them in.
var ViewsToShow = map[string]func(state.Kickoff) any{}

// show writes a part of the state as it is kept, or what is read off it.
func (s *script) show(t *testing.T, l line) string {
	t.Helper()
	parts := map[string]any{"brief": s.k.Brief, "framing": s.k.Framing, "roles": s.k.Roles, "assumptions": s.k.Assumptions, "tidying": s.k.Tidying,
		"reasons": s.k.Reasons, "backlog": s.k.Backlog, "foresight": struct{ Tests map[int]state.Foresight }{s.k.Foresight}, "timebox": s.k.Timebox, "actions": s.k.Actions, "summary": s.k.Summary, "underway": s.k.Underway,
		"left out": struct{ Stages []state.Stage }{s.k.LeftOut}, "people": s.k.People, "past": s.k.Past, "seen": s.k.Seen, "extras": s.k.Extras}
	part, ok := parts[l.what]
	if view, is := ViewsToShow[l.what]; is {
		part, ok = view(s.k), true
	}
	require.True(t, ok, "there is no part %q to show", l.what)
	return tree(part)
}

func duration(t *testing.T, s string) time.Duration {
	t.Helper()
	d, err := time.ParseDuration(s)
	require.NoError(t, err)
	return d
}

func moment(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02T15:04Z", s)
	require.NoError(t, err)
	return at
}
