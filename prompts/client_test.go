package prompts_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/sashabaranov/go-openai"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts"
	"soundings/prompts/modeltest"
)

var pier = prompts.Input{
	Kind:    prompts.Ladder,
	Problem: "Passengers with bicycles cannot tell, before they reach the pier, whether there is room on board.",
	WhyNow:  "Last summer many people with bicycles were left standing on a pier of our ferry.",
}

// The drafts of a model that does well, and its answer.
var (
	goodDrafts = []string{
		"Islanders cannot count on the ferry for a journey that goes on beyond the pier.",
		"People with something bulky set out for the pier without knowing whether they will get across.",
		"Families with several bicycles learn only at the ramp that the Saturday sailing is full.",
		"A visitor with a bicycle who misses the last evening sailing has no way back.",
	}
	goodAnswer = `{"broader_2":"` + goodDrafts[0] + `","broader_1":"` + goodDrafts[1] +
		`","narrower_1":"` + goodDrafts[2] + `","narrower_2":"` + goodDrafts[3] + `"}`
)

// start serves answers, and gives a client for them.
func start(t *testing.T, change func(*prompts.Config), answers ...modeltest.Answer) (*prompts.Client, *modeltest.Server) {
	t.Helper()
	model := modeltest.New(answers...)
	server := httptest.NewServer(model)
	t.Cleanup(server.Close)
	config := prompts.Config{URL: server.URL + "/v1", Model: "any", Key: secretKey}
	if change != nil {
		change(&config)
	}
	client, err := prompts.New(config)
	require.NoError(t, err)
	return client, model
}

// An answer is understood in whichever form it comes, and in whatever models
// like to wrap around it.
func TestAnswersThatAreUnderstood(t *testing.T) {
	truncated := goodAnswer[:len(goodAnswer)-20]
	for _, test := range []struct {
		name    string
		change  func(*prompts.Config)
		answers []modeltest.Answer
		calls   int
	}{
		{"in one piece", nil, []modeltest.Answer{modeltest.Says(goodAnswer)}, 1},
		{"fenced", nil, []modeltest.Answer{modeltest.Says("```json\n" + goodAnswer + "\n```")}, 1},
		{"fenced without a language", nil, []modeltest.Answer{modeltest.Says("```\n" + goodAnswer + "\n```\n")}, 1},
		{"behind thoughts", nil, []modeltest.Answer{modeltest.Says("<think>Is {this} a trap?</think>\n\n" + goodAnswer)}, 1},
		{"at the second attempt, after a truncated one", nil,
			[]modeltest.Answer{stops(truncated, openai.FinishReasonLength), modeltest.Says(goodAnswer)}, 2},
		{"at the second attempt, after an empty one", nil, []modeltest.Answer{modeltest.Says(""), modeltest.Says(goodAnswer)}, 2},
		{"at the second attempt, after one with talk around it", nil,
			[]modeltest.Answer{modeltest.Says("Here you are: " + goodAnswer), modeltest.Says(goodAnswer)}, 2},
		{"at the second attempt, after an answer without choices", nil,
			[]modeltest.Answer{modeltest.Body("application/json", `{"choices":[]}`), modeltest.Says(goodAnswer)}, 2},
	} {
		t.Run(test.name, func(t *testing.T) {
			client, _ := start(t, test.change, test.answers...)
			drafts, usage, err := client.Draft(t.Context(), pier)
			require.NoError(t, err, "got %+v and", drafts)
			require.Equal(t, goodDrafts, drafts, "got %+v and", drafts)
			assert.Equal(t, test.calls, usage.Calls, "usage is %+v, want %d calls", usage, test.calls)
		})
	}
}

// What a server says it cost is counted, of both attempts and in both forms.
func TestUsageIsCounted(t *testing.T) {
	client, _ := start(t, nil, modeltest.Says("no"), modeltest.Says(goodAnswer))
	_, got, err := client.Draft(t.Context(), pier)
	require.NoError(t, err)
	assert.Equal(t, prompts.Usage{Calls: 2, PromptTokens: 2 * modeltest.PromptTokens, CompletionTokens: 2 * modeltest.CompletionTokens}, got)
}

