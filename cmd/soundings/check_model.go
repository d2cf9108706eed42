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

	"soundings/bot/words"
)

// examineModel asks for the list of models. That shows whether the address
// and the key are right, and sends nothing of anybody's words.
func (k *checkup) examineModel(ctx context.Context) {
	const item = "model"
	list, err := k.listModels(ctx)
	status := statusOf(err)
	switch {
	case err == nil && slices.ContainsFunc(list, func(m openai.Model) bool { return m.ID == k.Model }):
		k.good(item, "%s is there", k.Model)
	case err == nil:
		k.note(item, "it answers, and lists no %s; if no draft comes, set SOUNDINGS_MODEL to one that it lists%s", k.Model, examples(list))
	case status == http.StatusUnauthorized, status == http.StatusForbidden:
		k.mend(item, "it does not let us in (%d): set SOUNDINGS_MODEL_KEY to a key that it takes", status)
	case status == http.StatusNotFound, status == http.StatusMethodNotAllowed:
		k.note(item, "it answers, and has no list of its models (%d); if no draft comes, check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)
	case status != 0:
		k.mend(item, "it answers with %d when asked for its models: check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)
	default:
		if asked, is := errors.AsType[*url.Error](err); is {
			err = asked.Err
		}
		k.mend(item, "nothing that we understand answers at SOUNDINGS_MODEL_URL: %v; check the address, and that this machine may connect to it", err)
	}
}

// listModels asks once. Like the client that drafts, it goes nowhere else than
// to the address that was set.
func (k *checkup) listModels(ctx context.Context) ([]openai.Model, error) {
	config := openai.DefaultConfig(k.ModelKey)
	config.BaseURL = strings.TrimSuffix(strings.TrimRight(k.ModelURL, "/"), "/chat/completions")
	config.HTTPClient = &http.Client{
		Timeout:       10 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return errElsewhere },
	}
	list, err := openai.NewClientWithConfig(config).ListModels(ctx)
	return list.Models, err
}

var errElsewhere = errors.New("it points to another address, and the key goes to none but the one that was set")

// statusOf is the HTTP status of an answer that was no success; 0 where there
// was no answer.
func statusOf(err error) int {
	if e, is := errors.AsType[*openai.APIError](err); is {
		return e.HTTPStatusCode
	}
	if e, is := errors.AsType[*openai.RequestError](err); is {
		return e.HTTPStatusCode
	}
	return 0
}

// examples names a few models.
func examples(models []openai.Model) string {
	const most = 5
	var names []string
	for _, m := range words.FirstOf(models, most) {
		names = append(names, m.ID)
	}
	if len(names) == 0 {
		return ""
	}
	return ", such as " + strings.Join(names, ", ")
}
