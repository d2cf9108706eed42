/*
Package prompts drafts texts with a language model, for people to use, change
or discard. It owns the prompt texts, the exchange with a model server, and the
checks that a draft passes before anyone sees it. It knows nothing of kickoffs,
chat or storage: who may ask, who sees a draft, how often a kickoff may ask and
what is counted is left to package bot; what becomes of a text, to package
flows.

Start from [New], which gives a [Client] for any OpenAI-compatible address;
then [Client.Request], which shows what would be sent of an [Input], and
[Client.Draft], which sends it. What the kinds of draft differ in is one table,
in draft.go; the checks are another, in check.go. Drafting is off unless an
address and a model are configured ([ErrOff]). Whatever comes of a model, the
way by hand is there: [Questions] and [Openings] for the ladder,
[PlainerQuestions], [GistRules].

# What is sent

One question is two messages: a prompt text, from a file under texts, and what
people wrote, as the JSON of the [Input] between two marker lines. JSON writes
angle brackets as escapes there, so no text can forge a marker. No tool is
offered, and no secret is in any message. Redirects are not followed. The shape
of the answer is asked for by a JSON schema; a server that does not know how is
asked without, and remembered.

# What comes back

An answer is read as strict JSON, and each text in it is held to every [Check].
If it fails, the model hears once which rules it broke; if the second answer
fails as well, there is no draft, but of a ladder the wordings that passed. The
checks look at the surface and understand
nothing. What is still wrong with a draft, a person has to see; that is why
only whoever asked sees it, and why nothing is posted by itself.

A draft takes at most [DefaultTimeout] in all, stops with its context, and
reads at most 1 MB. [Explain] says the errors to a person. None of them holds
the key, what people wrote, or what the server said. [Usage] counts requests,
tokens and their cost, of failures too.

[RunSheet] runs the twenty statements of [OwnSheet] through a model and counts
what passes, check by check. Package modeltest is a server to test against.
*/
package prompts

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
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
	far       string  // the field that may have no word of the material, if it has one of another text of the answer
	some      bool    // texts that pass are of use without the others
}

