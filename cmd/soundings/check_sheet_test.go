package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts"
	"soundings/prompts/modeltest"
)

// modelAt sets up a model and nothing else.
func modelAt(t *testing.T, answers ...modeltest.Answer) (environ, *modeltest.Server) {
	t.Helper()
	model := modeltest.New(answers...)
	server := httptest.NewServer(model)
	t.Cleanup(server.Close)
	return environ{"SOUNDINGS_MODEL_URL": server.URL + "/v1", "SOUNDINGS_MODEL": "small", "SOUNDINGS_MODEL_KEY": madeUpKey}, model
}

// knowing answers as the sheet itself would.
func knowing(t *testing.T) modeltest.Answer {
	t.Helper()
	sheet := prompts.OwnSheet()
	return modeltest.Replies(func(asked modeltest.Request) string {
		for _, st := range sheet.Statements {
			problem, _ := json.Marshal(st.Problem)
			if strings.Contains(asked.Body.Messages[1].Content, string(problem)) {
				answer, _ := json.Marshal(st.Good)
				return string(answer)
			}
		}
		return "{}"
	})
}

// What counts as good is told check by check; how many calls it takes is said
// before the first.
func TestCheckModelCounts(t *testing.T) {
	t.Parallel()
	e, model := modelAt(t, knowing(t))
	a := e.call(t, "", "check", "--model")
	require.Equal(t, exitGood, a.code, "exit %d: %s", a.code, a.errors)
	before, _, _ := strings.Cut(a.errors, "\n")
	assert.Contains(t, before, "20 to 46 calls, 10 minutes at most", "beforehand it says")
	for _, line := range []string{"20 of 20 statements", "at once 20,", "Requests             20,", "no solution         80 of 80", "broader keeps       40 of 40"} {
		assert.Contains(t, a.out, line, "it does not print")
	}
	assert.NotContains(t, a.out+a.errors, madeUpKey, "the key is printed")
	assert.Len(t, model.Requests(), 20, "requests")
}

func TestCheckModelAsJSON(t *testing.T) {
	t.Parallel()
	e, _ := modelAt(t, modeltest.Says("Gladly! Which problem?"))
	a := e.call(t, "", "check", "--model", "--json")
	var got struct {
		Finished bool
		Model    string
		Tried    int
		NoDraft  int `json:"no_draft"`
		First    []prompts.Tally
		Usage    struct {
			Calls  int
			Prompt int `json:"prompt_tokens"`
		}
	}
	err := json.Unmarshal([]byte(a.out), &got)
	require.NoError(t, err, "exit %d, %v: %s", a.code, err, a.out)
	require.Equal(t, exitGood, a.code, "exit %d, %v: %s", a.code, err, a.out)
	assert.True(t, got.Finished, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, "small", got.Model, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, 20, got.Tried, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, 20, got.NoDraft, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, 40, got.Usage.Calls, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, 40*modeltest.PromptTokens, got.Usage.Prompt, "got %+v, want 40 calls for no draft", got)
	assert.Equal(t, (prompts.Tally{Name: "shape", Passed: 0, Of: 20}), got.First[0], "the shape is counted as")
}

// What makes no sense to go on with stops at once, with the mend; what came
// before is printed.
func TestCheckModelStops(t *testing.T) {
	t.Parallel()
	for rule, stops := range map[string]struct {
		answer modeltest.Answer
		asked  int
		says   string
	}{
		"the key":        {modeltest.Status(401), 1, "set SOUNDINGS_MODEL_KEY"},
		"the model":      {modeltest.Status(404), 1, "check SOUNDINGS_MODEL"},
		"the request":    {modeltest.Status(413), 1, "a model for conversations"},
		"always failing": {modeltest.Status(500), 3, "none got an answer"},
	} {
		e, model := modelAt(t, stops.answer)
		a := e.call(t, "", "check", "--model")
		assert.Equal(t, exitFailed, a.code, "%s: exit %d", rule, a.code)
		assert.Contains(t, a.errors, stops.says, "%s: exit %d", rule, a.code)
		assert.Contains(t, a.out, "Model small", "%s: exit %d", rule, a.code)
		n := len(model.Requests())
		assert.Equal(t, stops.asked, n, "%s: %d requests", rule, n)
	}
}

// Ctrl-C ends the context of a command. The time that is given ends it too.
func TestCheckModelEndsInTime(t *testing.T) {
	t.Parallel()
	ctx, interrupt := context.WithCancel(t.Context())
	good := knowing(t)
	e, _ := modelAt(t, good, good, modeltest.Stalls("application/json", "{", interrupt))
	var out, errors bytes.Buffer
	assert.Equal(t, exitFailed, run(ctx, []string{"check", "--model"}, e, strings.NewReader(""), &out, &errors), "exit")
	assert.True(t, strings.HasSuffix(errors.String(), "\nstopped after 2 of 20 statements\n"), "it says %q and prints", errors.String())
	assert.Contains(t, out.String(), "2 of 20 statements", "it says %q and prints", errors.String())
	e, _ = modelAt(t, modeltest.Stalls("application/json", "{", nil))
	a := e.call(t, "", "check", "--model", "--limit", "50ms")
	assert.Equal(t, exitFailed, a.code, "exit")
	assert.Contains(t, a.errors, "its time of 50ms is up", "exit")
}

func TestCheckModelRefusals(t *testing.T) {
	t.Parallel()
	mustRefuse(t, "no model is set up: set SOUNDINGS_MODEL_URL to an OpenAI-compatible address and SOUNDINGS_MODEL to a model of it", "check", "--model")
	mustRefuse(t, "--ready and --model are two different looks; ask for one at a time", "check", "--model", "--ready")
	mustRefuse(t, "--limit is how long it may take: more than nothing, such as 5m", "check", "--model", "--limit", "0s")
	mustRefuse(t, "--limit takes a length of time, such as 90s or 5m, and \"soon\" is none; see soundings check --help", "check", "--model", "--limit", "soon")
	environ{"SOUNDINGS_MODEL": "small"}.mustRefuse(t, "SOUNDINGS_MODEL_URL: A model is named but no server. Give the address of an OpenAI-compatible server, or leave out both.", "check", "--model")
}
