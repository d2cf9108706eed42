package prompts

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/sashabaranov/go-openai"
)

// Usage is what one draft cost, also when it failed.
type Usage struct {
	Calls            int     `json:"calls"`             // requests that were sent: one, as a rule; at most three
	PromptTokens     int     `json:"prompt_tokens"`     // as counted by the server; 0 when it does not tell
	CompletionTokens int     `json:"completion_tokens"` // likewise
	Cost             float64 `json:"cost,omitempty"`    // at the [Prices] that were given
	Repaired         bool    `json:"-"`                 // a first answer did not pass, and the model was asked once more
}

// An Input is what people wrote that a draft is made from. Its fields are all
// that is ever sent of it.
type Input interface {
	textName() string // of the prompt text that asks for the draft
	material() any    // the fields, as they are sent
	blank() bool      // there is nothing to make a draft from
}

// A job is one question to the model, and how its answer is read and judged.
type job[T any] struct {
	input Input
	read  func(content string) (T, []Fault)
}

// A course is how a draft came about.
type course struct {
	usage  Usage
	judged bool    // an answer came and was judged
	first  []Fault // of the first answer
}

// run asks, and once more if the first answer has faults.
func run[T any](ctx context.Context, c *Client, j job[T]) (T, course, error) {
	var none T
	var way course
	if c == nil {
		return none, way, ErrOff
	}
	if j.input.blank() {
		return none, way, &NoDraft{Reason: "there is nothing to make a draft from"}
	}
	limited, cancel := context.WithTimeout(ctx, c.timeout)
	defer cancel()
	value, err := j.twice(limited, c, &way)
	if err != nil {
		return none, way, plainError(ctx, limited, err)
	}
	return value, way, nil
}

func (j job[T]) twice(ctx context.Context, c *Client, way *course) (T, error) {
	question := questionOf(j.input)
	value, content, faults, err := j.once(ctx, c, question, way)
	if err != nil || len(faults) == 0 {
		return value, err
	}
	way.first, way.usage.Repaired = faults, true
	value, _, faults, err = j.once(ctx, c, question.again(content, faults), way)
	if err == nil && len(faults) > 0 {
		err = &NoDraft{Reason: "neither answer passed", Faults: faults}
	}
	return value, err
}

func (j job[T]) once(ctx context.Context, c *Client, q question, way *course) (value T, content string, faults []Fault, err error) {
	got, err := c.exchange(ctx, q, &way.usage)
	if err != nil {
		return value, "", nil, err
	}
	if err := got.declined(); err != nil {
		return value, "", nil, err
	}
	way.judged = true
	value, faults = j.read(got.content)
	return value, got.content, faults, nil
}

// A question is the messages of one request, and the shape of the answer.
type question struct {
	name     string
	messages []openai.ChatCompletionMessage
	schema   json.RawMessage
}

// questionOf puts the prompt text first and what people wrote, as one JSON
// object between marker lines, into a message of its own. JSON writes every
// angle bracket as an escape here, so nobody can forge a marker.
func questionOf(in Input) question {
	text := mustText(in.textName())
	material, err := json.Marshal(in.material())
	if err != nil {
		panic(fmt.Sprintf("prompts: material for %q: %v", text.Name, err)) // strings only, so a bug
	}
	return question{
		name: text.Name,
		messages: []openai.ChatCompletionMessage{
			{Role: openai.ChatMessageRoleSystem, Content: text.Body},
			{Role: openai.ChatMessageRoleUser, Content: mustText("material").fill("material", string(material))},
		},
		schema: text.Schema,
	}
}

// longestEcho bounds how much of a faulty answer is sent back, in bytes.
const longestEcho = 4000

// again is the question with the first answer and its faults behind it.
func (q question) again(content string, faults []Fault) question {
	if len(content) > longestEcho {
		content = strings.ToValidUTF8(content[:longestEcho], "")
	}
	if strings.TrimSpace(content) == "" {
		content = "{}" // some servers refuse an empty message
	}
	var lines strings.Builder
	for i, f := range faults {
		if i > 0 {
			lines.WriteByte('\n')
		}
		fmt.Fprintf(&lines, "- %s: %s", f.Where, f.Check.rule())
	}
	more := []openai.ChatCompletionMessage{
		{Role: openai.ChatMessageRoleAssistant, Content: content},
		{Role: openai.ChatMessageRoleUser, Content: mustText("repair").fill("faults", lines.String())},
	}
	return question{q.name, append(q.messages[:len(q.messages):len(q.messages)], more...), q.schema}
}

// Request shows what a draft from this input would send, and where to, so
// that a person can see it beforehand: the address, the model, both messages
// to the letter, and the shape that is asked for. Nothing else goes with it
// but the key. Should the first answer not pass, it is sent back once together
// with the names of the rules that it broke. Empty when drafting is off.
func (c *Client) Request(in Input) string {
	if c == nil {
		return ""
	}
	q := questionOf(in)
	var b strings.Builder
	fmt.Fprintf(&b, "POST %s/chat/completions\nmodel: %s\n", c.base, c.model)
	for _, m := range q.messages {
		fmt.Fprintf(&b, "\n[%s]\n%s\n", m.Role, m.Content)
	}
	fmt.Fprintf(&b, "\n[shape of the answer]\n%s\n", strings.TrimSpace(string(q.schema)))
	return b.String()
}
