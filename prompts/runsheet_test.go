package prompts_test

import (
	"context"
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts"
	"soundings/prompts/modeltest"
)

// knowing answers from the sheet itself, as changed.
func knowing(t *testing.T, change func(st prompts.SheetStatement, answer map[string]string)) modeltest.Answer {
	t.Helper()
	sheet := prompts.OwnSheet()
	return modeltest.Replies(func(asked modeltest.Request) string {
		for _, st := range sheet.Statements {
			if strings.Contains(asked.Body.Messages[1].Content, encode(t, st.Problem)) {
				answer := maps.Clone(st.Good)
				if change != nil {
					change(st, answer)
				}
				return encode(t, answer)
			}
		}
		t.Error("a question that is not on the sheet")
		return ""
	})
}

func tally(t *testing.T, list []prompts.Tally, name string) prompts.Tally {
	t.Helper()
	for _, x := range list {
		if x.Name == name {
			return x
		}
	}
	t.Fatalf("no line %q", name)
	return prompts.Tally{}
}

// A model that answers as we would gets full marks.
func TestSheetOfAGoodModel(t *testing.T) {
	client, _ := start(t, nil, knowing(t, nil))
	r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
	require.NoError(t, err)
	assert.Equal(t, 20, r.AtOnce, "got %+v, want 20 at once", r)
	assert.Equal(t, 0, r.Second+r.NoDraft+r.Lost, "got %+v, want 20 at once", r)
	assert.Equal(t, 20, r.Usage.Calls, "got %+v, want 20 at once", r)
	for _, x := range append(r.First, r.Shown...) {
		want := 80
		switch {
		case x.Name == "shape":
			want = 20
		case strings.HasPrefix(x.Name, "broader"), strings.HasPrefix(x.Name, "narrower"):
			want = 40
		}
		assert.Equal(t, want, x.Of, "%s: %d of", x.Name, x.Passed)
		assert.Equal(t, want, x.Passed, "%s: %d of", x.Name, x.Passed)
	}
}

// A model that sells something on one rung of each ladder fails one check
// twenty times, twice, and nobody sees any of it.
func TestSheetOfASalesman(t *testing.T) {
	client, _ := start(t, nil, knowing(t, func(_ prompts.SheetStatement, answer map[string]string) {
		answer["narrower_2"] = strings.TrimSuffix(answer["narrower_2"], ".") + " without a chatbot."
	}))
	r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
	require.NoError(t, err)
	assert.Equal(t, 20, r.NoDraft, "got %+v, want no draft for 20", r)
	assert.Equal(t, 40, r.Usage.Calls, "got %+v, want no draft for 20", r)
	x := tally(t, r.First, "no solution")
	assert.Equal(t, 60, x.Passed, "got %+v, want 60 of 80", x)
	assert.Equal(t, 80, x.Of, "got %+v, want 60 of 80", x)
	x = tally(t, r.First, "sentence")
	assert.Equal(t, 80, x.Passed, "got %+v, want 80 of 80", x)
	x = tally(t, r.Shown, "broader keeps")
	assert.Equal(t, 0, x.Of, "got %+v, want nothing shown", x)
}

// A model that needs a second attempt is told apart from one that does not,
// and a broken answer counts against the shape alone.
func TestSheetOfAModelThatNeedsTelling(t *testing.T) {
	good := knowing(t, nil)
	client, _ := start(t, nil, func(w http.ResponseWriter, r *http.Request, asked modeltest.Request) {
		if len(asked.Body.Messages) == 2 {
			modeltest.Says("Gladly! Which problem?")(w, r, asked)
			return
		}
		good(w, r, asked)
	})
	r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
	assert.NoError(t, err, "got %+v and", r)
	assert.Equal(t, 20, r.Second, "got %+v and", r)
	assert.Equal(t, 0, r.AtOnce, "got %+v and", r)
	x := tally(t, r.First, "shape")
	assert.Equal(t, 0, x.Passed, "got %+v, want 0 of 20", x)
	assert.Equal(t, 20, x.Of, "got %+v, want 0 of 20", x)
	x = tally(t, r.First, "sentence")
	assert.Equal(t, 0, x.Of, "got %+v, want nothing judged", x)
	x = tally(t, r.Shown, "broader keeps")
	assert.Equal(t, 40, x.Of, "got %+v, want 40 shown", x)
}

