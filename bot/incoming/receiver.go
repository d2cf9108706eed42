// Package incoming takes what the platform sends: it holds HTTP requests to
// their signature ([Receiver.Handler]), or keeps a [Socket] open, and turns
// buttons, forms, commands and events into intents of flows. A request is
// acknowledged only when what it asked for is durable; see package kickoffs.
// It also draws what somebody sees at once: forms, the home tab, and answers
// to them alone.
//
// It decides nothing, and what follows from an intent is done by package
// outgoing, later. Start with [Receiver.Interact] and [Receiver.Event].
package incoming

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/metrics"
	"soundings/bot/profiles"
	"soundings/bot/teams"
)

// Orders takes orders for drafts; delivery names the request that asked.
type Orders interface {
	Draft(ctx context.Context, key journal.Key, delivery string, o drafts.Order) error
}

// A Receiver takes what the platform sends. It may be used by many goroutines.
// Fields are needed unless it says otherwise.
type Receiver struct {
	Teams    *teams.Teams
	Kickoffs *kickoffs.Store
	Journal  *journal.Journal // for channels, people and greetings
	Profiles *profiles.Profiles
	Orders   Orders
	Clock    func() time.Time
	Logger   *slog.Logger
	Drafter  drafts.Drafter   // nil is off
	Metrics  *metrics.Metrics // nil counts nothing

	Secret      string // signs what the platform sends over HTTP
	Command     string // the slash command
	InstallPage string // where a team installs the app; may be empty

	AnswerWithin time.Duration // how long a request may take; 0 is 2.5 s
}

// errUnreadable marks what the platform sent but we cannot make sense of.
var errUnreadable = errors.New("the payload makes no sense here")

// errNoTrigger refuses what carries no trigger. By its trigger a delivery is told
// from that of somebody else: without one, a second person's answer would be
// taken for the first one's that comes again, and be lost.
var errNoTrigger = fmt.Errorf("%w: it carries no trigger_id", errUnreadable)

// count notes how a request went that began at a moment, once it is over.
func (v *Receiver) count(kind string, began time.Time, err *error) {
	outcome := metrics.Outcome(*err)
	if errors.Is(*err, errUnreadable) {
		outcome = metrics.Unreadable
	}
	v.Metrics.Request(kind, outcome, time.Since(began))
}

// A team is the Receiver as it serves one team.
type team struct {
	*Receiver
	id   string
	chat *chat.Client
}

// forTeam finds the team of a request, or teams.ErrUninstalled.
func (v *Receiver) forTeam(ctx context.Context, id string) (*team, error) {
	return v.served(v.Teams.Get(ctx, id))
}

func (v *Receiver) served(t teams.Team, err error) (*team, error) {
	if err != nil {
		return nil, err
	}
	return &team{Receiver: v, id: t.ID, chat: t.Chat}, nil
}
