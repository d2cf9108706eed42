package prompts

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A Sheet is problem statements by which to judge how well a model drafts.
type Sheet struct{ Statements []SheetStatement }

// A SheetStatement is one problem statement, and what good rungs around it
// are like. The sheet has more, for people and for tests.
type SheetStatement struct {
	ID       string
	Problem  string
	WhyNow   string `yaml:"why_now"`
	Broader  SheetSide
	Narrower SheetSide
	Good     map[string]string // by field of the answer, such as "broader_1": wordings of ours
}

// A SheetSide is what the rungs on one side, up or down, must keep and must
// not do.
type SheetSide struct {
	Keep  [][]string // a word of each line, or one that starts with it
	Never []string   // none of these, nor a plural in -s
}

// OwnSheet is the sheet that comes with the program: twenty statements from
// varied trades, all invented.
func OwnSheet() Sheet { return embeddedYAML[Sheet]("quality.yaml") }

func (s SheetStatement) input() Input {
	return Input{Kind: Ladder, Problem: s.Problem, WhyNow: s.WhyNow}
}

// keeps tells whether a text has a word of each line that it is to keep.
func (s SheetSide) keeps(text string) bool {
	said := clauses(text)
	return !slices.ContainsFunc(s.Keep, func(line []string) bool {
		return !slices.ContainsFunc(line, func(w string) bool { return strings.Contains(said, wanted(w+"*")) })
	})
}

// avoids tells whether a text has none of the words that it must not have.
func (s SheetSide) avoids(text string) bool {
	said := clauses(text)
	return !slices.ContainsFunc(s.Never, func(w string) bool {
		return strings.Contains(said, wanted(w)) || strings.Contains(said, wanted(w+"s"))
	})
}

// A Tally is how many of how many passed.
type Tally struct {
	Name   string `json:"name"` // of a check, or of a line of the sheet
	Passed int    `json:"passed"`
	Of     int    `json:"of"`
}

func (t *Tally) add(passed bool) {
	t.Of++
	if passed {
		t.Passed++
	}
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

// longestPatience is the longest wait that is granted to a busy server.
const longestPatience = time.Minute

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

// lasting are the errors after which the rest of a sheet is not asked.
var lasting = []error{ErrUnauthorized, ErrNoModel, ErrRejected}

// RunSheet asks for drafts around each statement of a sheet, one after the
// other, and counts what passes; progress, if any, hears of each as it is
// done. It stops with an error when going on makes no sense (see
// [ErrUnauthorized], [ErrNoModel], [ErrRejected]), when the calls are spent
// ([ErrSpent]), or when the context ends; the report then holds what came
// before. A server that is busy is given the time it asks for, up to a minute,
// once for each statement.
func RunSheet(ctx context.Context, c *Client, s Sheet, progress func(Report)) (Report, error) {
	r := Report{Host: c.Host(), Model: c.Model(), Statements: len(s.Statements),
		Shown: []Tally{{Name: "broader keeps"}, {Name: "broader never"}, {Name: "narrower keeps"}, {Name: "narrower never"}}}
	for _, check := range checks {
		if check.ladders {
			r.First = append(r.First, Tally{Name: string(check.name)})
		}
	}
	_, most := s.Calls()
	for _, st := range s.Statements {
		if r.Usage.Calls+callsForOne > most {
			return r, fmt.Errorf("quality sheet, statement %q: %w", st.ID, ErrSpent)
		}
		texts, first, err := c.patiently(ctx, st.input(), &r.Usage)
		if err != nil && (ctx.Err() != nil || slices.ContainsFunc(lasting, func(e error) bool { return errors.Is(err, e) })) {
			return r, fmt.Errorf("quality sheet, statement %q: %w", st.ID, err)
		}
		r.count(st, texts, first, err)
		if progress != nil {
			progress(r)
		}
	}
	return r, nil
}

// patiently asks, and once more when a busy server has had its time.
func (c *Client) patiently(ctx context.Context, in Input, u *Usage) ([]string, []Fault, error) {
	texts, first, err := c.draft(ctx, in, u)
	var busy *Limited
	if !errors.As(err, &busy) || busy.RetryAfter > longestPatience {
		return texts, first, err
	}
	select {
	case <-ctx.Done():
		return nil, first, fmt.Errorf("waiting for a busy model server: %w", ctx.Err())
	case <-time.After(busy.RetryAfter):
		return c.draft(ctx, in, u)
	}
}

func (r *Report) count(st SheetStatement, texts []string, first []Fault, err error) {
	r.Tried++
	switch {
	case err == nil && len(first) == 0:
		r.AtOnce++
	case err == nil:
		r.Second++
	case errors.Is(err, ErrNoDraft):
		r.NoDraft++
	default:
		r.Lost++
	}
	if err == nil || len(first) > 0 { // an answer came and was judged
		r.countFirst(first)
	}
	for i, text := range texts { // broader ones come first
		side, at := st.Broader, 0
		if i >= len(texts)/2 {
			side, at = st.Narrower, 2
		}
		r.Shown[at].add(side.keeps(text))
		r.Shown[at+1].add(side.avoids(text))
	}
}

// countFirst counts the checks on one first answer. Wordings that are missing
// count for their own check alone.
func (r *Report) countFirst(faults []Fault) {
	failing := map[Check]int{}
	for _, f := range faults {
		failing[f.Check]++
	}
	rungs := len(kinds[Ladder].fields)
	for i := range r.First {
		t, of := &r.First[i], rungs
		switch check := Check(t.Name); {
		case check == CheckShape:
			of = 1
		case failing[CheckShape] > 0:
			of = 0
		case check != CheckLevels:
			of = max(of-failing[CheckLevels], 0)
		}
		t.Of += of
		t.Passed += max(of-failing[Check(t.Name)], 0)
	}
}

// String prints the report in plain lines, for a terminal.
func (r Report) String() string {
	cost := "" // where no prices were given
	if r.Usage.Cost != 0 {
		cost = fmt.Sprintf(", which cost %.4f", r.Usage.Cost)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Model %s at %s, %d of %d statements\n\n", r.Model, r.Host, r.Tried, r.Statements)
	fmt.Fprintf(&b, "Four good wordings   at once %d, at the second attempt %d, none %d, no answer %d\n", r.AtOnce, r.Second, r.NoDraft, r.Lost)
	fmt.Fprintf(&b, "Requests             %d, tokens %d in and %d out%s\n", r.Usage.Calls, r.Usage.PromptTokens, r.Usage.CompletionTokens, cost)
	for _, part := range []struct {
		title   string
		tallies []Tally
	}{{"First answers, by check", r.First}, {"Wordings that people would see, by line of the sheet", r.Shown}} {
		b.WriteString("\n" + part.title + "\n")
		for _, t := range part.tallies {
			fmt.Fprintf(&b, "  %-18s %3d of %d\n", t.Name, t.Passed, t.Of)
		}
	}
	return b.String()
}
