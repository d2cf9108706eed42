// Package manifest is the app manifest: what the platform is told about the
// app when somebody creates it there, with the scopes that the bot asks for and
// what is missing without each of the optional ones. It does no more than
// write it down; handling what the manifest subscribes to is for package
// incoming. Start with [New], [NeededScopes] and [OptionalScopes].
package manifest

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"regexp"
	"strings"

	"soundings/bot/installs"
)

// A Config says for which way of receiving a manifest is.
type Config struct {
	Name    string // the app's name, at most 35 characters; default Soundings
	Command string // the slash command, at most 32 characters; default /soundings
	Address string // public https address for HTTP; empty for Socket Mode
	Install string // public https address of the install page, where several teams are served; empty for one
}

// What the platform allows. Source: its page on the app manifest.
const (
	longestName    = 35
	longestCommand = 32
)

var commandPattern = regexp.MustCompile(`^/[a-z0-9_-]+$`)

// New is the app manifest for this configuration, as JSON: what a
// workplace's administrator pastes to create the app. The scopes are
// NeededScopes and OptionalScopes. The error says what the platform would not
// take.
func New(c Config) ([]byte, error) {
	c.Name, c.Command = cmp.Or(c.Name, "Soundings"), cmp.Or(c.Command, "/soundings")
	c.Address, c.Install = strings.TrimRight(c.Address, "/"), strings.TrimRight(c.Install, "/")
	if err := c.validate(); err != nil {
		return nil, err
	}
	data, err := json.MarshalIndent(c.manifest(), "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the manifest: %w", err)
	}
	return append(data, '\n'), nil
}

func (c Config) validate() error {
	var faults []error
	if n := len([]rune(c.Name)); n > longestName {
		faults = append(faults, fmt.Errorf("the name of the app may have %d characters; it has %d", longestName, n))
	}
	if len(c.Command) > longestCommand || !commandPattern.MatchString(c.Command) {
		faults = append(faults, fmt.Errorf("the command must be a slash and then small letters, digits, - or _, %d characters at most, such as /soundings; it is %q", longestCommand, c.Command))
	}
	for _, address := range []string{c.Address, c.Install} {
		u, err := url.Parse(address)
		if address != "" && (err != nil || u.Scheme != "https" || u.Host == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil) {
			faults = append(faults, fmt.Errorf("the public address must begin with https:// and name a host, such as https://soundings.example.com; it is %q", address))
		}
	}
	return errors.Join(faults...)
}

// oauth holds the scopes, and where the platform may send people back to.
func (c Config) oauth() object {
	out := object{"scopes": object{"bot": append(NeededScopes(), optionalNames()...), "bot_optional": optionalNames()}}
	if c.Install != "" {
		out["redirect_urls"] = []string{c.Install + installs.ReturnPath}
	}
	return out
}

// NeededScopes are those without which the bot cannot do its work.
func NeededScopes() []string {
	return []string{"commands", "chat:write", "app_mentions:read", "channels:read", "groups:read", "users:read"}
}

// An OptionalScope is one that a workplace may take away.
type OptionalScope struct {
	Name    string
	Without string // what is missing without it, and what works nevertheless
}

// OptionalScopes are those without which the bot does a little less.
func OptionalScopes() []OptionalScope {
	return []OptionalScope{
		{"files:write", "the pictures of the maps and the files of the summary are not shared in the thread; the same stands there in words, and soundings export writes the files"},
		{"pins:write", "the summary is not pinned; it stands in the channel all the same"},
		{"bookmarks:write", "the channel's header has no link to the summary; the lead is told once, and a pin does the same"},
		{"canvases:write", "the summary has no canvas in the channel; the lead is told once, and the thread holds the same"},
		{"channels:history", "in public channels a message may stand twice after a crash in the very moment of its sending: the bot cannot look whether it got out. It reads for nothing else"},
		{"groups:history", "in private channels a message may stand twice after a crash in the very moment of its sending: the bot cannot look whether it got out. It reads for nothing else"},
	}
}

func optionalNames() []string {
	var names []string
	for _, s := range OptionalScopes() {
		names = append(names, s.Name)
	}
	return names
}

// object keeps the manifest readable here; its keys are the platform's.
type object = map[string]any

func (c Config) manifest() object {
	return object{
		"_metadata": object{"major_version": 2, "minor_version": 1},
		"display_information": object{"name": c.Name,
			"description": "Kicks off a product discovery with a distributed team, without a meeting."},
		"features":     c.features(),
		"oauth_config": c.oauth(),
		"settings":     c.settings(),
	}
}

func (c Config) features() object {
	command := object{"command": c.Command, "description": "Start a kickoff, or see what you can do",
		"usage_hint": "start | add | join | hours | mute", "should_escape": false}
	if c.Address != "" {
		command["url"] = c.Address + "/slack/commands"
	}
	return object{
		"app_home":       object{"home_tab_enabled": true, "messages_tab_enabled": true, "messages_tab_read_only_enabled": true},
		"bot_user":       object{"display_name": notInNames.ReplaceAllString(strings.ToLower(c.Name), "-"), "always_online": false},
		"slash_commands": []object{command},
		"shortcuts": []object{
			{"name": "Start a kickoff", "type": "global", "callback_id": ShortcutStart, "description": "Begin a product discovery in a channel that you choose"},
			{"name": "Log as assumption", "type": "message", "callback_id": ShortcutLog, "description": "Add these words to the assumptions of this channel's kickoff"},
		},
	}
}

func (c Config) settings() object {
	events := object{"bot_events": []string{"app_home_opened", "app_mention", "member_joined_channel", "member_left_channel",
		"channel_left", "group_left", "channel_archive", "group_archive", "channel_unarchive", "group_unarchive",
		"channel_deleted", "group_deleted", "channel_id_changed", "channel_shared", "channel_unshared", "app_uninstalled", "tokens_revoked"}}
	interactivity := object{"is_enabled": true}
	if c.Address != "" {
		events["request_url"] = c.Address + "/slack/events"
		interactivity["request_url"] = c.Address + "/slack/interactions"
	}
	return object{"event_subscriptions": events, "interactivity": interactivity, "org_deploy_enabled": false,
		"socket_mode_enabled": c.Address == "", "token_rotation_enabled": false}
}

// notInNames is what the platform does not take in the name of a bot.
var notInNames = regexp.MustCompile(`[^a-z0-9._-]`)

// The shortcuts of the manifest, by callback id.
const (
	ShortcutStart = "start-kickoff"
	ShortcutLog   = "log-assumption"
)