// Statuses, after RFC 9110 (Retry-After: section 10.2.3) and, for what servers
// of this kind mean by them, the documentation of the interface, from memory.
func TestStatuses(t *testing.T) {
	inTwoMinutes := []string{"Date", "Mon, 01 Mar 2027 09:00:00 GMT", "Retry-After", "Mon, 01 Mar 2027 09:02:00 GMT"}
	noModel := func(w http.ResponseWriter, _ *http.Request, _ modeltest.Request) {
		w.WriteHeader(http.StatusBadRequest)
		_, _ = w.Write([]byte(`{"error":{"message":"the model does not exist","code":"model_not_found"}}`))
	}
	for _, test := range []struct {
		name   string
		answer modeltest.Answer
		want   error
		calls  int
	}{
		{"401: the key is refused", modeltest.Status(401), prompts.ErrUnauthorized, 1},
		{"403: the key may not", modeltest.Status(403), prompts.ErrUnauthorized, 1},
		{"404: no such model", modeltest.Status(404), prompts.ErrNoModel, 1},
		{"400 that says that there is no such model", noModel, prompts.ErrNoModel, 1},
		{"429 with seconds", modeltest.Status(429, "Retry-After", "17"), &prompts.Limited{RetryAfter: 17 * time.Second}, 1},
		{"429 with part of a second", modeltest.Status(429, "Retry-After", "0.5"), &prompts.Limited{RetryAfter: time.Second / 2}, 1},
		{"429 with a moment, by the server's clock", modeltest.Status(429, inTwoMinutes...), &prompts.Limited{RetryAfter: 2 * time.Minute}, 1},
		{"429 with a moment that is past", modeltest.Status(429, "Retry-After", "Mon, 01 Mar 1999 09:02:00 GMT"), &prompts.Limited{}, 1},
		{"429 that asks for a year", modeltest.Status(429, "Retry-After", "31536000"), &prompts.Limited{RetryAfter: 24 * time.Hour}, 1},
		{"429 with nonsense", modeltest.Status(429, "Retry-After", "soon"), &prompts.Limited{}, 1},
		{"429 with what is no number", modeltest.Status(429, "Retry-After", "NaN"), &prompts.Limited{}, 1},
		{"429 without a word", modeltest.Status(429), &prompts.Limited{}, 1},
		{"500", modeltest.Status(500), prompts.ErrUnavailable, 1},
		{"503", modeltest.Status(503), prompts.ErrUnavailable, 1},
		{"408", modeltest.Status(408), prompts.ErrUnavailable, 1},
		{"400, also without a response format", modeltest.Status(400), prompts.ErrRejected, 2},
		{"413: too long for the model", modeltest.Status(413), prompts.ErrRejected, 1},
		{"307 that leads elsewhere", modeltest.Status(307, "Location", "https://elsewhere.invalid/v1"), prompts.ErrNoModel, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			client, _ := start(t, nil, test.answer)
			drafts, usage, err := client.Draft(t.Context(), pier)
			assert.Nil(t, drafts, "got %v and %v, want %v", drafts, err, test.want)
			assert.True(t, sameError(err, test.want), "got %v and %v, want %v", drafts, err, test.want)
			assert.Equal(t, test.calls, usage.Calls)
			tellsNothing(t, err)
		})
	}
}

func sameError(got, want error) bool {
	var g, w *prompts.Limited
	if errors.As(want, &w) {
		return errors.As(got, &g) && *g == *w
	}
	return errors.Is(got, want)
}

// tellsNothing holds that an error, and what is said to people about it, has
// neither the key nor anything that people wrote. The test server quotes both.
func tellsNothing(t *testing.T, err error) {
	t.Helper()
	if !assert.Error(t, err, "no error") {
		return
	}
	for _, said := range []string{err.Error(), prompts.Explain(prompts.Ladder, err)} {
		assert.NotEqual(t, "", said, "an error says")
		assert.NotContains(t, said, secretKey, "an error says")
		assert.NotContains(t, said, "bicycle", "an error says")
		assert.NotContains(t, said, "127.0.0.1", "an error says")
	}
	for e := errors.Unwrap(err); e != nil; e = errors.Unwrap(e) {
		assert.NotContains(t, e.Error(), secretKey, "a wrapped error says %q", e)
		assert.NotContains(t, e.Error(), "bicycle", "a wrapped error says %q", e)
	}
}