// The likeness was chosen on the wordings of the quality sheet, of which the
// good ones stay below and the copies above. Parts of one assumption share
// its frame.
var kinds = map[string]kind{
	Ladder: {fields: []string{"broader_2", "broader_1", "narrower_1", "narrower_2"}, sentences: 1, copies: 0.80, anew: true,
		far: "broader_2", some: true},
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

// ready leaves out what is empty and puts reasons into the order of the
// alphabet: the order in which they came may tell who wrote which.
func (in Input) ready() Input {
	in.Reasons = slices.DeleteFunc(slices.Clone(in.Reasons), isBlank)
	in.Avoid = slices.DeleteFunc(slices.Clone(in.Avoid), isBlank)
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
// error (see [ErrOff] and the others there). Of a ladder those that passed are
// given although others did not, each in its place, with empty ones between.
func (c *Client) Draft(ctx context.Context, in Input) ([]string, Usage, error) {
	var u Usage
	texts, _, err := c.draft(ctx, in, &u)
	if len(texts) > 0 {
		err = nil
	}
	return texts, u, err
}

// draft asks, decodes and checks, and has the model repair a first answer that
// has faults, which it also gives. It adds to the usage. With an error there may
// be some of the texts.
func (c *Client) draft(ctx context.Context, in Input, u *Usage) (texts []string, first []Fault, err error) {
	in = in.ready()
	if isBlank(in.Problem+in.Assumption) || in.Kind == Gist && len(in.Reasons) < 2 {
		return nil, nil, fmt.Errorf("%w: there is nothing to make a draft from", ErrNoDraft)
	}
	limited, cancel := context.WithTimeout(ctx, DefaultTimeout)
	defer cancel()
	messages, some := messagesOf(in), []string(nil)
	for {
		content, err := c.exchange(limited, in.Kind, messages, u)
		if err != nil {
			return some, first, plainError(ctx, limited, err)
		}
		texts, faults := in.read(content)
		some = kinds[in.Kind].passing(texts, faults, some)
		switch {
		case len(faults) == 0:
			return texts, first, nil
		case first != nil:
			return some, first, fmt.Errorf("%w: neither answer passed %v", ErrNoDraft, faults)
		}
		first, messages = faults, append(messages, repair(content, faults)...)
	}
}

// mild are faults of a clumsy model. Any other may come of somebody who talked it into
// something: then nothing of the answer is shown, whatever else it holds.
var mild = []Check{CheckLevels, CheckSentence, CheckLength, CheckCopy, CheckLanguage, CheckTopic}

// passing are the texts of an answer without a fault, each in the place of its field,
// and where it has one those that passed before; nil when there are none.
func (k kind) passing(texts []string, faults []Fault, before []string) []string {
	bad := func(f Fault) bool { return !slices.Contains(mild, f.Check) || !slices.Contains(k.fields, f.Where) }
	if !k.some || len(texts) != len(k.fields) || slices.ContainsFunc(faults, bad) {
		return nil
	}
	some, any := make([]string, len(texts)), false
	for i, where := range k.fields {
		switch {
		case !slices.ContainsFunc(faults, func(f Fault) bool { return f.Where == where }):
			some[i] = texts[i]
		case before != nil:
			some[i] = before[i]
		}
		any = any || some[i] != ""
	}
	if !any {
		return nil
	}
	return some
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

// A found text stands in a field of an answer.
type found struct{ where, text string }

// read makes texts of an answer, and finds their faults.
func (in Input) read(content string) (texts []string, faults []Fault) {
	k := kinds[in.Kind]
	all, faults := k.find(content)
	for _, f := range all {
		faults = append(faults, in.faults(f.where, f.text, texts)...)
		texts = append(texts, f.text)
	}
	faults = append(faults, in.strays(k, all)...)
	original, texted := strings.Join(in.original(), " "), strings.Join(texts, " ")
	if len(texts) > 0 && share(units(original, lettersOfMany), units(texted, lettersOfMany)) < k.kept {
		faults = append(faults, Fault{all[0].where, CheckTopic})
	}
	return texts, faults
}

// strays finds a text that is far from the material, if nothing else in the answer
// leads to it either. Beside other texts longer words count: with more to be like, a
// short one such as "that" is soon among them.
func (in Input) strays(k kind, all []found) []Fault {
	at := slices.IndexFunc(all, func(f found) bool { return f.where == k.far })
	if at < 0 || len(all[at].text) > longestLooked || related(all[at].text, in.about(), lettersOfOne) {
		return nil
	}
	leads := func(f found) bool { return f.where != k.far && related(all[at].text, f.text, lettersOfMany) }
	if slices.ContainsFunc(all, leads) {
		return nil
	}
	return []Fault{{k.far, CheckTopic}}
}

// find takes the texts out of an answer.
func (k kind) find(content string) (all []found, faults []Fault) {
	if k.list != "" {
		lists, ok := decode[[]string](content)
		if !ok || len(lists) != 1 {
			return nil, []Fault{{"answer", CheckShape}}
		}
		for _, text := range lists[k.list] {
			all = append(all, found{k.list, strings.TrimSpace(text)})
		}
		if len(all) < k.fewest || len(all) > k.most {
			return nil, []Fault{{k.list, CheckLevels}}
		}
		return all, nil
	}
	fields, ok := decode[string](content)
	if !ok {
		return nil, []Fault{{"answer", CheckShape}}
	}
	for _, where := range k.fields {
		if text := strings.TrimSpace(fields[where]); text != "" {
			all = append(all, found{where, text})
		} else {
			faults = append(faults, Fault{where, CheckLevels})
		}
		delete(fields, where)
	}
	if len(fields) > 0 {
		faults = append(faults, Fault{"answer", CheckLevels})
	}
	return all, faults
}

// wrapping is what models like to put around an object, and nothing can hide
// in: thoughts between think tags before it, and a code fence.
var wrapping = regexp.MustCompile("(?is)^\\s*(?:<think>.*?</think>)?\\s*(?:```(?:json)?[ \t\r]*\n(.*)```|(.*?))\\s*$")

// decode reads the JSON object that an answer consists of. Anything else
// beside the object is a fault.
func decode[T any](content string) (object map[string]T, ok bool) {
	inner := wrapping.FindStringSubmatch(content)
	d := json.NewDecoder(strings.NewReader(inner[1] + inner[2]))
	if d.Decode(&object) != nil {
		return nil, false
	}
	_, err := d.Token()
	return object, err == io.EOF
}
