package manifest_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/manifest"
)

// A shownManifest is what these tests read of a manifest, by the platform's
// names.
type shownManifest struct {
	Display struct {
		Name, Description string
	} `json:"display_information"`
	Features struct {
		BotUser struct {
			Name string `json:"display_name"`
		} `json:"bot_user"`
		Commands []struct {
			Command, Description, URL string
			Hint                      string `json:"usage_hint"`
		} `json:"slash_commands"`
		Shortcuts []struct {
			Name, Type, Description string
			ID                      string `json:"callback_id"`
		}
	}
	OAuth struct {
		Scopes struct {
			Bot, User []string
			Optional  []string `json:"bot_optional"`
		}
	} `json:"oauth_config"`
	Settings struct {
		Events struct {
			URL  string   `json:"request_url"`
			Bot  []string `json:"bot_events"`
			User []string `json:"user_events"`
		} `json:"event_subscriptions"`
		Interactivity struct {
			Enabled bool   `json:"is_enabled"`
			URL     string `json:"request_url"`
		}
		Socket bool `json:"socket_mode_enabled"`
	}
}

func read(t *testing.T, c manifest.Config) shownManifest {
	t.Helper()
	data, err := manifest.New(c)
	require.NoError(t, err)
	var m shownManifest
	require.NoError(t, json.Unmarshal(data, &m))
	return m
}

func TestManifestForEachWay(t *testing.T) {
	m := read(t, manifest.Config{})
	assert.False(t, !m.Settings.Socket || !m.Settings.Interactivity.Enabled || m.Settings.Events.URL+m.Settings.Interactivity.URL+m.Features.Commands[0].URL != "", "Socket Mode has no addresses; got %+v", m.Settings)
	m = read(t, manifest.Config{Address: "https://bot.example/"})
	assert.False(t, m.Settings.Socket, "over HTTP Socket Mode must be off: the platform uses one of them")
	for path, got := range map[string]string{"/slack/events": m.Settings.Events.URL, "/slack/interactions": m.Settings.Interactivity.URL,
		"/slack/commands": m.Features.Commands[0].URL} {
		assert.Equal(t, "https://bot.example"+path, got, "got %q, want it to end in %s", got, path)
	}
}

// The limits are those of the platform's page on the app manifest.
func TestManifestKeepsToTheLimits(t *testing.T) {
	m := read(t, manifest.Config{Name: "Lotungen für Übersee", Command: "/lot"})
	for _, limit := range []struct {
		what, text string
		most       int
	}{
		{"name", m.Display.Name, 35}, {"description", m.Display.Description, 140}, {"display name", m.Features.BotUser.Name, 80},
		{"command", m.Features.Commands[0].Command, 32}, {"usage hint", m.Features.Commands[0].Hint, 1000},
	} {
		n := len([]rune(limit.text))
		assert.NotEqual(t, 0, n, "%s has %d characters, want 1 to", limit.what, n)
		assert.LessOrEqual(t, n, limit.most, "%s has %d characters, want 1 to", limit.what, n)
	}
	for _, s := range m.Features.Shortcuts {
		assert.NotEqual(t, "", s.Name, "a shortcut that the platform does not take: %+v", s)
		assert.NotEqual(t, "", s.ID, "a shortcut that the platform does not take: %+v", s)
		assert.LessOrEqual(t, len(s.Description), 150, "a shortcut that the platform does not take: %+v", s)
		assert.False(t, s.Type != "message" && s.Type != "global", "a shortcut that the platform does not take: %+v", s)
	}
	assert.Equal(t, "", strings.Trim(m.Features.BotUser.Name, "abcdefghijklmnopqrstuvwxyz0123456789-_."), "the display name %q has letters that the platform does not take", m.Features.BotUser.Name)
}

// Least privilege: what is asked for, and what each event needs. Sources: the
// platform's pages on member_joined_channel, app_mention and Socket Mode.
func TestManifestAsksForLittle(t *testing.T) {
	m := read(t, manifest.Config{})
	scopes := m.OAuth.Scopes
	assert.LessOrEqual(t, len(scopes.User)+len(m.Settings.Events.User), 0, "it asks for something in the name of people")
	for _, never := range []string{"channels:join", "chat:write.public", "users:read.email", "im:history", "mpim:history", "search:read"} {
		assert.NotContains(t, scopes.Bot, never, "it asks for %s, which nothing needs", never)
	}
	for _, optional := range scopes.Optional {
		assert.Contains(t, scopes.Bot, optional, "is optional, so it must be asked for, and not be needed")
		assert.NotContains(t, manifest.NeededScopes(), optional, "is optional, so it must be asked for, and not be needed")
	}
	assert.Len(t, scopes.Bot, len(scopes.Optional)+len(manifest.NeededScopes()), "it asks for")
	needs := map[string][]string{"member_joined_channel": {"channels:read", "groups:read"}, "member_left_channel": {"channels:read", "groups:read"},
		"app_mention": {"app_mentions:read"}, "channel_archive": {"channels:read"}, "group_archive": {"groups:read"},
		"channel_left": {"channels:read"}, "group_left": {"groups:read"}, "channel_unarchive": {"channels:read"}, "group_unarchive": {"groups:read"},
		"channel_deleted": {"channels:read"}, "group_deleted": {"groups:read"}}
	for event, want := range needs {
		for _, scope := range want {
			assert.False(t, slices.Contains(m.Settings.Events.Bot, event) && !slices.Contains(manifest.NeededScopes(), scope), "the event %s needs %s", event, scope)
		}
	}
}

func TestEachOptionalScopeSaysWhatIsMissing(t *testing.T) {
	for _, s := range manifest.OptionalScopes() {
		assert.NotEqual(t, "", s.Name, "says %q", s.Without)
		assert.GreaterOrEqual(t, len(s.Without), 20, "says %q", s.Without)
	}
}