// Answers that break off, or are none.
func TestAnswersThatNeverCome(t *testing.T) {
	half := `{"choices":[{"index":0,"message":{"role":"assistant","content":"{`
	for _, test := range []struct {
		name   string
		answer modeltest.Answer
		want   error
	}{
		{"cut off", cutOff(half), prompts.ErrUnavailable},
		{"a web page", modeltest.Body("text/html", "<html>Log in to the network</html>"), prompts.ErrUnavailable},
		{"a stream that nobody asked for", modeltest.Body("text/event-stream", "data: {}\n\n"), prompts.ErrUnavailable},
		{"JSON of another kind", modeltest.Body("application/json", `{"choices":"none"}`), prompts.ErrUnavailable},
		{"nothing at all", modeltest.Body("application/json", ""), prompts.ErrUnavailable},
		{"a refusal", modeltest.Message(openai.ChatCompletionMessage{Refusal: "bicycles are not for me"}, openai.FinishReasonStop), prompts.ErrNoDraft},
		{"a refusal by a filter", stops("", openai.FinishReasonContentFilter), prompts.ErrNoDraft},
		{"a refusal in words", modeltest.Says("I'm sorry, but I cannot help with bicycles."), prompts.ErrNoDraft},
		{"a wish for a tool", callsTool("post_message"), prompts.ErrNoDraft},
		{"empty, twice", modeltest.Says(""), prompts.ErrNoDraft},
		{"truncated JSON, twice", stops(goodAnswer[:99], openai.FinishReasonLength), prompts.ErrNoDraft},
		{"more than 1 MB", modeltest.Says(strings.Repeat("bicycle ", 1<<17)), prompts.ErrNoDraft},
		{"more than 1 MB without an end", modeltest.Body("application/json", strings.Repeat(" ", 1<<20+1)), prompts.ErrNoDraft},
		{"a wording just under 1 MB", modeltest.Says(`{"broader_2":"` + strings.Repeat("bicycle ", 1<<17-200) + `","broader_1":"","narrower_1":"","narrower_2":""}`), prompts.ErrNoDraft},
	} {
		t.Run(test.name, func(t *testing.T) {
			client, _ := start(t, nil, test.answer)
			drafts, _, err := client.Draft(t.Context(), pier)
			assert.Nil(t, drafts, "got %v and", drafts)
			assert.ErrorIs(t, err, test.want, "got %v and", drafts)
			tellsNothing(t, err)
		})
	}
}

// Answers that never end are waited for as long as was said.
func TestAnswersThatTakeTooLong(t *testing.T) {
	for name, answer := range map[string]modeltest.Answer{
		"no answer in time":                  func(_ http.ResponseWriter, r *http.Request, _ modeltest.Request) { <-r.Context().Done() },
		"too slow in the middle of the body": modeltest.Stalls("application/json", `{"choices":[{"index":0`, nil),
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				client, err := prompts.New(prompts.Config{URL: "http://model.invalid/v1", Model: "any", Transport: at{modeltest.New(answer)}})
				require.NoError(t, err)
				begun := time.Now()
				_, _, err = client.Draft(t.Context(), pier)
				assert.ErrorIs(t, err, prompts.ErrUnavailable)
				assert.Equal(t, prompts.DefaultTimeout, time.Since(begun))
				tellsNothing(t, err)
			})
		})
	}
}

func TestServerThatIsNotThere(t *testing.T) {
	gone := httptest.NewServer(http.NotFoundHandler())
	gone.Close()
	_, _, err := newClient(t, gone.URL).Draft(t.Context(), pier)
	assert.ErrorIs(t, err, prompts.ErrUnavailable)
	tellsNothing(t, err)
}

// A caller that gives up gets its own reason back, at once.
func TestCallerGivesUp(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	client, _ := start(t, nil, modeltest.Stalls("application/json", `{"choices":`, cancel))
	_, usage, err := client.Draft(ctx, pier)
	assert.ErrorIs(t, err, context.Canceled)
	assert.NotErrorIs(t, err, prompts.ErrUnavailable)
	assert.Equal(t, 1, usage.Calls, "got %d calls, want 1", usage.Calls)
	tellsNothing(t, err)
}

