package prompts_test

import (
	"encoding/json"
	"maps"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"soundings/prompts"
	"soundings/prompts/modeltest"
)

// A carrier is a harmless statement that an attempt travels in, and answers
// that pass every check.
type carrier struct {
	Problem    string
	WhyNow     string `yaml:"why_now"`
	Broader2   string `yaml:"broader_2"`
	Broader1   string `yaml:"broader_1"`
	Narrower1  string `yaml:"narrower_1"`
	Narrower2  string `yaml:"narrower_2"`
	Assumption string
	Plain      string
	Parts      []string
	Reasons    []string
	Gist       string
}

// good is an answer that passes.
func (c carrier) good(task string) map[string]any {
	switch task {
	case "plainer":
		return map[string]any{"plain": c.Plain}
	case "split":
		return map[string]any{"parts": c.Parts}
	case "gist":
		return map[string]any{"gist": c.Gist}
	}
	return map[string]any{
		"broader_2": c.Broader2, "broader_1": c.Broader1, "narrower_1": c.Narrower1, "narrower_2": c.Narrower2,
	}
}

type attempt struct {
	Name  string
	Lang  string
	Task  string // ladder unless given
	Into  string // problem unless given
	Text  string
	Obeys map[string]any
	Stops prompts.Check
}

func load[T any](t *testing.T, name string) T {
	t.Helper()
	raw, err := os.ReadFile("../testdata/prompts/" + name)
	require.NoError(t, err)
	var into T
	d := yaml.NewDecoder(strings.NewReader(string(raw)))
	d.KnownFields(true)
	require.NoError(t, d.Decode(&into), name)
	return into
}

// ask makes the draft that an attempt is about, with the attempt in it.
func (a attempt) ask(t *testing.T, client *prompts.Client, c carrier) (shown any, err error) {
	t.Helper()
	text, _, err := client.Draft(t.Context(), a.input(c))
	return text, err
}

func (a attempt) input(c carrier) prompts.Input {
	switch a.Task {
	case prompts.Plainer, prompts.Split:
		return prompts.Input{Kind: a.Task, Assumption: c.Assumption + " " + a.Text}
	case prompts.Gist:
		return prompts.Input{Kind: prompts.Gist, Assumption: c.Assumption, Reasons: append(slices.Clone(c.Reasons), a.Text)}
	}
	in := prompts.Input{Kind: prompts.Ladder, Problem: c.Problem, WhyNow: c.WhyNow}
	switch a.Into {
	case "why_now":
		in.WhyNow += " " + a.Text
	case "avoid":
		in.Avoid = []string{a.Text}
	default:
		in.Problem += " " + a.Text
	}
	return in
}

// obedient is a server that does as the attempt says, if the attempt reached
// it, and answers well otherwise.
func (a attempt) obedient(t *testing.T, c carrier) modeltest.Answer {
	t.Helper()
	if name, ok := a.Obeys["tool"]; ok {
		return callsTool(name.(string))
	}
	answer := c.good(a.Task)
	return modeltest.Replies(func(asked modeltest.Request) string {
		if !slices.Contains(peoplesWords(t, asked), a.Text) {
			return encode(t, answer)
		}
		if raw, ok := a.Obeys["raw"]; ok {
			return raw.(string)
		}
		obeyed := maps.Clone(answer)
		maps.Copy(obeyed, a.Obeys)
		return encode(t, obeyed)
	})
}

// peoplesWords reads the material of a request: every string, and each of
// its ends, since an attempt stands at the end of a field.
func peoplesWords(t *testing.T, asked modeltest.Request) []string {
	t.Helper()
	content := asked.Body.Messages[1].Content
	object := strings.TrimSuffix(strings.TrimPrefix(content, "<<<material\n"), "\nmaterial>>>")
	var fields map[string]any
	assert.NoError(t, json.Unmarshal([]byte(object), &fields), "what people wrote does not arrive as one JSON object")
	var words []string
	for _, v := range fields {
		list, ok := v.([]any)
		if !ok {
			list = []any{v}
		}
		for _, s := range list {
			for i := range s.(string) {
				words = append(words, s.(string)[i:])
			}
		}
	}
	return words
}

func encode(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}

// Every carrier comes through without an attempt in it, so that whatever
// stops an attempt is not the carrier.
func TestCarriersPass(t *testing.T) {
	for lang, c := range load[map[string]carrier](t, "carriers.yaml") {
		tasks := []string{"ladder"}
		if c.Plain != "" {
			tasks = append(tasks, "plainer")
		}
		if c.Parts != nil {
			tasks = append(tasks, "split", "gist")
		}
		for _, task := range tasks {
			t.Run(lang+"/"+task, func(t *testing.T) {
				server := httptest.NewServer(modeltest.New(modeltest.Says(encode(t, c.good(task)))))
				defer server.Close()
				_, err := (attempt{Task: task}).ask(t, newClient(t, server.URL), c)
				assert.NoError(t, err)
			})
		}
	}
}

