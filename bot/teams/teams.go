package teams

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"soundings/bot/chat"
	"soundings/bot/journal"
)

// ErrUninstalled says that a team has taken the app away, or never had it.
var ErrUninstalled = errors.New("the team has taken the app away")

// A Team is one that is served.
type Team struct {
	ID    string
	Chat  *chat.Client // with the team's own token
	since time.Time    // when the token was given; zero where that is not known
}

// Kickoffs is what has to happen to the kickoffs of a team that takes the app
// away or comes back.
type Kickoffs interface {
	Forget(team string) // drop what is cached of them
	SweepKickoff(ctx context.Context, key journal.Key) error
}

// A Queue forgets jobs; see jobs.Asynq.
type Queue interface {
	Forget(ctx context.Context, mine func(id string) bool) error
}

// Config is what Teams are made of. Every field is needed.
type Config struct {
	Tokens   Tokens
	Journal  *journal.Journal
	Queue    Queue
	Kickoffs Kickoffs
	Clock    func() time.Time
	Logger   *slog.Logger

	// PurgeAfter is how long what a team holds is kept after it has taken the
	// app away.
	PurgeAfter time.Duration
}

// Teams knows the teams that are served. It may be used by many goroutines.
type Teams struct{ Config }

// New makes Teams.
func New(c Config) *Teams { return &Teams{c} }

// Get is a team with its client, or ErrUninstalled. A team that took the app
// away is taken back where it turns out to have it again.
func (t *Teams) Get(ctx context.Context, id string) (Team, error) {
	uninstall, away, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil {
		return Team{}, err
	}
	if away {
		if back, err := t.tryBack(ctx, id, uninstall); err != nil || !back {
			return Team{}, errors.Join(ErrUninstalled, err)
		}
	}
	return t.token(ctx, id)
}

// ForJob is Get, for jobs: they have time, and ask nobody whether a team is
// back.
func (t *Teams) ForJob(ctx context.Context, id string) (Team, error) {
	_, away, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil {
		return Team{}, err
	}
	if away {
		t.Kickoffs.Forget(id)
		return Team{}, ErrUninstalled
	}
	return t.token(ctx, id)
}

func (t *Teams) token(ctx context.Context, id string) (Team, error) {
	team, err := t.Tokens.Team(ctx, id)
	if errors.Is(err, ErrUninstalled) {
		t.Kickoffs.Forget(id)
	}
	return team, err
}