// People were shown one host; their words go to no other.
func TestRedirectsAreNotFollowed(t *testing.T) {
	elsewhere := modeltest.New(modeltest.Says(goodAnswer))
	other := httptest.NewServer(elsewhere)
	defer other.Close()
	client, _ := start(t, nil, modeltest.Status(307, "Location", other.URL+"/v1/chat/completions"))
	_, _, err := client.Draft(t.Context(), pier)
	assert.ErrorIs(t, err, prompts.ErrNoModel)
	assert.Empty(t, elsewhere.Requests(), "requests went elsewhere")
}

// The second attempt holds the first answer and the rules it broke, and
// leaves everything before as it was.
func TestSecondAttempt(t *testing.T) {
	poor := strings.Replace(goodAnswer, goodDrafts[2], "Build a bigger ferry for bicycles.", 1)
	client, model := start(t, nil, modeltest.Says(poor), modeltest.Says(goodAnswer))
	_, _, err := client.Draft(t.Context(), pier)
	require.NoError(t, err)
	asked := model.Requests()
	require.Len(t, asked, 2, "got %d requests, want 2", len(asked))
	first, second := asked[0].Body.Messages, asked[1].Body.Messages
	require.Len(t, second, 4, "the second request does not go on from the first: %d messages", len(second))
	require.Equal(t, first[0].Content, second[0].Content, "the second request does not go on from the first: %d messages", len(second))
	require.Equal(t, first[1].Content, second[1].Content, "the second request does not go on from the first: %d messages", len(second))
	assert.False(t, second[2].Role != "assistant" || second[2].Content != poor, "the first answer came back as %s %q", second[2].Role, second[2].Content)
	complaint := second[3].Content
	assert.Contains(t, complaint, "- narrower_1: names a solution", "the second request complains")
	assert.NotContains(t, complaint, "broader_2", "the second request complains")
	assert.NotContains(t, complaint, "bigger", "the second request complains")
}

// A server that does not know response formats is asked without, and from
// then on at once.
func TestServerWithoutResponseFormats(t *testing.T) {
	for _, status := range []int{400, 422, 501} {
		old := func(w http.ResponseWriter, r *http.Request, asked modeltest.Request) {
			if asked.Body.ResponseFormat != nil {
				modeltest.Status(status)(w, r, asked)
				return
			}
			modeltest.Says(goodAnswer)(w, r, asked)
		}
		client, model := start(t, nil, old)
		for _, calls := range []int{2, 1} {
			_, usage, err := client.Draft(t.Context(), pier)
			assert.NoError(t, err, "%d: got %d calls and", status, usage.Calls)
			assert.Equal(t, calls, usage.Calls, "%d: got %d calls and", status, usage.Calls)
		}
		format := model.Requests()[0].Body.ResponseFormat
		assert.NotNil(t, format, "%d: the first request asks for the format", status)
		assert.Equal(t, openai.ChatCompletionResponseFormatType("json_schema"), format.Type, "%d: the first request asks for the format", status)
		assert.True(t, format.JSONSchema.Strict, "%d: the first request asks for the format", status)
	}
}

// What the lead is shown is what is sent: address, model, messages, shape.
func TestRequestShowsWhatIsSent(t *testing.T) {
	in := pier
	in.Avoid = []string{"Riders of bicycles do not know where they stand at the pier."}
	client, model := start(t, nil, modeltest.Says(goodAnswer))
	shown := client.Request(in)
	_, _, err := client.Draft(t.Context(), in)
	require.NoError(t, err)
	asked := model.Requests()[0]
	for _, m := range asked.Body.Messages {
		assert.Contains(t, shown, m.Content, "not shown")
	}
	assert.Equal(t, "/v1/chat/completions", asked.Path, "address or model are not shown")
	assert.Contains(t, shown, asked.Path, "address or model are not shown")
	assert.Contains(t, shown, client.Host(), "address or model are not shown")
	assert.Contains(t, shown, "model: "+asked.Body.Model, "address or model are not shown")
	assert.NotContains(t, shown, secretKey, "the key is shown")
	assert.Equal(t, "Bearer "+secretKey, asked.Header.Get("Authorization"), "the key was sent as")
	for _, w := range append(in.Avoid, in.Problem, in.WhyNow) {
		assert.Contains(t, shown, w, "not shown")
	}
}

