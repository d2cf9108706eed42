package teams

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"soundings/bot/chat"
	"soundings/bot/installs"
)

// Tokens says with which token each team is served.
type Tokens interface {
	// Team is a team with its client, or ErrUninstalled.
	Team(ctx context.Context, id string) (Team, error)

	// Served reports whether a team that took the app away has it again. An
	// error means that nobody knows.
	Served(ctx context.Context, id string) (bool, error)

	// Drop forgets the token of a team that took the app away at a moment;
	// false where it has been given a newer one since.
	Drop(ctx context.Context, id string, until time.Time) (bool, error)

	// Forget forgets whatever token a team has.
	Forget(ctx context.Context, id string) error

	// Receiver is the team that an event is for: of what happens in a channel
	// shared by two teams, it names the one where it happened, and the install
	// that hears of it.
	Receiver(named, authorized string) string

	// Responder is a client that can answer whoever pressed something in a
	// team that is not served, and nothing else.
	Responder() *chat.Client
}

// Single serves whatever team asks with one token.
type Single struct{ Chat *chat.Client }

// Team is for Tokens.
func (s Single) Team(_ context.Context, id string) (Team, error) {
	return Team{ID: id, Chat: s.Chat}, nil
}

// Served is for Tokens. Whether the token is good the platform has to say.
func (s Single) Served(ctx context.Context, id string) (bool, error) {
	whose, err := s.Chat.Team(ctx)
	if errors.Is(err, chat.ErrForbidden) {
		return false, nil
	}
	return err == nil && whose == id, err
}

// Drop is for Tokens. The token is in the settings.
func (s Single) Drop(context.Context, string, time.Time) (bool, error) { return true, nil }

// Forget is for Tokens.
func (s Single) Forget(context.Context, string) error { return nil }

// Receiver is for Tokens.
func (s Single) Receiver(named, _ string) string { return named }

// Responder is for Tokens.
func (s Single) Responder() *chat.Client { return s.Chat }

// Installed serves the teams that installed the app by themselves.
type Installed struct {
	store  *installs.Store
	client func(token string) *chat.Client
	none   *chat.Client // without a token
	logger *slog.Logger

	mu    sync.Mutex
	cache map[string]cached
}

// cached is a client with its token. Whether a team has a token, and which,
// is read from the store each time.
type cached struct {
	token string
	chat  *chat.Client
}

// NewInstalled makes an Installed; client makes the client for a token.
func NewInstalled(store *installs.Store, client func(token string) *chat.Client, logger *slog.Logger) *Installed {
	return &Installed{store: store, client: client, none: client(""), logger: logger, cache: map[string]cached{}}
}

// Team is for Tokens.
func (i *Installed) Team(ctx context.Context, id string) (Team, error) {
	install, err := i.store.Get(ctx, id)
	switch {
	case errors.Is(err, installs.ErrDecrypt):
		i.logger.Error("the token of a team cannot be opened: put the former key into SOUNDINGS_TOKEN_KEY_OLD, or let the team install the app again", "team", id)
		return Team{}, ErrUninstalled
	case errors.Is(err, installs.ErrNotInstalled):
		i.mu.Lock()
		defer i.mu.Unlock()
		delete(i.cache, id)
		return Team{}, ErrUninstalled
	case err != nil:
		return Team{}, err
	}
	return Team{ID: id, Chat: i.clientOf(id, install.Token), since: install.At}, nil
}

// clientOf is the client for a token, made anew when the token is another one.
func (i *Installed) clientOf(id, token string) *chat.Client {
	i.mu.Lock()
	defer i.mu.Unlock()
	known := i.cache[id]
	if known.chat == nil || known.token != token {
		known = cached{token, i.client(token)}
		i.cache[id] = known
	}
	return known.chat
}

// Served is for Tokens: a team that has the app has a token.
func (i *Installed) Served(ctx context.Context, id string) (bool, error) {
	_, err := i.store.Get(ctx, id)
	if errors.Is(err, installs.ErrNotInstalled) {
		return false, nil
	}
	return err == nil, err
}

// Drop is for Tokens.
func (i *Installed) Drop(ctx context.Context, id string, until time.Time) (bool, error) {
	return i.store.DeleteUntil(ctx, id, until)
}

// Forget is for Tokens.
func (i *Installed) Forget(ctx context.Context, id string) error { return i.store.Delete(ctx, id) }

// Receiver is for Tokens.
func (i *Installed) Receiver(named, authorized string) string {
	if authorized != "" {
		return authorized
	}
	return named
}

// Responder is for Tokens.
func (i *Installed) Responder() *chat.Client { return i.none }
