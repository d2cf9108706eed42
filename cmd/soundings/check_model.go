package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/sashabaranov/go-openai"
	"github.com/spf13/cobra"

	"soundings/bot/words"
	"soundings/prompts"
)

// examineModel asks for the list of models. That shows whether the address
// and the key are right, and sends nothing of anybody's words.
func (k *checkup) examineModel(ctx context.Context) {
	list, err := k.listModels(ctx)
	status := statusOf(err)
	k.first("model",
		row{slices.ContainsFunc(list, func(m openai.Model) bool { return m.ID == k.Model }), isGood, k.Model + " is there"},
		row{err == nil, isNote, "it answers, and lists no " + k.Model + "; if no draft comes, set SOUNDINGS_MODEL to one that it lists" + examples(list)},
		row{status == http.StatusUnauthorized || status == http.StatusForbidden, toMend, fmt.Sprintf("it does not let us in (%d): set SOUNDINGS_MODEL_KEY to a key that it takes", status)},
		row{status == http.StatusNotFound || status == http.StatusMethodNotAllowed, isNote, fmt.Sprintf("it answers, and has no list of its models (%d); if no draft comes, check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)},
		row{status != 0, toMend, fmt.Sprintf("it answers with %d when asked for its models: check SOUNDINGS_MODEL_URL, which mostly ends in /v1", status)},
		row{true, toMend, fmt.Sprintf("nothing that we understand answers at SOUNDINGS_MODEL_URL: %v; check the address, and that this machine may connect to it", withoutAddress(err))})
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

// sheetLimit is how long the quality sheet may take unless it is told: 20
// statements at their 20 seconds each, and some patience with a busy server.
const sheetLimit = 10 * time.Minute

// giveUpAfter is after how many statements without any answer the rest is not
// asked.
const giveUpAfter = 3

var errNoAnswers = errors.New("no answer came at all")

// A sheetResult is what check --model prints.
type sheetResult struct {
	Finished bool `json:"finished"` // every statement was tried
	prompts.Report
}

// checkSheet runs the quality sheet against the model that is set up, and
// prints what passes. It reads the settings of the model and no others, so
// that a model can be judged before there is a bot.
func checkSheet(c *cobra.Command, s settings, f checkFlags) error {
	if f.limit <= 0 {
		return wrongf("--limit is how long it may take: more than nothing, such as 5m")
	}
	client, err := s.modelClient()
	switch {
	case err != nil:
		return err
	case client == nil:
		return wrongf("no model is set up: set SOUNDINGS_MODEL_URL to an OpenAI-compatible address and SOUNDINGS_MODEL to a model of it")
	}
	sheet := prompts.OwnSheet()
	least, most := sheet.Calls()
	notes := c.ErrOrStderr()
	if quiet(c) {
		notes = io.Discard
	}
	fmt.Fprintf(notes, "%d problem statements, all of them invented, go to %s, model %s: %d to %d calls, %s at most. Ctrl-C stops it.\n",
		len(sheet.Statements), client.Host(), client.Model(), least, most, span(f.limit))
	limited, stop := context.WithTimeout(c.Context(), f.limit)
	defer stop()
	ctx, giveUp := context.WithCancelCause(limited)
	defer giveUp(nil)
	report, err := prompts.RunSheet(ctx, client, sheet, func(r prompts.Report) {
		fmt.Fprintf(notes, "%d of %d: good %d, none that passes %d, no answer %d\n", r.Tried, r.Statements, r.AtOnce+r.Second, r.NoDraft, r.Lost)
		if r.Tried == giveUpAfter && r.Lost == giveUpAfter {
			giveUp(errNoAnswers)
		}
	})
	if printed := printResult(c, f.json, sheetResult{err == nil, report}, report.String); printed != nil {
		return printed
	}
	return sheetError(context.Cause(ctx), err, report, f.limit)
}

// sheetError says why a sheet was not run to its end, and what to do about it.
func sheetError(cause, err error, r prompts.Report, limit time.Duration) error {
	upTo := fmt.Sprintf("stopped after %d of %d statements", r.Tried, r.Statements)
	if err == nil {
		return nil
	}
	return firstBroken(
		rule{errors.Is(err, prompts.ErrUnauthorized), upTo + ": the model server does not take the key: set SOUNDINGS_MODEL_KEY to one that it takes"},
		rule{errors.Is(err, prompts.ErrNoModel), upTo + ": the model server knows no such model or address: check SOUNDINGS_MODEL, and SOUNDINGS_MODEL_URL, which mostly ends in /v1"},
		rule{errors.Is(err, prompts.ErrRejected), fmt.Sprintf("%s: the model server does not take such requests: %v; check that SOUNDINGS_MODEL is a model for conversations", upTo, err)},
		rule{errors.Is(err, prompts.ErrSpent), upTo + ": the server was busy so often that the calls are spent; try again when it is less busy"},
		rule{errors.Is(cause, errNoAnswers), fmt.Sprintf("%s: none got an answer within %s: check SOUNDINGS_MODEL_URL, and that this machine may connect to it; a model that is slower is of no use for drafts", upTo, prompts.DefaultTimeout)},
		rule{errors.Is(cause, context.DeadlineExceeded), fmt.Sprintf("%s: its time of %s is up; give it more with --limit, or take a faster model", upTo, span(limit))},
		rule{true, upTo})
}

// span is a length of time in words, where it is in whole minutes.
func span(d time.Duration) string {
	switch n := d / time.Minute; {
	case d%time.Minute != 0:
		return d.String()
	case n == 1:
		return "1 minute"
	default:
		return fmt.Sprintf("%d minutes", n)
	}
}