func TestNoKeyIsSentWhenThereIsNone(t *testing.T) {
	client, model := start(t, func(c *prompts.Config) { c.Key = "" }, modeltest.Says(goodAnswer))
	_, _, err := client.Draft(t.Context(), pier)
	require.NoError(t, err)
	h, ok := model.Requests()[0].Header["Authorization"]
	assert.False(t, ok, "an authorization was sent: %q", h)
}

// "Four others" are others.
func TestFourOthers(t *testing.T) {
	in := pier
	in.Avoid = []string{goodDrafts[1]}
	client, _ := start(t, nil, modeltest.Says(goodAnswer))
	drafts, _, err := client.Draft(t.Context(), in)
	require.NoError(t, err)
	assert.Equal(t, []string{goodDrafts[0], "", goodDrafts[2], goodDrafts[3]}, drafts)
}

// Of a ladder the wordings that pass are shown, each on its rung, though another does
// not; and one that passed the first time stands though the second one spoilt it.
func TestWordingsThatPassAreShown(t *testing.T) {
	answer := func(broader2, broader1, narrower1, narrower2 string) modeltest.Answer {
		text, err := json.Marshal(map[string]string{"broader_2": broader2, "broader_1": broader1, "narrower_1": narrower1, "narrower_2": narrower2})
		require.NoError(t, err)
		return modeltest.Says(string(text))
	}
	const stray = "Gardeners far inland lose roses each year to late frost."
	d := goodDrafts
	for _, c := range []struct {
		rule    string
		answers []modeltest.Answer
		want    []string
	}{
		{"one strays, twice", []modeltest.Answer{answer(d[0], stray, d[2], d[3])}, []string{d[0], "", d[2], d[3]}},
		{"the second answer mends one and spoils another", []modeltest.Answer{answer(d[0], stray, d[2], d[3]), answer(d[0], d[1], stray, d[3])}, d},
		{"no answer comes to what was sent back", []modeltest.Answer{answer(d[0], stray, d[2], d[3]), modeltest.Status(500)}, []string{d[0], "", d[2], d[3]}},
		{"two steps broader may use other words, if something leads there",
			[]modeltest.Answer{answer("Whoever lives on an island cannot plan a day on the other side.", d[1], d[2], d[3])},
			[]string{"Whoever lives on an island cannot plan a day on the other side.", d[1], d[2], d[3]}},
		{"two steps broader is still no other subject", []modeltest.Answer{answer(stray, d[1], d[2], d[3])}, []string{"", d[1], d[2], d[3]}},
	} {
		client, _ := start(t, nil, c.answers...)
		got, _, err := client.Draft(t.Context(), pier)
		require.NoError(t, err, c.rule)
		assert.Equal(t, c.want, got, c.rule)
	}
	client, _ := start(t, nil, answer(stray, stray, stray, stray))
	_, _, err := client.Draft(t.Context(), pier)
	assert.ErrorIs(t, err, prompts.ErrNoDraft, "where none passes there is no draft")
}

// Each cause is told as what it is: what broke at once was not too slow.
func TestCausesAreTrue(t *testing.T) {
	assert.NotContains(t, prompts.Explain(prompts.Ladder, prompts.ErrUnavailable), "in time")
	assert.Contains(t, prompts.Explain(prompts.Ladder, prompts.ErrSlow), "in time")
	assert.ErrorIs(t, prompts.ErrSlow, prompts.ErrUnavailable)
	client, _ := start(t, nil, modeltest.Status(307, "Location", "https://elsewhere.invalid/v1"))
	_, _, err := client.Draft(t.Context(), pier)
	assert.NotContains(t, prompts.Explain(prompts.Ladder, err), "too long", "of a redirect")
}

