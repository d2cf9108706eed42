package prompts

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A Tally is how many of how many passed.
type Tally struct {
	Name   string `json:"name"` // of a check, or of a line of the sheet
	Passed int    `json:"passed"`
	Of     int    `json:"of"`
}

// A Report is how a model did on a sheet.
type Report struct {
	Host       string `json:"host"`
	Model      string `json:"model"`
	Statements int    `json:"statements"` // on the sheet
	Tried      int    `json:"tried"`      // how many of them the model was asked about, to the end

	AtOnce  int `json:"at_once"`  // all four wordings of the first answer passed every check
	Second  int `json:"second"`   // those of the second did
	NoDraft int `json:"no_draft"` // neither did, or the model declined
	Lost    int `json:"lost"`     // no answer came: busy, cut off, too slow

	// First counts by check what passed in first answers, so that a weak spot
	// shows before the second attempt hides it: by statement for the shape of
	// the answer, by wording for all others.
	First []Tally `json:"first"`

	// Shown counts by line of the sheet what people would have got to see, by
	// wording.
	Shown []Tally `json:"shown"`

	Usage Usage `json:"usage"` // of all statements together
}

// The lines of a sheet, as they are counted.
const (
	keptBroader   = "broader keeps"
	neverBroader  = "broader never"
	keptNarrower  = "narrower keeps"
	neverNarrower = "narrower never"
)

// longestPatient is the longest wait that is granted to a busy server.
const longestPatient = time.Minute

// ErrSpent says that a sheet took as many calls as it may.
var ErrSpent = errors.New("the calls that the sheet may make are spent")

// callsForOne is how many requests one statement takes at most: three, once
// more where the server is busy.
const callsForOne = 6

// Calls is how many requests a sheet makes: one for each statement if all goes
// well, two where each needs another attempt, and some to spare. A server that
// is busy again and again spends them sooner; then the sheet stops.
func (s Sheet) Calls() (least, most int) {
	n := len(s.Statements)
	return n, 2*n + callsForOne
}

// RunSheet asks for drafts around each statement of a sheet, one after the
// other, and counts what passes; progress, if any, hears of each as it is
// done. It stops with an error when going on makes no sense (see [ErrOff],
// [ErrUnauthorized], [ErrNoModel], [ErrRejected]), when the calls are spent
// ([ErrSpent]), or when the context ends; the report then holds what came
// before. A server that is busy is given the time it asks for, up to a minute,
// once for each statement.
func RunSheet(ctx context.Context, c *Client, s Sheet, progress func(Report)) (Report, error) {
	r := newReport(c, s)
	_, most := s.Calls()
	for _, st := range s.Statements {
		if r.Usage.Calls+callsForOne > most {
			return r, fmt.Errorf("quality sheet, statement %q: %w", st.ID, ErrSpent)
		}
		drafts, way, err := patiently(ctx, c, st.input())
		r.Usage.add(way.usage)
		if givesUp(ctx, err) {
			return r, fmt.Errorf("quality sheet, statement %q: %w", st.ID, err)
		}
		r.Tried++
		r.count(way, err)
		for _, d := range drafts {
			r.countShown(st, d)
		}
		if progress != nil {
			progress(r)
		}
	}
	return r, nil
}

func newReport(c *Client, s Sheet) Report {
	r := Report{Host: c.Host(), Model: c.Model(), Statements: len(s.Statements)}
	for _, check := range Checks() {
		if check.ofLadders() {
			r.First = append(r.First, Tally{Name: string(check)})
		}
	}
	for _, name := range []string{keptBroader, neverBroader, keptNarrower, neverNarrower} {
		r.Shown = append(r.Shown, Tally{Name: name})
	}
	return r
}

