package main

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/sashabaranov/go-openai"
)

// examineModel asks for the list of models. That shows whether the address
// and the key are right, and sends nothing of anybody's words.
func (s settings) examineModel(ctx context.Context) finding {
	const item = "model"
	models, err := s.model().ListModels(ctx)
	if err != nil {
		return s.noModels(item, err)
	}
	if slices.ContainsFunc(models.Models, func(m openai.Model) bool { return m.ID == s.Model }) {
		return found(item, isGood, "%s is there", s.Model)
	}
	return found(item, isNote, "it answers, and lists no %s; if no draft comes, set SOUNDINGS_MODEL to one that it lists%s", s.Model, examples(models.Models))
}

// model is a client for one question. Like the one that drafts, it goes
// nowhere else than to the address that was set.
func (s settings) model() *openai.Client {
	config := openai.DefaultConfig(s.ModelKey)
	config.BaseURL = strings.TrimSuffix(strings.TrimRight(s.ModelURL, "/"), "/chat/completions")
	config.HTTPClient = &http.Client{
		Timeout:       10 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return errElsewhere },
	}
	return openai.NewClientWithConfig(config)
}

var errElsewhere = errors.New("it points to another address, and the key goes to none but the one that was set")

func (s settings) noModels(item string, err error) finding {
	switch status := statusOf(err); {
	case status == http.StatusUnauthorized, status == http.StatusForbidden:
		return found(item, toMend, "it does not let us in (%d): set SOUNDINGS_MODEL_KEY to a key that it takes", status)
	case status == http.StatusNotFound, status == http.StatusMethodNotAllowed:
		return found(item, isNote, "it answers, and has no list of its models (%d); if no draft comes, check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)
	case status != 0:
		return found(item, toMend, "it answers with %d when asked for its models: check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)
	}
	if asked := (*url.Error)(nil); errors.As(err, &asked) {
		err = asked.Err
	}
	return found(item, toMend, "nothing that we understand answers at SOUNDINGS_MODEL_URL: %v; check the address, and that this machine may connect to it", err)
}

// statusOf is the HTTP status of an answer that was no success; 0 where there
// was no answer.
func statusOf(err error) int {
	if e := (*openai.APIError)(nil); errors.As(err, &e) {
		return e.HTTPStatusCode
	}
	if e := (*openai.RequestError)(nil); errors.As(err, &e) {
		return e.HTTPStatusCode
	}
	return 0
}

// examples names a few models.
func examples(models []openai.Model) string {
	const most = 5
	var names []string
	for _, m := range models[:min(len(models), most)] {
		names = append(names, m.ID)
	}
	if len(names) == 0 {
		return ""
	}
	return ", such as " + strings.Join(names, ", ")
}