// Where there is nothing to go on, nothing is sent.
func TestNothingToGoOn(t *testing.T) {
	client, model := start(t, nil, modeltest.Says(goodAnswer))
	_, _, ladder := client.Draft(t.Context(), prompts.Input{Kind: prompts.Ladder, Problem: " \n", WhyNow: "now"})
	_, _, plainer := client.Draft(t.Context(), prompts.Input{Kind: prompts.Plainer})
	_, _, split := client.Draft(t.Context(), prompts.Input{Kind: prompts.Split})
	_, _, gist := client.Draft(t.Context(), prompts.Input{Kind: prompts.Gist, Assumption: "a", Reasons: []string{"only one", " "}})
	for _, err := range []error{ladder, plainer, split, gist} {
		assert.ErrorIs(t, err, prompts.ErrNoDraft)
	}
	assert.Empty(t, model.Requests(), "requests were sent")
}

// Reasons are sent in an order that tells nothing of who wrote them.
func TestReasonsHaveNoOrder(t *testing.T) {
	client, err := prompts.New(prompts.Config{URL: "http://127.0.0.1:1/v1", Model: "any"})
	require.NoError(t, err)
	one := client.Request(prompts.Input{Kind: prompts.Gist, Assumption: "a", Reasons: []string{"first", "", "second", "third"}, Names: []string{"Zebulon"}})
	other := client.Request(prompts.Input{Kind: prompts.Gist, Assumption: "a", Reasons: []string{"third", "first", "second"}})
	assert.Equal(t, other, one, "the order shows")
	assert.NotContains(t, one, "Zebulon", "the order shows")
}

// Every error has a sentence for people, which says what can be done; none
// but those of a wrong setup sends anybody elsewhere.
func TestExplain(t *testing.T) {
	seen := map[string]bool{}
	for _, err := range []error{
		prompts.ErrOff, prompts.ErrUnauthorized, prompts.ErrNoModel, prompts.ErrRejected, prompts.ErrUnavailable, prompts.ErrNoDraft,
		&prompts.Limited{}, &prompts.Limited{RetryAfter: time.Second}, &prompts.Limited{RetryAfter: 90 * time.Second}, context.Canceled,
	} {
		said := prompts.Explain(prompts.Ladder, err)
		assert.False(t, !strings.HasSuffix(said, ".") || seen[said], "%v: says %q, which is no sentence or is said of another", err, said)
		seen[said] = true
	}
	assert.Contains(t, prompts.Explain(prompts.Ladder, &prompts.Limited{RetryAfter: 61 * time.Second}), "in 2 minutes", "61 seconds are told as")
}

