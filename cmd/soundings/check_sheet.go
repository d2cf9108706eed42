package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"soundings/prompts"
)

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
	fmt.Fprintf(c.ErrOrStderr(), "%d problem statements, all of them invented, go to %s, model %s: %d to %d calls, %s at most. Ctrl-C stops it.\n",
		len(sheet.Statements), client.Host(), client.Model(), least, most, span(f.limit))
	limited, stop := context.WithTimeout(c.Context(), f.limit)
	defer stop()
	ctx, giveUp := context.WithCancelCause(limited)
	defer giveUp(nil)
	report, err := prompts.RunSheet(ctx, client, sheet, func(r prompts.Report) {
		fmt.Fprintf(c.ErrOrStderr(), "%d of %d: good %d, none that passes %d, no answer %d\n", r.Tried, r.Statements, r.AtOnce+r.Second, r.NoDraft, r.Lost)
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
	switch {
	case err == nil:
		return nil
	case errors.Is(err, prompts.ErrUnauthorized):
		return fmt.Errorf("%s: the model server does not take the key: set SOUNDINGS_MODEL_KEY to one that it takes", upTo)
	case errors.Is(err, prompts.ErrNoModel):
		return fmt.Errorf("%s: the model server knows no such model or address: check SOUNDINGS_MODEL, and SOUNDINGS_MODEL_URL, which mostly ends in /v1", upTo)
	case errors.Is(err, prompts.ErrRejected):
		return fmt.Errorf("%s: the model server does not take such requests: %w; check that SOUNDINGS_MODEL is a model for conversations", upTo, err)
	case errors.Is(err, prompts.ErrSpent):
		return fmt.Errorf("%s: the server was busy so often that the calls are spent; try again when it is less busy", upTo)
	case errors.Is(cause, errNoAnswers):
		return fmt.Errorf("%s: none got an answer within %s: check SOUNDINGS_MODEL_URL, and that this machine may connect to it; a model that is slower is of no use for drafts", upTo, prompts.DefaultTimeout)
	case errors.Is(cause, context.DeadlineExceeded):
		return fmt.Errorf("%s: its time of %s is up; give it more with --limit, or take a faster model", upTo, span(limit))
	}
	return fmt.Errorf("%s", upTo)
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
