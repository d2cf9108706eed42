// Package metrics counts what the bot does: requests of the platform, jobs,
// calls of the Web API and drafts, for Prometheus. It knows kinds and outcomes,
// and nothing about people or kickoffs; whoever does the work says what came
// of it. Start with [New].
package metrics

import (
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"soundings/flows"
	"soundings/prompts"
)

// Metrics count what the bot does. They carry kinds and outcomes, and
// nothing about people or kickoffs. A nil Metrics counts nothing.
type Metrics struct {
	requests *prometheus.CounterVec
	jobs     *prometheus.CounterVec
	calls    *prometheus.CounterVec
	givenUp  *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	drafts   *prometheus.CounterVec
	asked    prometheus.Counter
	tokens   *prometheus.CounterVec
	cost     prometheus.Counter
}

// New registers the metrics with r.
func New(r prometheus.Registerer) *Metrics {
	with := promauto.With(prometheus.WrapRegistererWithPrefix("soundings_", r))
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return with.NewCounterVec(prometheus.CounterOpts{Name: name, Help: help}, labels)
	}
	m := &Metrics{
		requests: counter("requests_total", "Requests of the platform, by kind and outcome.", "kind", "outcome"),
		jobs:     counter("jobs_total", "Jobs done, by kind and outcome.", "kind", "outcome"),
		calls:    counter("web_api_calls_total", "Web API calls, by method, HTTP status and the platform's own error, which is empty where there is none.", "method", "status", "error"),
		givenUp:  counter("jobs_given_up_total", "Jobs that will not be tried again, by kind.", "kind"),
		seconds: with.NewHistogramVec(prometheus.HistogramOpts{Name: "request_seconds",
			Help: "Time until a request was answered; the platform waits three seconds.", Buckets: []float64{.01, .03, .1, .3, 1, 2, 3}}, []string{"kind"}),
		drafts: counter("drafts_total", "Requests for drafts, by outcome and what was to be drafted.", "outcome", "what"),
		asked:  with.NewCounter(prometheus.CounterOpts{Name: "model_calls_total", Help: "Calls of the model."}),
		tokens: counter("model_tokens_total", "Tokens that the model server counted, by direction.", "direction"),
		cost: with.NewCounter(prometheus.CounterOpts{Name: "model_cost_total",
			Help: "What drafts cost, at the prices and in the currency that were set; 0 where none were."}),
	}
	// What is watched for its increase stands at 0 before it first happens.
	for _, why := range []string{Unsigned, Stale, WrongSignature, TooMany} {
		m.requests.WithLabelValues(unread, why)
	}
	for _, kind := range []string{"command", "event", "block_actions", "view_submission"} {
		m.requests.WithLabelValues(kind, Failed)
	}
	return m
}

// unread is the kind of requests that were refused before they were read.
const unread = "unread"

// Why requests are refused before they are read.
const (
	Unsigned       = "unsigned"
	Stale          = "too old"
	WrongSignature = "wrong signature"
	TooMany        = "too many"
)

// Request notes how one request went, and how long it took.
func (m *Metrics) Request(kind, outcome string, took time.Duration) {
	if m == nil {
		return
	}
	m.requests.WithLabelValues(kind, outcome).Inc()
	m.seconds.WithLabelValues(kind).Observe(took.Seconds())
}

// Job notes how one job went.
func (m *Metrics) Job(kind, outcome string) {
	if m != nil {
		m.jobs.WithLabelValues(kind, outcome).Inc()
		m.givenUp.WithLabelValues(kind)
	}
}

// Drafted notes how one request for drafts went, and what it cost.
func (m *Metrics) Drafted(what string, u prompts.Usage, err error) {
	if m == nil {
		return
	}
	m.drafts.WithLabelValues(draftOutcome(err), what).Inc()
	m.asked.Add(float64(u.Calls))
	m.tokens.WithLabelValues("prompt").Add(float64(u.PromptTokens))
	m.tokens.WithLabelValues("completion").Add(float64(u.CompletionTokens))
	m.cost.Add(u.Cost)
}

func draftOutcome(err error) string {
	switch {
	case err == nil:
		return "good"
	case errors.As(err, new(*prompts.Limited)):
		return "limited"
	case errors.Is(err, prompts.ErrNoDraft):
		return "no draft"
	case errors.Is(err, prompts.ErrUnavailable):
		return "unavailable"
	}
	return "refused"
}

// Outcome is what came of work that ended with err.
func Outcome(err error) string {
	switch {
	case err == nil:
		return Good
	case errors.As(err, new(*flows.Refusal)):
		return Refused
	}
	return Failed
}

// The outcomes. Unreadable is what the platform sent and nobody can make sense
// of.
const (
	Good       = "good"
	Refused    = "refused"
	Unreadable = "unreadable"
	Failed     = "failed"
)

// GivenUp notes a job that will not be tried again.
func (m *Metrics) GivenUp(kind string) {
	if m != nil {
		m.givenUp.WithLabelValues(kind).Inc()
	}
}

// Refuse notes a request that was refused before it was read, and why.
func (m *Metrics) Refuse(why string) {
	if m != nil {
		m.requests.WithLabelValues(unread, why).Inc()
	}
}