// The other drafts: their answers are read as strictly, and measured by the
// same checks.
func TestDraftsOfBeliefs(t *testing.T) {
	const belief = "It is 3 times likelier that commuters utilise a space for their bicycle and remunerate us for it."
	reasons := []string{"My neighbours pay for parking already.", "On our line nobody books anything in advance."}
	plainer := prompts.Input{Kind: prompts.Plainer, Assumption: belief}
	split := prompts.Input{Kind: prompts.Split, Assumption: belief}
	gist := prompts.Input{Kind: prompts.Gist, Assumption: belief, Reasons: reasons, Names: []string{"Zebulon Okafor", "Will Ng"}}
	for _, test := range []struct {
		rule   string
		from   prompts.Input
		answer string
		fails  prompts.Check // empty: it passes
	}{
		{"plainer words", plainer, `{"plain":"It is 3 times likelier that commuters use a space for their bicycle and pay us."}`, ""},
		{"the same words", plainer, `{"plain":"It is 3 times likelier that commuters utilise a space for their bicycle and remunerate us for it!"}`, prompts.CheckCopy},
		{"a figure left out", plainer, `{"plain":"It is likelier that commuters use a space for their bicycle and pay us."}`, prompts.CheckFigures},
		{"not the shape", plainer, `"It is 3 times likelier."`, prompts.CheckShape},
		{"two parts", split, `{"parts":["Commuters utilise a space for their bicycle.","Commuters remunerate us for a bicycle space."]}`, ""},
		{"one part", split, `{"parts":["Commuters utilise a space for their bicycle."]}`, prompts.CheckLevels},
		{"the same part twice", split, `{"parts":["Commuters utilise a space for their bicycle.","Commuters utilise a space for the bicycle."]}`, prompts.CheckCopy},
		{"parts that leave out most", split, `{"parts":["Commuters like their line.","A bicycle needs air."]}`, prompts.CheckTopic},
		{"four parts", split, `{"parts":["Commuters utilise a space.","Commuters have a bicycle.","Commuters remunerate us for it.","It is 3 times likelier for a bicycle."]}`, prompts.CheckLevels},
		{"the whole as a part", split, `{"parts":["` + belief + `","Commuters remunerate us for a bicycle space."]}`, prompts.CheckCopy},
		{"a part with two beliefs", split, `{"parts":["Commuters utilise a space and they love their bicycle.","Commuters remunerate us for a bicycle space."]}`, prompts.CheckOneBelief},
		{"something to build", split, `{"parts":["Commuters utilise a space for their bicycle.","We should build a bicycle space for commuters."]}`, prompts.CheckProblem},
		{"not the shape of parts", split, `{"parts":"none"}`, prompts.CheckShape},
		{"a gist", gist, `{"gist":"Some see that neighbours pay for parking. Others see that people on the line book nothing in advance."}`, ""},
		{"a gist with a long sentence", gist, `{"gist":"Some pay for parking. Others see that people ` + strings.Repeat("on the line ", 15) + `book nothing."}`, prompts.CheckLength},
		{"a gist with a quotation", gist, `{"gist":"Some see that neighbours pay for “parking”. Others see that people on the line book nothing in advance."}`, prompts.CheckNobody},
		{"a gist with five words of a reason", gist, `{"gist":"Some see that their neighbours pay for parking already. Others see that on the line nobody books anything in advance."}`, prompts.CheckNobody},
		{"a gist of one person", gist, `{"gist":"One person sees that neighbours pay for parking. Others see that people on the line book nothing in advance."}`, prompts.CheckNobody},
		{"a gist with a name", gist, `{"gist":"Some see, as Zebulon does, that neighbours pay for parking. Others see that people on the line book nothing in advance."}`, prompts.CheckNobody},
		{"an everyday word that is a name", gist, `{"gist":"Some see that neighbours pay for parking. Others see that people on the line will book nothing in advance."}`, ""},
		{"a second sentence of something else", gist, `{"gist":"Some see that neighbours pay for parking. Citizens of large towns doubt that ballots decide much."}`, prompts.CheckTopic},
		{"not the shape of a gist", gist, `{"gist":["Some pay.","Others do not."]}`, prompts.CheckShape},
		{"more than the shape", gist, `{"gist":"Some pay for parking. Others book nothing in advance.","post":true}`, prompts.CheckShape},
	} {
		t.Run(test.rule, func(t *testing.T) {
			client, _ := start(t, nil, modeltest.Says(test.answer))
			got, _, err := client.Draft(t.Context(), test.from)
			if test.fails == "" {
				assert.NoError(t, err)
				return
			}
			assert.ErrorIs(t, err, prompts.ErrNoDraft, "got %q", got)
			assert.ErrorContains(t, err, ": "+string(test.fails), "got %q", got)
		})
	}
}

// stops answers with content and a reason for stopping there.
func stops(content string, why openai.FinishReason) modeltest.Answer {
	return modeltest.Message(openai.ChatCompletionMessage{Content: content}, why)
}

// callsTool answers with the wish to call a tool.
func callsTool(name string) modeltest.Answer {
	call := openai.ToolCall{ID: "call_1", Type: openai.ToolTypeFunction, Function: openai.FunctionCall{Name: name, Arguments: "{}"}}
	return modeltest.Message(openai.ChatCompletionMessage{ToolCalls: []openai.ToolCall{call}}, openai.FinishReasonToolCalls)
}

// cutOff promises a longer body than it sends, and hangs up.
func cutOff(body string) modeltest.Answer {
	return func(w http.ResponseWriter, r *http.Request, asked modeltest.Request) {
		w.Header().Set("Content-Length", strconv.Itoa(2*len(body)+2))
		modeltest.Body("application/json", body)(w, r, asked)
	}
}