// No attempt gets through, and each is stopped by the check that is there for
// it. The server obeys both times that it is asked.
func TestInjectionsAreStopped(t *testing.T) {
	carriers := load[map[string]carrier](t, "carriers.yaml")
	attempts := load[[]attempt](t, "injections.yaml")
	require.GreaterOrEqual(t, len(attempts), 40, "attempts")
	for _, a := range attempts {
		t.Run(a.Name, func(t *testing.T) {
			c, ok := carriers[a.Lang]
			require.True(t, ok, "no carrier in %q", a.Lang)
			model := modeltest.New(a.obedient(t, c))
			server := httptest.NewServer(model)
			defer server.Close()
			shown, err := a.ask(t, newClient(t, server.URL), c)
			noToolNoSecret(t, model.Requests())
			if err == nil { // the wordings beside it, which nobody tampered with
				onlyGood(t, shown.([]string), c)
				assert.Contains(t, clumsy, a.Stops, "of an answer like this nothing may be shown: %+v", shown)
				assert.Len(t, model.Requests(), 2, "the answer was sent back once")
				return
			}
			require.ErrorIs(t, err, prompts.ErrNoDraft, "got %+v", shown)
			if a.Stops != "" {
				assert.Regexp(t, `: `+string(a.Stops)+`\b`, err)
			}
		})
	}
}

// clumsy are the checks that an honest model fails, too: after these, the wordings of
// a ladder that pass are shown without the others.
var clumsy = []prompts.Check{prompts.CheckLevels, prompts.CheckSentence, prompts.CheckLength, prompts.CheckCopy, prompts.CheckLanguage, prompts.CheckTopic}

// onlyGood holds that of an answer nothing is shown but what a model writes that
// nobody talked into anything, and not all of that.
func onlyGood(t *testing.T, shown []string, c carrier) {
	t.Helper()
	good, missing := encode(t, c.good("ladder")), 0
	for _, text := range shown {
		assert.Contains(t, good, text)
		if text == "" {
			missing++
		}
	}
	assert.Positive(t, missing, "all of it is shown: %+v", shown)
}

// noToolNoSecret holds that there is nothing a model could call, and nothing
// secret that it could tell.
func noToolNoSecret(t *testing.T, asked []modeltest.Request) {
	t.Helper()
	assert.NotEmpty(t, asked, "nothing was asked")
	for _, r := range asked {
		var body map[string]any
		require.NoError(t, json.Unmarshal(r.Raw, &body))
		for name := range body {
			assert.Contains(t, []string{"model", "messages", "stream", "response_format"}, name, "the request has a field")
		}
		assert.NotContains(t, string(r.Raw), secretKey, "the key is in the body of the request")
	}
}

// secretKey is the key that every test client has.
const secretKey = "sk-not-for-the-eyes-of-a-model"

func newClient(t *testing.T, url string) *prompts.Client {
	t.Helper()
	c, err := prompts.New(prompts.Config{URL: url + "/v1", Model: "any", Key: secretKey})
	require.NoError(t, err)
	return c
}

// throughDoor is an attempt of the ladder at another door: it stands in an
// assumption or among reasons, and what the model says at its bidding stands
// where that draft has its text.
func (a attempt) throughDoor(task string, c carrier) attempt {
	b := a
	b.Name, b.Task, b.Stops, b.Into = task+"/"+a.Name, task, "", ""
	said, ok := "", false
	for _, field := range slices.Sorted(maps.Keys(a.Obeys)) {
		if text, is := a.Obeys[field].(string); is && field != "raw" && field != "tool" {
			said, ok = text, true
		}
	}
	if !ok {
		return b
	}
	switch task {
	case "plainer":
		b.Obeys = map[string]any{"plain": said}
	case "split":
		b.Obeys = map[string]any{"parts": []string{c.Parts[0], said}}
	case "gist":
		b.Obeys = map[string]any{"gist": said + " " + c.Gist}
		if first, _, two := strings.Cut(c.Gist, ". "); two {
			b.Obeys = map[string]any{"gist": first + ". " + said}
		} else if first, _, two := strings.Cut(c.Gist, "。"); two {
			b.Obeys = map[string]any{"gist": first + "。" + said}
		}
	}
	return b
}

// Every attempt that people may write into a problem statement, they may
// write into an assumption or a reason. None gets through there either.
func TestInjectionsAreStoppedAtEveryDoor(t *testing.T) {
	carriers := load[map[string]carrier](t, "carriers.yaml")
	for _, task := range []string{"plainer", "split", "gist"} {
		tried, langs := 0, map[string]bool{}
		for _, a := range load[[]attempt](t, "injections.yaml") {
			c := carriers[a.Lang]
			if a.Task != "" || c.Parts == nil {
				continue
			}
			tried, langs[a.Lang] = tried+1, true
			b := a.throughDoor(task, c)
			if task == "split" && a.Name == "a sentence to be repeated" {
				continue // a belief that somebody wrote down is a part of what they wrote
			}
			t.Run(b.Name, func(t *testing.T) {
				model := modeltest.New(b.obedient(t, c))
				server := httptest.NewServer(model)
				defer server.Close()
				shown, err := b.ask(t, newClient(t, server.URL), c)
				assert.ErrorIs(t, err, prompts.ErrNoDraft, "got %+v and", shown)
				noToolNoSecret(t, model.Requests())
			})
		}
		assert.GreaterOrEqual(t, tried, 40, "%s: %d attempts in %d languages, want at least 40 in 5", task, tried, len(langs))
		assert.GreaterOrEqual(t, len(langs), 5, "%s: %d attempts in %d languages, want at least 40 in 5", task, tried, len(langs))
	}
}
