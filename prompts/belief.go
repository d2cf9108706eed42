package prompts

import (
	"context"
	"strings"
)

// A PlainerInput is an assumption to be worded more plainly.
type PlainerInput struct{ Assumption string }

func (PlainerInput) textName() string { return "plainer" }
func (in PlainerInput) blank() bool   { return strings.TrimSpace(in.Assumption) == "" }
func (in PlainerInput) material() any {
	return struct {
		Assumption string `json:"assumption"`
	}(in)
}

// keptWords is the least share of an assumption's words that come back in a
// plainer wording of it, and in its parts taken together (our choice): jargon
// goes, the subject stays.
const (
	keptInPlainer = 1.0 / 3
	keptInParts   = 1.0 / 2
)

// Plainer drafts a plainer wording of one assumption. It passed every check
// but those of ladders and gists, and has all figures of
// the original; errors are those of [Client.Ladder].
func (c *Client) Plainer(ctx context.Context, in PlainerInput) (string, Usage, error) {
	text, way, err := run(ctx, c, job[string]{in, in.read})
	return text, way.usage, err
}

func (in PlainerInput) read(content string) (string, []Fault) {
	var answer struct {
		Plain string `json:"plain"`
	}
	if !readAnswer(content, &answer) {
		return "", []Fault{{"answer", CheckShape}}
	}
	text := strings.TrimSpace(answer.Plain)
	faults := in.rules().faults("plain", text)
	if packed(text) == packed(in.Assumption) || len(sentencesOf(in.Assumption)) > 1 && isPiece(text, []string{in.Assumption}) {
		faults = append(faults, Fault{"plain", CheckCopy})
	}
	return text, faults
}

// rules leave copies to read: a plainer wording is much like the original. It
// may be a piece of a sentence, but not one sentence of several.
func (in PlainerInput) rules() rules {
	return rules{
		original: []string{in.Assumption}, sent: []string{in.Assumption}, ours: bodies(),
		sentences: 1, copies: never, covers: keptInPlainer, figures: true, problem: !isSolution(in.Assumption, nil),
	}
}

// A SplitInput is an assumption that may hold more than one belief.
type SplitInput struct {
	Assumption string

	// IsTwo, if any, tells whether a text seems to hold two beliefs. A part
	// must not. It is not sent.
	IsTwo func(string) bool
}

func (SplitInput) textName() string { return "split" }
func (in SplitInput) blank() bool   { return strings.TrimSpace(in.Assumption) == "" }
func (in SplitInput) material() any {
	return struct {
		Assumption string `json:"assumption"`
	}{in.Assumption}
}

// The number of parts that an assumption is split into.
const (
	fewestParts = 2
	mostParts   = 3
)

// Split drafts the beliefs that one assumption holds: two or three, which
// together keep at least half of its words. They passed every check
// but those of ladders and gists; errors are those of
// [Client.Ladder].
func (c *Client) Split(ctx context.Context, in SplitInput) ([]string, Usage, error) {
	parts, way, err := run(ctx, c, job[[]string]{in, in.read})
	return parts, way.usage, err
}

func (in SplitInput) read(content string) ([]string, []Fault) {
	var answer struct {
		Parts []string `json:"parts"`
	}
	if !readAnswer(content, &answer) {
		return nil, []Fault{{"answer", CheckShape}}
	}
	if n := len(answer.Parts); n < fewestParts || n > mostParts {
		return nil, []Fault{{"parts", CheckLevels}}
	}
	rules := in.rules()
	var parts []string
	var faults []Fault
	for _, text := range answer.Parts {
		text = strings.TrimSpace(text)
		faults = append(faults, rules.faults("parts", text)...)
		if in.IsTwo != nil && in.IsTwo(text) {
			faults = append(faults, Fault{"parts", CheckOneBelief})
		}
		if packed(text) == packed(in.Assumption) || isCopy(text, parts, copyOfPart) {
			faults = append(faults, Fault{"parts", CheckCopy})
		}
		parts = append(parts, text)
	}
	return parts, append(faults, in.strays(parts)...)
}

// strays finds parts that together leave out much of the assumption, and a
// part that brings in more than it takes from it.
func (in SplitInput) strays(parts []string) []Fault {
	whole := meanings(in.Assumption)
	if coverage(whole, meanings(strings.Join(parts, " "))) < keptInParts {
		return []Fault{{"parts", CheckTopic}}
	}
	for _, p := range parts {
		if coverage(meanings(p), whole) < keptInParts {
			return []Fault{{"parts", CheckTopic}}
		}
	}
	return nil
}

// rules leave copies to read: a part may have nearly all words of the whole,
// where the other has few of its own.
func (in SplitInput) rules() rules {
	return rules{
		original: []string{in.Assumption}, topic: []string{in.Assumption}, sent: []string{in.Assumption},
		ours: bodies(), sentences: 1, copies: never, problem: !isSolution(in.Assumption, nil),
	}
}
