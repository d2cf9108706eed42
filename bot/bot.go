// Package bot puts the shell around flows together: the chat platform comes
// in, and the chat platform goes out.
//
//	incoming   a request arrives, is held to its signature, and becomes an intent
//	kickoffs   the intent is decided, written to the journal, and only then acknowledged
//	outgoing   what should follow waits in the queue, and is done by workers
//	           that may be interrupted and repeated at any point
//	teams      whose token is used, and what ends with it
//	chat       the Web API
//
// The arrows between them go one way. The bot decides nothing. Any number of
// processes may run against one Redis. Start with [New] and [Config].
package bot

import (
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
	"soundings/bot/kickoffs"
	"soundings/bot/metrics"
	"soundings/bot/outgoing"
	"soundings/bot/teams"
	"soundings/flows"
)

// A Queue takes jobs. A job whose id it knows already is a success and does
// nothing.
type Queue interface {
	Enqueue(ctx context.Context, j jobs.Job) error

	// Forget removes the jobs whose ids are mine, so that their ids are free
	// again. One that runs at this moment is left alone.
	Forget(ctx context.Context, mine func(id string) bool) error
}

// Config is what a Bot is made of. Every field without a default is needed.
type Config struct {
	Journal *journal.Journal
	Queue   Queue
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

	// PurgeAfter is how long what a team holds is kept after it has taken the
	// app away. Default: 30 days.
	PurgeAfter time.Duration

	// Metrics counts what happens; nil counts nothing.
	Metrics *metrics.Metrics

	// Drafter drafts wordings for the leads who ask for them; nil is off.
	Drafter drafts.Drafter

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
	if c.Coalesce < 0 {
		faults = append(faults, errors.New("a negative Coalesce was given"))
	}
	return errors.Join(faults...)
}

func (c *Config) setDefaults() {
	if c.Clock == nil {
		c.Clock = time.Now
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	if c.Command == "" {
		c.Command = "/soundings"
	}
	if c.Lookups <= 0 {
		c.Lookups = 8
	}
	if c.PurgeAfter <= 0 {
		c.PurgeAfter = 30 * 24 * time.Hour
	}
	if c.Coalesce == 0 {
		c.Coalesce = 2 * time.Minute
	}
}

// tokens are those of the teams that are served.
func (c *Config) tokens() teams.Tokens {
	if c.Installs == nil {
		return teams.Single{Chat: c.Chat}
	}
	return teams.NewInstalled(c.Installs, c.ChatWith, c.Logger)
}

// A Bot serves kickoffs. It may be used by many goroutines. Embedded is what
// takes requests of the platform; see [incoming.Receiver].
type Bot struct {
	*incoming.Receiver
	config   Config
	kickoffs *kickoffs.Store
	teams    *teams.Teams
	worker   *outgoing.Worker
}

// New makes a Bot, or says what is wrong with its Config.
func New(c Config) (*Bot, error) {
	if err := c.validate(); err != nil {
		return nil, fmt.Errorf("configure the bot: %w", err)
	}
	c.setDefaults()
	queue := &outgoing.Queue{Jobs: c.Queue, Clock: c.Clock, Coalesce: c.Coalesce}
	b := &Bot{config: c}
	b.kickoffs = kickoffs.New(kickoffs.Config{Journal: c.Journal, Follower: queue, Clock: c.Clock, Logger: c.Logger})
	b.teams = teams.New(teams.Config{Tokens: c.tokens(), Journal: c.Journal, Queue: c.Queue, Kickoffs: b.kickoffs,
		Clock: c.Clock, Logger: c.Logger, PurgeAfter: c.PurgeAfter})
	b.worker = outgoing.New(outgoing.Config{Queue: queue, Kickoffs: b.kickoffs, Journal: c.Journal,
		Clock: c.Clock, Logger: c.Logger, Drafter: c.Drafter, Metrics: c.Metrics})
	b.Receiver = incoming.New(incoming.Config{Teams: b.teams, Kickoffs: b.kickoffs, Journal: c.Journal, Orders: queue,
		Clock: c.Clock, Logger: c.Logger, Drafter: c.Drafter, Metrics: c.Metrics,
		Secret: c.Secret, Command: c.Command, InstallPage: c.InstallPage, Lookups: c.Lookups})
	return b, nil
}

// uninstalledPause is how long a job waits for a team to put the app back.
// Policy of the queue says how often; what is given up meanwhile is found again
// when the team is back.
const uninstalledPause = time.Hour

// Work does one job. It is safe to repeat at any point: whatever was done is
// found done. Its error says whether trying again may help.
func (b *Bot) Work(ctx context.Context, j jobs.Job) error {
	err := b.work(ctx, j)
	b.config.Metrics.Job(j.Kind, metrics.Outcome(err))
	return err
}

func (b *Bot) work(ctx context.Context, j jobs.Job) error {
	id, err := outgoing.TeamOf(j)
	if err != nil {
		return err
	}
	team, err := b.teams.ForJob(ctx, id)
	if err == nil {
		err = b.worker.Do(ctx, team.Chat, j)
	}
	if errors.Is(err, chat.ErrRevoked) {
		if failed := b.teams.Revoked(ctx, team); failed != nil {
			return failed
		}
		err = teams.ErrUninstalled
	}
	if errors.Is(err, teams.ErrUninstalled) {
		return jobs.Retry(teams.ErrUninstalled, uninstalledPause)
	}
	return err
}

// Sweep queues the effects of entries whose effects were never queued.
func (b *Bot) Sweep(ctx context.Context) error { return b.kickoffs.Sweep(ctx) }

// Kickoff folds the journal of a kickoff, for exports.
func (b *Bot) Kickoff(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	return b.kickoffs.Load(ctx, key)
}

// Installed takes a new install, and takes up again what was going on.
func (b *Bot) Installed(ctx context.Context, i installs.Install) error {
	return b.teams.Install(ctx, b.config.Installs, i)
}

// Here takes up again what was going on in a team whose token is known to be
// good, as when the program starts.
func (b *Bot) Here(ctx context.Context, team string) error { return b.teams.Served(ctx, team) }

// PurgeAway purges the teams whose grace after an uninstall is over.
func (b *Bot) PurgeAway(ctx context.Context) error { return b.teams.PurgeAway(ctx) }
