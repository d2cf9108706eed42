// Package bot puts the shell around flows together: the chat platform comes
// in, and the chat platform goes out.
//
//	incoming   a request arrives, is held to its signature, and becomes an intent
//	kickoffs   the intent is decided, written to the journal, and only then acknowledged
//	outgoing   what should follow waits in the queue, and is done by workers
//	           that may be interrupted and repeated at any point
//	keeping    what is not kept for ever
//	teams      whose token is used, and what ends with it
//	drafts     what a model is asked, by leads who want it
//	profiles   who people are, kept for the day
//	chat       the Web API
//
// incoming, outgoing and teams use kickoffs, which knows none of them: it hands
// what should follow to a Follower. The bot decides nothing. Any number of
// processes may run against one Redis. Start with [New] and [Config].
package bot

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/incoming"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/keeping"
	"soundings/bot/kickoffs"
	"soundings/bot/metrics"
	"soundings/bot/outgoing"
	"soundings/bot/profiles"
	"soundings/bot/teams"
	"soundings/bot/zones"
)

// Config is what a Bot is made of. Every field without a default is needed.
type Config struct {
	Journal *journal.Journal
	Queue   jobs.Queue
	Chat    *chat.Client     // of the one team that is served; none with Installs
	Clock   func() time.Time // default: time.Now
	Logger  *slog.Logger     // default: discards
	Secret  string           // signs what the platform sends over HTTP
	Command string           // the slash command; default: /soundings

	// Installs keeps the tokens of the teams that are served; nil serves the
	// one team of Chat. ChatWith then makes the client for a token, and
	// InstallPage is where a team installs the app, for those who miss it.
	Installs    *installs.Store
	ChatWith    func(token string) *chat.Client
	InstallPage string

	// PurgeAfter is how long what a team holds is kept after it has uninstalled
	// the app. Default: 30 days.
	PurgeAfter time.Duration

	// KeepEnded is how long a kickoff is kept after its end. Default: 365 days.
	KeepEnded time.Duration

	// Metrics counts what happens; nil counts nothing.
	Metrics *metrics.Metrics

	// Drafter drafts wordings for the leads who ask for them; nil is off.
	Drafter drafts.Drafter

	// AnswerWithin is how long a request may take until it is answered with an
	// error; more than 300 ms. Default: 2.5 s, since the platform waits 3 s.
	AnswerWithin time.Duration

	// Lookups is how many people are looked up at once. Default: 8.
	Lookups int

	// Coalesce is how long a change of progress may wait for others, so that
	// many answers cost one update. Default: 2 min.
	Coalesce time.Duration
}

// validate reports every fault at once, by the name of the field.
func (c *Config) validate() error {
	var faults []error
	if c.Journal == nil {
		faults = append(faults, errors.New("no Journal was given"))
	}
	if c.Queue == nil {
		faults = append(faults, errors.New("no Queue was given"))
	}
	switch {
	case c.Installs == nil && c.Chat == nil:
		faults = append(faults, errors.New("no Chat was given"))
	case c.Installs != nil && (c.Chat != nil || c.ChatWith == nil):
		faults = append(faults, errors.New("with Installs, ChatWith is needed and Chat is not"))
	}
	if c.Coalesce < 0 || c.Lookups < 0 || c.PurgeAfter < 0 || c.KeepEnded < 0 {
		faults = append(faults, errors.New("a negative Coalesce, Lookups, PurgeAfter or KeepEnded was given"))
	}
	return errors.Join(faults...)
}

func (c *Config) setDefaults() {
	if c.Clock == nil {
		c.Clock = time.Now
	}
	c.Logger = cmp.Or(c.Logger, slog.New(slog.DiscardHandler))
	c.Command = cmp.Or(c.Command, "/soundings")
	c.Lookups = cmp.Or(c.Lookups, 8)
	c.PurgeAfter = cmp.Or(c.PurgeAfter, 30*24*time.Hour)
	c.KeepEnded = cmp.Or(c.KeepEnded, 365*24*time.Hour)
	c.Coalesce = cmp.Or(c.Coalesce, 2*time.Minute)
}

// A Bot serves kickoffs. It may be used by many goroutines. Embedded is what
// takes requests of the platform; its Kickoffs and Teams are those of the Bot.
type Bot struct {
	*incoming.Receiver
	Keeping *keeping.Keeper
	worker  *outgoing.Worker
}

// New makes a Bot, or says what is wrong with its Config.
func New(c Config) (*Bot, error) {
	if err := c.validate(); err != nil {
		return nil, fmt.Errorf("configure the bot: %w", err)
	}
	c.setDefaults()
	queue := &outgoing.Queue{Jobs: c.Queue, Clock: c.Clock, Coalesce: c.Coalesce}
	store := &kickoffs.Store{Journal: c.Journal, Follower: queue, Zones: new(zones.Cache), Clock: c.Clock, Logger: c.Logger}
	served := &teams.Teams{Journal: c.Journal, Queue: c.Queue, Kickoffs: store, Clock: c.Clock, Logger: c.Logger,
		PurgeAfter: c.PurgeAfter, Chat: c.Chat, Installs: c.Installs, ChatWith: c.ChatWith}
	who := &profiles.Profiles{Journal: c.Journal, Clock: c.Clock, Logger: c.Logger, Lookups: c.Lookups}
	return &Bot{
		Receiver: &incoming.Receiver{Teams: served, Kickoffs: store, Journal: c.Journal, Profiles: who, Orders: queue,
			Clock: c.Clock, Logger: c.Logger, Drafter: c.Drafter, Metrics: c.Metrics,
			Secret: c.Secret, Command: c.Command, InstallPage: c.InstallPage, AnswerWithin: c.AnswerWithin},
		Keeping: &keeping.Keeper{Journal: c.Journal, Queue: c.Queue, Kickoffs: store, Clock: c.Clock, Logger: c.Logger, KeepEnded: c.KeepEnded},
		worker: outgoing.NewWorker(outgoing.Worker{Queue: queue, Teams: served, Kickoffs: store, Journal: c.Journal, Profiles: who,
			Clock: c.Clock, Logger: c.Logger, Drafter: c.Drafter, Metrics: c.Metrics}),
	}, nil
}

// Work does one job. It is safe to repeat at any point: whatever was done is
// found done. Its error says whether trying again may help.
func (b *Bot) Work(ctx context.Context, j jobs.Job) error { return b.worker.Work(ctx, j) }

// Compare compares what stands in the channels with the journal, and has drawn
// anew what shows more than the journal knows. It is for the start, and slow.
func (b *Bot) Compare(ctx context.Context) (compared int, behind []journal.Key, err error) {
	return b.worker.Compare(ctx)
}