// patiently asks, and once more when a busy server has had its time.
func patiently(ctx context.Context, c *Client, in LadderInput) ([]Draft, course, error) {
	drafts, way, err := run(ctx, c, in.job())
	var busy *Limited
	if !errors.As(err, &busy) || busy.RetryAfter > longestPatient {
		return drafts, way, err
	}
	timer := time.NewTimer(busy.RetryAfter)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return nil, way, fmt.Errorf("waiting for a busy model server: %w", ctx.Err())
	case <-timer.C:
	}
	drafts, again, err := run(ctx, c, in.job())
	again.usage.add(way.usage)
	return drafts, again, err
}

func givesUp(ctx context.Context, err error) bool {
	return err != nil && ctx.Err() != nil || errors.Is(err, ErrOff) || errors.Is(err, ErrUnauthorized) ||
		errors.Is(err, ErrNoModel) || errors.Is(err, ErrRejected)
}

func (r *Report) count(way course, err error) {
	switch {
	case err == nil && !way.usage.Repaired:
		r.AtOnce++
	case err == nil:
		r.Second++
	case errors.Is(err, ErrNoDraft):
		r.NoDraft++
	default:
		r.Lost++
	}
	if way.judged {
		r.countFirst(way.first)
	}
}

// countFirst counts the checks on one first answer.
func (r *Report) countFirst(faults []Fault) {
	broken := slices.ContainsFunc(faults, func(f Fault) bool { return f.Check == CheckShape })
	for i := range r.First {
		t, of := &r.First[i], len(rungs())
		if t.Name == string(CheckShape) {
			of = 1
		} else if broken {
			continue
		} else if t.Name != string(CheckLevels) {
			of -= failing(faults, CheckLevels)
		}
		t.Of += of
		t.Passed += max(of-failing(faults, Check(t.Name)), 0)
	}
}

// failing counts the rungs on which a check failed.
func failing(faults []Fault, check Check) int {
	var where []string
	for _, f := range faults {
		if f.Check == check && !slices.Contains(where, f.Where) {
			where = append(where, f.Where)
		}
	}
	return len(where)
}

func (r *Report) countShown(st SheetStatement, d Draft) {
	kept, never := keptBroader, neverBroader
	if d.Level < 0 {
		kept, never = keptNarrower, neverNarrower
	}
	side := st.side(d.Level)
	for i := range r.Shown {
		switch t := &r.Shown[i]; t.Name {
		case kept:
			t.add(side.keeps(d.Text))
		case never:
			t.add(side.avoids(d.Text))
		}
	}
}

func (t *Tally) add(passed bool) {
	t.Of++
	if passed {
		t.Passed++
	}
}

func (u *Usage) add(more Usage) {
	u.Calls += more.Calls
	u.PromptTokens += more.PromptTokens
	u.CompletionTokens += more.CompletionTokens
	u.Cost += more.Cost
	u.Repaired = u.Repaired || more.Repaired
}

// costText is empty where no prices were given.
func costText(cost float64) string {
	if cost == 0 {
		return ""
	}
	return fmt.Sprintf(", which cost %.4f", cost)
}

// String prints the report in plain lines, for a terminal.
func (r Report) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Model %s at %s, %d of %d statements\n\n", r.Model, r.Host, r.Tried, r.Statements)
	fmt.Fprintf(&b, "Four good wordings   at once %d, at the second attempt %d, none %d, no answer %d\n", r.AtOnce, r.Second, r.NoDraft, r.Lost)
	fmt.Fprintf(&b, "Requests             %d, tokens %d in and %d out%s\n", r.Usage.Calls, r.Usage.PromptTokens, r.Usage.CompletionTokens, costText(r.Usage.Cost))
	b.WriteString("\nFirst answers, by check\n")
	printTallies(&b, r.First)
	b.WriteString("\nWordings that people would see, by line of the sheet\n")
	printTallies(&b, r.Shown)
	return b.String()
}

func printTallies(b *strings.Builder, tallies []Tally) {
	for _, t := range tallies {
		fmt.Fprintf(b, "  %-18s %3d of %d\n", t.Name, t.Passed, t.Of)
	}
}
