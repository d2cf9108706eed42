// Package teams knows which teams are served, and with which token each of
// them is. [Teams.Get] gives the team of a request with its [chat.Client], or
// [ErrUninstalled].
//
// A team that uninstalls the app is marked in the journal, where every process
// sees it: nothing is sent there any more, and after PurgeAfter nothing is left
// of it here. Installed again before that, everything goes on where it was.
//
// What the kickoffs of a team are about is not known here: package kickoffs
// takes them up again. Start with [Teams].
package teams

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"soundings/bot/chat"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
)

// ErrUninstalled says that a team has uninstalled the app, or never had it.
var ErrUninstalled = errors.New("the team has uninstalled the app")

// A Team is one that is served.
type Team struct {
	ID    string
	Chat  *chat.Client // with the team's own token
	since time.Time    // when the token was given; zero where that is not known
}

// Teams knows the teams that are served. It may be used by many goroutines.
// Every exported field is needed, and either Chat, which serves whatever team
// asks with one token, or Installs, for teams that install the app themselves.
type Teams struct {
	Journal  *journal.Journal
	Queue    jobs.Queue
	Kickoffs *kickoffs.Store
	Clock    func() time.Time
	Logger   *slog.Logger

	// PurgeAfter is how long what a team holds is kept after it has uninstalled
	// the app.
	PurgeAfter time.Duration

	Chat     *chat.Client
	Installs *installs.Store
	ChatWith func(token string) *chat.Client // with Installs

	mu      sync.Mutex
	clients map[string]client // by team
	served  map[string]servedTeam
}

// A servedTeam is a team that had the app a moment ago.
type servedTeam struct {
	Team
	until time.Time
}

// A client is a chat client with its token. Whether a team has a token, and
// which, is read from Installs each time.
type client struct {
	token string
	chat  *chat.Client
}

// fresh is how long a team that was served is served without asking again
// whether it still has the app. What another process hears of an uninstall is
// known here after that; nothing is sent in the meantime, since jobs ask each
// time.
const fresh = time.Second

// Recent is Get for choices on a ballot, of which there are thousands: a team
// that was served a moment ago is served again. A choice is written to a kickoff
// that is there or not at all, so nothing comes of it after a purge.
func (t *Teams) Recent(ctx context.Context, id string) (Team, error) {
	t.mu.Lock()
	served, now := t.served[id], time.Now()
	t.mu.Unlock()
	if now.Before(served.until) {
		return served.Team, nil
	}
	team, err := t.Get(ctx, id)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err != nil {
		delete(t.served, id)
		return team, err
	}
	if t.served == nil {
		t.served = map[string]servedTeam{}
	}
	t.served[id] = servedTeam{team, now.Add(fresh)}
	return team, nil
}

// changed forgets that a team has the app, or that it has not.
func (t *Teams) changed(id string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.served, id)
}

// Get is a team with its client, or ErrUninstalled. A team that uninstalled the
// app is served again where it turns out to have it.
func (t *Teams) Get(ctx context.Context, id string) (Team, error) {
	u, uninstalled, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil {
		return Team{}, err
	}
	if uninstalled {
		if resumed, err := t.resumeIfInstalled(ctx, id, u); err != nil || !resumed {
			return Team{}, errors.Join(ErrUninstalled, err)
		}
	}
	return t.withToken(ctx, id)
}

// ForJob is Get for jobs: they have time, and ask nobody whether a team has
// the app again.
func (t *Teams) ForJob(ctx context.Context, id string) (Team, error) {
	_, uninstalled, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil {
		return Team{}, err
	}
	if uninstalled {
		t.Kickoffs.Forget(id)
		return Team{}, ErrUninstalled
	}
	return t.withToken(ctx, id)
}

func (t *Teams) withToken(ctx context.Context, id string) (Team, error) {
	if t.Installs == nil {
		return Team{ID: id, Chat: t.Chat}, nil
	}
	install, err := t.Installs.Get(ctx, id)
	switch {
	case errors.Is(err, installs.ErrDecrypt):
		t.Logger.Error("the token of a team cannot be opened: put the former key into SOUNDINGS_TOKEN_KEY_OLD, or let the team install the app again", "team", id)
		err = ErrUninstalled
	case errors.Is(err, installs.ErrNotInstalled):
		t.mu.Lock()
		delete(t.clients, id)
		t.mu.Unlock()
		err = ErrUninstalled
	}
	if errors.Is(err, ErrUninstalled) {
		t.Kickoffs.Forget(id)
	}
	if err != nil {
		return Team{}, err
	}
	return Team{ID: id, Chat: t.clientFor(id, install.Token), since: install.At}, nil
}

// clientFor is the client for a token, made anew when the token is another one.
func (t *Teams) clientFor(id, token string) *chat.Client {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.clients == nil {
		t.clients = map[string]client{}
	}
	if known := t.clients[id]; known.chat == nil || known.token != token {
		t.clients[id] = client{token, t.ChatWith(token)}
	}
	return t.clients[id].chat
}

// Receiver is the team that an event is for: of what happens in a channel
// shared by two teams, the platform names the one where it happened, and the
// install that hears of it.
func (t *Teams) Receiver(named, authorized string) string {
	if t.Installs != nil && authorized != "" {
		return authorized
	}
	return named
}

// Responder is a client that can answer whoever pressed something in a team
// that is not served, and nothing else.
func (t *Teams) Responder() *chat.Client {
	if t.Installs == nil {
		return t.Chat
	}
	return t.ChatWith("")
}
