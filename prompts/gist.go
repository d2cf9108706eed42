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
	Names      []string // of people who may have written them; not sent, and not to be read in a gist
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

// Gist drafts a gist of the reasons in two sentences, which passed every check
// but those of the ladder and of parts: so it takes no side, quotes nobody,
// and singles nobody out. Errors are those of [Client.Ladder]; fewer
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
	if singlesOut(text, in.reasons(), in.Names, in.Assumption) {
		faults = append(faults, Fault{"gist", CheckNobody})
	}
	for _, sentence := range sentencesOf(text) {
		faults = append(faults, in.sentenceFaults(sentence)...)
	}
	return text, faults
}

// keptInGist is the least share of the words of each sentence of a gist that
// the reasons or the assumption have (our choice): the rest joins and weighs
// nothing.
const keptInGist = 1.0 / 4

// sentenceFaults looks at each sentence by itself: one good sentence must not
// carry another that nobody's reason speaks of.
func (in GistInput) sentenceFaults(sentence string) (faults []Fault) {
	if tooLong(sentence, 1) {
		faults = append(faults, Fault{"gist", CheckLength})
	}
	about := meanings(in.Assumption + " " + strings.Join(in.reasons(), " "))
	if coverage(meanings(sentence), about) < keptInGist {
		faults = append(faults, Fault{"gist", CheckTopic})
	}
	if !sameLanguage(in.reasons(), sentence) {
		faults = append(faults, Fault{"gist", CheckLanguage})
	}
	return faults
}

func (in GistInput) rules() rules {
	reasons := in.reasons()
	return rules{
		original: reasons, topic: reasons, sent: append([]string{in.Assumption}, reasons...), ours: bodies(),
		sentences: 2, copies: copyOfRung, pieces: true, neutral: true,
		problem: !slices.ContainsFunc(reasons, func(r string) bool { return isSolution(r, nil) }),
	}
}
