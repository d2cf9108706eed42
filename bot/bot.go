package bot

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
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
	Chat    *Chat            // of the one team that is served; none with Installs
	Clock   func() time.Time // default: time.Now
	Logger  *slog.Logger     // default: discards
	Client  *http.Client     // for answers outside the Web API; default: one with a short time limit
	Secret  string           // signs what the platform sends over HTTP
	Command string           // the slash command; default: /soundings

	// Installs keeps the tokens of the teams that are served; nil serves the
	// one team of Chat. ChatWith then makes the Chat for a token, and
	// InstallPage is where a team installs the app, for those who miss it.
	Installs    *installs.Store
	ChatWith    func(token string) *Chat
	InstallPage string

	// PurgeAfter is how long what a team holds is kept after it has taken the
	// app away. Default: 30 days.
	PurgeAfter time.Duration

	// Metrics counts what happens; nil counts nothing.
	Metrics *Metrics

	// Drafter drafts wordings for the leads who ask for them; nil is off.
	Drafter Drafter

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
	faults = append(faults, c.validateInstalls())
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
	if c.Client == nil {
		c.Client = &http.Client{Timeout: 2 * time.Second}
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

// A Bot serves kickoffs. It may be used by many goroutines.
type Bot struct {
	Config
	kept  *kept
	chats *chats
	given time.Time // when the token of Chat was given, with Installs
}

// New makes a Bot, or says what is wrong with its Config.
func New(c Config) (*Bot, error) {
	if err := c.validate(); err != nil {
		return nil, fmt.Errorf("configure the bot: %w", err)
	}
	c.setDefaults()
	if c.Installs != nil {
		c.Chat = c.ChatWith("") // in no team: it can answer whoever pressed something, and nothing else
	}
	return &Bot{Config: c, kept: newKept(), chats: newChats()}, nil
}
