package bot

import (
	"encoding/json"
	"fmt"
	"strings"
)

// A ManifestConfig says for which way of receiving a manifest is.
type ManifestConfig struct {
	Name    string // the app's name; default Soundings
	Command string // the slash command; default /soundings
	Address string // public https address for HTTP; empty for Socket Mode
}

// Manifest is the app manifest for this configuration, as JSON: what a
// workplace's administrator pastes to create the app. Scopes are the least
// that the bot works with, and those without which something small is missing.
func Manifest(c ManifestConfig) ([]byte, error) {
	if c.Name == "" {
		c.Name = "Soundings"
	}
	if c.Command == "" {
		c.Command = "/soundings"
	}
	if c.Address != "" && !strings.HasPrefix(c.Address, "https://") {
		return nil, fmt.Errorf("the public address must begin with https://; got %q", c.Address)
	}
	data, err := json.MarshalIndent(c.manifest(), "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the manifest: %w", err)
	}
	return append(data, '\n'), nil
}

// neededScopes are those without which the bot cannot do its work.
func neededScopes() []string {
	return []string{"commands", "chat:write", "app_mentions:read", "channels:read", "groups:read", "users:read"}
}

// niceScopes are those without which it does a little less, and says so.
func niceScopes() []string {
	return []string{"files:write", "pins:write", "channels:history", "groups:history"}
}

// object keeps the manifest readable here; its keys are the platform's.
type object = map[string]any

func (c ManifestConfig) manifest() object {
	url := func(path string) string { return strings.TrimSuffix(c.Address, "/") + path }
	command := object{"command": c.Command, "description": "Start a kickoff, or see what you can do", "usage_hint": "start | add | join | hours | mute",
		"should_escape": false}
	events := object{"bot_events": []string{"app_home_opened", "app_mention", "member_joined_channel", "member_left_channel",
		"channel_archive", "channel_id_changed", "channel_rename", "group_archive", "app_uninstalled", "tokens_revoked"}}
	interactivity := object{"is_enabled": true}
	if c.Address != "" {
		command["url"] = url("/slack/commands")
		events["request_url"] = url("/slack/events")
		interactivity["request_url"] = url("/slack/interactions")
	}
	return object{
		"_metadata": object{"major_version": 2, "minor_version": 1},
		"display_information": object{"name": c.Name,
			"description": "Kicks off a product discovery with a distributed team, without a meeting."},
		"features": object{
			"app_home":       object{"home_tab_enabled": true, "messages_tab_enabled": true, "messages_tab_read_only_enabled": true},
			"bot_user":       object{"display_name": strings.ToLower(c.Name), "always_online": false},
			"slash_commands": []object{command},
			"shortcuts": []object{
				{"name": "Log as assumption", "type": "message", "callback_id": shortcutLog, "description": "Add these words to the assumptions of this channel's kickoff"},
			},
		},
		"oauth_config": object{"scopes": object{"bot": append(neededScopes(), niceScopes()...), "bot_optional": niceScopes()}},
		"settings": object{"event_subscriptions": events, "interactivity": interactivity, "org_deploy_enabled": false,
			"socket_mode_enabled": c.Address == "", "token_rotation_enabled": false},
	}
}

// The shortcuts of the manifest, by callback id.
const shortcutLog = "log-assumption"
