package prompts

import (
	"context"
	"strings"

	"soundings/engine"
)

// A LadderInput is a problem statement to be drafted around.
type LadderInput struct {
	Problem string   // the statement as it stands
	WhyNow  string   // what makes it pressing; may be empty
	Avoid   []string // drafts that were offered before, for "four others"; may be empty
}

func (LadderInput) textName() string { return "ladder" }
func (in LadderInput) blank() bool   { return strings.TrimSpace(in.Problem) == "" }
func (in LadderInput) material() any {
	return struct {
		Problem string   `json:"problem"`
		WhyNow  string   `json:"why_now,omitempty"`
		Avoid   []string `json:"avoid,omitempty"`
	}(in)
}

// A Draft is one wording for a rung of the ladder. It is a machine's until a
// person has edited it.
type Draft struct {
	Level int // +2 and +1 are broader than the original, -1 and -2 narrower
	Text  string
}

// A rung is a field of an answer, and the level of the wording in it.
type rung struct {
	field string
	level int
}

// rungs are what a ladder needs, broadest first.
func rungs() []rung {
	return []rung{
		{"broader_2", engine.LadderBroadest},
		{"broader_1", engine.LadderBroadest - 1},
		{"narrower_1", engine.LadderNarrowest + 1},
		{"narrower_2", engine.LadderNarrowest},
	}
}

// Ladder drafts two broader and two narrower wordings of a problem statement:
// four drafts, for the levels +2, +1, -1 and -2 in that order, all of which
// passed every check of [Checks]; or none, and an error (see [ErrOff] and the
// others there). What it cost is told in either case.
func (c *Client) Ladder(ctx context.Context, in LadderInput) ([]Draft, Usage, error) {
	drafts, way, err := run(ctx, c, in.job())
	return drafts, way.usage, err
}

func (in LadderInput) job() job[[]Draft] { return job[[]Draft]{in, in.read} }

// read makes drafts of an answer, and finds their faults.
func (in LadderInput) read(content string) ([]Draft, []Fault) {
	var fields map[string]string
	if !readAnswer(content, &fields) {
		return nil, []Fault{{"answer", CheckShape}}
	}
	rules, earlier := in.rules(), []string(nil)
	drafts, faults := []Draft(nil), missing(fields)
	for _, r := range rungs() {
		text := strings.TrimSpace(fields[r.field])
		if text == "" {
			continue
		}
		faults = append(faults, rules.faults(r.field, text)...)
		if isCopy(text, earlier, rules.copies) {
			faults = append(faults, Fault{r.field, CheckCopy})
		}
		drafts, earlier = append(drafts, Draft{r.level, text}), append(earlier, text)
	}
	return drafts, faults
}

// missing finds rungs without a wording, and fields that are no rungs.
func missing(fields map[string]string) (faults []Fault) {
	known := 0
	for _, r := range rungs() {
		text, ok := fields[r.field]
		if ok {
			known++
		}
		if strings.TrimSpace(text) == "" {
			faults = append(faults, Fault{r.field, CheckLevels})
		}
	}
	if len(fields) > known {
		faults = append(faults, Fault{"answer", CheckLevels})
	}
	return faults
}

func (in LadderInput) rules() rules {
	return rules{
		original:  []string{in.Problem},
		offered:   in.Avoid,
		topic:     []string{in.Problem, in.WhyNow},
		sent:      append([]string{in.Problem, in.WhyNow}, in.Avoid...),
		ours:      bodies(),
		sentences: 1, copies: copyOfRung, pieces: true, problem: true,
	}
}