// What the sheet says must not be said is counted, though the checks let it
// pass.
func TestSheetLinesAreCounted(t *testing.T) {
	client, _ := start(t, nil, knowing(t, func(st prompts.SheetStatement, answer map[string]string) {
		if st.ID == "ferry" {
			answer["broader_2"] = "Islanders see the ferry fill although its capacity grows every year."
		}
	}))
	r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
	require.NoError(t, err)
	x := tally(t, r.Shown, "broader never")
	assert.Equal(t, 39, x.Passed, "got %+v, want 39 of 40", x)
	assert.Equal(t, 40, x.Of, "got %+v, want 39 of 40", x)
}

// There is no point in asking twenty times for what cannot be had.
func TestSheetStopsWhenItMakesNoSense(t *testing.T) {
	for status, want := range map[int]error{401: prompts.ErrUnauthorized, 404: prompts.ErrNoModel, 413: prompts.ErrRejected} {
		client, model := start(t, nil, modeltest.Status(status))
		_, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
		assert.ErrorIs(t, err, want, "%d", status)
		assert.Len(t, model.Requests(), 1, "%d", status)
	}
	client, model := start(t, nil, modeltest.Status(500))
	r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
	assert.NoError(t, err, "500: got %+v and", r)
	assert.Equal(t, 20, r.Lost, "500: got %+v and", r)
	assert.Len(t, model.Requests(), 20, "500: got %+v and", r)
}

func TestSheetStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	client, _ := start(t, nil, modeltest.Stalls("application/json", "{", cancel))
	_, err := prompts.RunSheet(ctx, client, prompts.OwnSheet(), nil)
	assert.ErrorIs(t, err, context.Canceled)
}

// at serves a handler without a network, so that time can be made up.
type at struct{ http.Handler }

func (h at) RoundTrip(r *http.Request) (*http.Response, error) {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result(), nil
}

// A busy server is given the time that it asks for, once for each statement.
func TestSheetIsPatient(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		busy := modeltest.Status(429, "Retry-After", "40")
		model := modeltest.New(busy, knowing(t, nil), busy, busy, knowing(t, nil))
		client, err := prompts.New(prompts.Config{URL: "http://model.invalid/v1", Model: "any", Transport: at{model}})
		require.NoError(t, err)
		begun := time.Now()
		r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), nil)
		assert.NoError(t, err, "got %+v and", r)
		assert.Equal(t, 19, r.AtOnce, "got %+v and", r)
		assert.Equal(t, 1, r.Lost, "got %+v and", r)
		assert.Equal(t, time.Duration(80*time.Second), time.Since(begun), "waited")
	})
}

// A server that is busy every time does not get more requests than were
// announced.
func TestSheetSpendsNoMoreThanItSays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		busyAgain := func(w http.ResponseWriter, r *http.Request, asked modeltest.Request) {
			if len(asked.Body.Messages) > 2 {
				modeltest.Status(429, "Retry-After", "1")(w, r, asked)
				return
			}
			modeltest.Says("{}")(w, r, asked)
		}
		model := modeltest.New(busyAgain)
		client, err := prompts.New(prompts.Config{URL: "http://model.invalid/v1", Model: "any", Transport: at{model}})
		require.NoError(t, err)
		heard := 0
		r, err := prompts.RunSheet(t.Context(), client, prompts.OwnSheet(), func(prompts.Report) { heard++ })
		_, most := prompts.OwnSheet().Calls()
		assert.ErrorIs(t, err, prompts.ErrSpent)
		assert.LessOrEqual(t, len(model.Requests()), most)
		assert.Less(t, r.Tried, 20)
		assert.Equal(t, r.Tried, r.Lost)
		assert.Equal(t, r.Tried, heard)
	})
}

// The report is for people: the model, the host, and a line for each count.
func TestReportIsReadable(t *testing.T) {
	r := prompts.Report{
		Host: "127.0.0.1:8080", Model: "any", Statements: 20, Tried: 20, AtOnce: 15, Second: 3, NoDraft: 1, Lost: 1,
		First: []prompts.Tally{{Name: "sentence", Passed: 74, Of: 76}}, Shown: []prompts.Tally{{Name: "broader keeps", Passed: 36, Of: 36}},
		Usage: prompts.Usage{Calls: 25, PromptTokens: 18000, CompletionTokens: 2200},
	}
	want := `Model any at 127.0.0.1:8080, 20 of 20 statements

Four good wordings   at once 15, at the second attempt 3, none 1, no answer 1
Requests             25, tokens 18000 in and 2200 out

First answers, by check
  sentence            74 of 76

Wordings that people would see, by line of the sheet
  broader keeps       36 of 36
`
	got := r.String()
	assert.Equal(t, want, got, "got\n%s\nwant", got)
}
