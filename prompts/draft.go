package prompts

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/sashabaranov/go-openai"
)

// The kinds of draft. Each is the name of the prompt text that asks for it.
const (
	Ladder  = "ladder"  // two broader and two narrower wordings of a problem statement, broadest first
	Plainer = "plainer" // one assumption in plainer words
	Split   = "split"   // the two or three beliefs in one assumption
	Gist    = "gist"    // what unsigned reasons say, in two sentences
)

// A kind says what an answer holds and how it is judged.
type kind struct {
	fields       []string // of the answer, each with one text
	list         string   // instead of fields: the one that holds a list of texts
	fewest, most int      // texts in that list

	sentences int     // in each text
	copies    float64 // likeness to another text of the answer from which a text is a copy
	anew      bool    // likeness to the original counts, too, and so does a sentence that people wrote
	own       float64 // least share of a sentence's words that the material has; 0: one will do
	kept      float64 // least share of the original's words that all texts together have
	figures   bool    // every figure of the original comes back
	unsigned  bool    // takes no side, quotes nobody and singles nobody out
}

// The likeness was chosen on the wordings of the quality sheet, of which the
// good ones stay below and the copies above. Parts of one assumption share
// its frame.
var kinds = map[string]kind{
	Ladder:  {fields: []string{"broader_2", "broader_1", "narrower_1", "narrower_2"}, sentences: 1, copies: 0.80, anew: true},
	Plainer: {fields: []string{"plain"}, sentences: 1, kept: 1.0 / 3, figures: true},
	Split:   {list: "parts", fewest: 2, most: 3, sentences: 1, copies: 0.92, own: 1.0 / 2, kept: 1.0 / 2},
	Gist:    {fields: []string{"gist"}, sentences: 2, copies: 0.80, anew: true, own: 1.0 / 4, unsigned: true},
}

// An Input is what people wrote that a draft is made from. Its JSON is all
// that is ever sent of it.
type Input struct {
	Kind string `json:"-"`

	Problem string   `json:"problem,omitempty"` // for a ladder: the statement as it stands
	WhyNow  string   `json:"why_now,omitempty"` // what makes it pressing
	Avoid   []string `json:"avoid,omitempty"`   // drafts that were offered before

	Assumption string   `json:"assumption,omitempty"` // for all other kinds
	Reasons    []string `json:"reasons,omitempty"`    // for a gist: at least two, unsigned

	Names []string `json:"-"` // of people who may have written the reasons; none stands in a gist
}

// ready leaves out reasons that are empty and puts the others into the order
// of the alphabet: the order in which they came may tell who wrote which.
func (in Input) ready() Input {
	in.Reasons = slices.DeleteFunc(slices.Clone(in.Reasons), isBlank)
	slices.Sort(in.Reasons)
	return in
}

// original is what is reworded.
func (in Input) original() []string {
	switch in.Kind {
	case Gist:
		return in.Reasons
	case Ladder:
		return []string{in.Problem}
	}
	return []string{in.Assumption}
}

// about is all that a draft may be about.
func (in Input) about() string {
	return strings.Join(append([]string{in.Problem, in.WhyNow, in.Assumption}, in.Reasons...), " . ")
}

// sent is everything that people wrote.
func (in Input) sent() []string {
	return slices.Concat([]string{in.Problem, in.WhyNow, in.Assumption}, in.Avoid, in.Reasons)
}

// Usage is what one draft cost, also when it failed.
type Usage struct {
	Calls            int     `json:"calls"`             // requests that were sent: one, as a rule; at most three
	PromptTokens     int     `json:"prompt_tokens"`     // as counted by the server; 0 when it does not tell
	CompletionTokens int     `json:"completion_tokens"` // likewise
	Cost             float64 `json:"cost,omitempty"`    // at the [Prices] that were given
}

// Draft asks the model for a draft: the four wordings of a ladder, one text,
// or two or three parts, all of which passed every check; or none, and an
// error (see [ErrOff] and the others there).
func (c *Client) Draft(ctx context.Context, in Input) ([]string, Usage, error) {
	var u Usage
	texts, _, err := c.draft(ctx, in, &u)
	return texts, u, err
}

// draft asks, decodes and checks, and has the model repair a first answer that
// has faults, which it also gives. It adds to the usage.
func (c *Client) draft(ctx context.Context, in Input, u *Usage) (texts []string, first []Fault, err error) {
	in = in.ready()
	if isBlank(in.Problem+in.Assumption) || in.Kind == Gist && len(in.Reasons) < 2 {
		return nil, nil, fmt.Errorf("%w: there is nothing to make a draft from", ErrNoDraft)
	}
	limited, cancel := context.WithTimeout(ctx, DefaultTimeout)
	defer cancel()
	messages := messagesOf(in)
	for {
		content, err := c.exchange(limited, in.Kind, messages, u)
		if err != nil {
			return nil, first, plainError(ctx, limited, err)
		}
		texts, faults := in.read(content)
		switch {
		case len(faults) == 0:
			return texts, first, nil
		case first != nil:
			return nil, first, fmt.Errorf("%w: neither answer passed %v", ErrNoDraft, faults)
		}
		first, messages = faults, append(messages, repair(content, faults)...)
	}
}

// messagesOf puts the prompt text first and what people wrote, as one JSON
// object between marker lines, into a message of its own. JSON writes every
// angle bracket as an escape here, so nobody can forge a marker.
func messagesOf(in Input) []openai.ChatCompletionMessage {
	material, err := json.Marshal(in)
	if err != nil {
		panic(fmt.Sprintf("prompts: material for %q: %v", in.Kind, err)) // strings only, so a bug
	}
	return []openai.ChatCompletionMessage{
		{Role: openai.ChatMessageRoleSystem, Content: promptTexts[in.Kind].body},
		{Role: openai.ChatMessageRoleUser, Content: promptTexts["material"].fill("material", string(material))},
	}
}

// longestEcho bounds how much of a faulty answer is sent back, in bytes.
const longestEcho = 4000

// repair is the first answer and its faults.
func repair(content string, faults []Fault) []openai.ChatCompletionMessage {
	if len(content) > longestEcho {
		content = strings.ToValidUTF8(content[:longestEcho], "")
	}
	if isBlank(content) {
		content = "{}" // some servers refuse an empty message
	}
	lines := make([]string, len(faults))
	for i, f := range faults {
		lines[i] = "- " + f.Where + ": " + f.rule()
	}
	return []openai.ChatCompletionMessage{
		{Role: openai.ChatMessageRoleAssistant, Content: content},
		{Role: openai.ChatMessageRoleUser, Content: promptTexts["repair"].fill("faults", strings.Join(lines, "\n"))},
	}
}

// Request shows what a draft from this input would send, and where to, so
// that a person can see it beforehand: the address, the model, both messages
// to the letter, and the shape that is asked for. Nothing else goes with it
// but the key. Should the first answer not pass, it is sent back once together
// with the names of the rules that it broke.
func (c *Client) Request(in Input) string {
	var b strings.Builder
	fmt.Fprintf(&b, "POST %s/chat/completions\nmodel: %s\n", c.base, c.model)
	for _, m := range messagesOf(in.ready()) {
		fmt.Fprintf(&b, "\n[%s]\n%s\n", m.Role, m.Content)
	}
	fmt.Fprintf(&b, "\n[shape of the answer]\n%s\n", strings.TrimSpace(string(promptTexts[in.Kind].schema)))
	return b.String()
}
