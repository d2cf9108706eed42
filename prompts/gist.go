package prompts

import (
	"context"
	"slices"
	"strings"
)

// A GistInput is what people wrote, unsigned, under an assumption on which
// their ratings are far apart.
type GistInput struct {
	Assumption string
	Reasons    []string // unsigned; at least two, since one has no gist
}

func (GistInput) textName() string { return "gist" }
func (in GistInput) blank() bool   { return len(in.reasons()) < 2 }
func (in GistInput) material() any {
	return struct {
		Assumption string   `json:"assumption"`
		Reasons    []string `json:"reasons"`
	}{in.Assumption, in.reasons()}
}

// reasons are those that are not empty, in alphabetical order: the order in
// which they came may tell who wrote which.
func (in GistInput) reasons() []string {
	var out []string
	for _, r := range in.Reasons {
		if strings.TrimSpace(r) != "" {
			out = append(out, r)
		}
	}
	slices.Sort(out)
	return out
}

// Gist drafts a gist of the reasons in two sentences, each of which passed
// every check that [CheckProblem] does not make: so it takes no side, and
// holds no reason word for word. Errors are those of [Client.Ladder]; fewer
// than two reasons are an [ErrNoDraft], and nothing is sent.
func (c *Client) Gist(ctx context.Context, in GistInput) (string, Usage, error) {
	text, way, err := run(ctx, c, job[string]{in, in.read})
	return text, way.usage, err
}

func (in GistInput) read(content string) (string, []Fault) {
	var answer struct {
		Gist string `json:"gist"`
	}
	if !readAnswer(content, &answer) {
		return "", []Fault{{"answer", CheckShape}}
	}
	text := strings.TrimSpace(answer.Gist)
	faults := in.rules().faults("gist", text)
	for _, sentence := range sentencesOf(text) {
		if tooLong(sentence, 1) {
			faults = append(faults, Fault{"gist", CheckLength})
		}
	}
	return text, faults
}

func (in GistInput) rules() rules {
	reasons := in.reasons()
	return rules{
		original: reasons, topic: reasons, sent: append([]string{in.Assumption}, reasons...), ours: mustText(in.textName()).Body,
		sentences: 2, copies: copyOfRung, pieces: true, neutral: true,
	}
}
