package bot

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"github.com/slack-go/slack"

	"soundings/bot/installs"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// chats holds the Chat of each team. It is a cache and nothing else: whether a
// team has a token, and which, is read from the installs each time.
type chats struct {
	mu    sync.Mutex
	teams map[string]teamChat
}

type teamChat struct {
	token string
	chat  *Chat
}

func newChats() *chats { return &chats{teams: map[string]teamChat{}} }

// of is the Chat for a team's token, made anew when the token is another one.
func (c *chats) of(team, token string, made func(string) *Chat) *Chat {
	c.mu.Lock()
	defer c.mu.Unlock()
	known := c.teams[team]
	if known.chat == nil || known.token != token {
		known = teamChat{token, made(token)}
		c.teams[team] = known
	}
	return known.chat
}

func (c *chats) forget(team string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.teams, team)
}

// at is the bot as it works in one team, with the team's own Chat; everything
// that is done for a team goes through it. The error is errAway where the app
// is not installed, and then the bot is b itself, which can still answer
// whoever pressed something.
func (b *Bot) at(ctx context.Context, team string) (*Bot, error) {
	absence, away, err := b.Journal.Uninstalls.Get(ctx, team)
	if err != nil {
		return b, err
	}
	if away {
		if back, err := b.tryBack(ctx, team, absence); err != nil || !back {
			return b, errors.Join(errAway, err)
		}
	}
	return b.withChat(ctx, team)
}

// atWork is at, for jobs: they have time, and ask nobody whether a team is
// back.
func (b *Bot) atWork(ctx context.Context, team string) (*Bot, error) {
	_, away, err := b.Journal.Uninstalls.Get(ctx, team)
	if err != nil {
		return b, err
	}
	if away {
		b.kept.forget(team)
		return b, errAway
	}
	return b.withChat(ctx, team)
}

func (b *Bot) withChat(ctx context.Context, team string) (*Bot, error) {
	if b.Installs == nil {
		return b, nil
	}
	install, err := b.Installs.Get(ctx, team)
	switch {
	case errors.Is(err, installs.ErrDecrypt):
		b.Logger.Error("the token of a team cannot be opened: put the former key into SOUNDINGS_TOKEN_KEY_OLD, or let the team install the app again", "team", team)
		return b, errAway
	case errors.Is(err, installs.ErrNotInstalled):
		b.chats.forget(team)
		b.kept.forget(team)
		return b, errAway
	case err != nil:
		return b, err
	}
	there := *b
	there.Chat, there.given = b.chats.of(team, install.Token, b.ChatWith), install.At
	return &there, nil
}

// tryBack lets a team go on that has the app again.
func (b *Bot) tryBack(ctx context.Context, team string, a journal.Uninstall) (bool, error) {
	if a.Purging {
		return false, nil
	}
	back, err := b.isBack(ctx, team)
	if err != nil || !back {
		return false, err
	}
	return true, b.comeBack(ctx, team, a)
}

// Installed takes a new install: it keeps the token, and takes up again what
// was going on. A purge that was cut off is brought to its end first, so that
// nothing new falls to it. It can be repeated.
func (b *Bot) Installed(ctx context.Context, i installs.Install) error {
	absence, away, err := b.Journal.Uninstalls.Get(ctx, i.Team)
	if err != nil {
		return err
	}
	if away && absence.Purging {
		if err := b.purge(ctx, i.Team, absence); err != nil {
			return err
		}
		away = false
	}
	if err := b.Installs.Save(ctx, i); err != nil || !away {
		return err
	}
	return b.comeBack(ctx, i.Team, absence)
}

// Here takes up again what was going on in a team whose token is known to be
// good, as when the program starts.
func (b *Bot) Here(ctx context.Context, team string) error {
	absence, away, err := b.Journal.Uninstalls.Get(ctx, team)
	if err != nil || !away || absence.Purging {
		return err
	}
	return b.comeBack(ctx, team, absence)
}

// revoked stops a team whose token the platform does not take any more.
func (b *Bot) revoked(ctx context.Context, team string) error {
	at := b.given // a token that came since is another one
	if b.Installs == nil {
		at = b.Clock()
	}
	return b.stop(ctx, team, "the token was revoked", at)
}

// notHere answers somebody in a team that has not installed the app: only
// what needs no token. Every other error stays one.
func (b *Bot) notHere(ctx context.Context, in Interaction, err error) (any, error) {
	if !errors.Is(err, errAway) {
		return nil, err
	}
	b.Logger.Info("somebody uses the app in a team that has taken it away", "team", in.Team.ID, "reason", err)
	if in.Type == slack.InteractionTypeViewSubmission {
		return refused(in, &flows.Refusal{Reason: screens.Uninstalled(b.InstallPage)}), nil
	}
	if in.ResponseURL != "" && b.Chat != nil {
		err := b.Chat.Whisper(ctx, in.ResponseURL, screens.Escape(screens.Uninstalled(b.InstallPage)))
		if err != nil {
			b.Logger.Warn("a word to one person was not delivered", "error", err)
		}
	}
	return nil, nil
}

// ofTeam picks the jobs of a team by their ids; see jobOf.
func ofTeam(team string) func(id string) bool {
	return func(id string) bool { return teamOf(id) == team }
}

// validateInstalls says what a bot for several teams lacks.
func (c *Config) validateInstalls() error {
	switch {
	case c.Installs == nil && c.Chat == nil:
		return errors.New("no Chat was given")
	case c.Installs != nil && (c.Chat != nil || c.ChatWith == nil):
		return fmt.Errorf("with Installs, ChatWith is needed and Chat is not")
	}
	return nil
}
