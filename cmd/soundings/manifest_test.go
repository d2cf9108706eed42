package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/manifest"
)

// What stands in deploy is what the program prints, so that neither is
// forgotten when the other changes.
func TestManifestsInDeploy(t *testing.T) {
	t.Parallel()
	golden(t, "deploy/manifest-socket.json", good(t, "manifest"))
	golden(t, "deploy/manifest-http.json", good(t, "manifest", "--address", "https://soundings.example.com/"))
}

// For several workplaces it also names the page to which people come back.
func TestManifestForInstalls(t *testing.T) {
	t.Parallel()
	for _, args := range [][]string{{}, {"--address", "https://bot.example"}} {
		one := good(t, append([]string{"manifest"}, args...)...)
		many := good(t, append([]string{"manifest", "--install", "https://bot.example/"}, args...)...)
		const line = `"redirect_urls": [
      "https://bot.example/slack/oauth"
    ],
    `
		assert.NotContains(t, one, "redirect", "with %q, for one:\n%s\nfor several", args, one)
		assert.Equal(t, one, strings.Replace(many, line, "", 1), "with %q, for one:\n%s\nfor several", args, one)
		assert.NotEqual(t, one, many, "with %q, for one:\n%s\nfor several", args, one)
	}
}

func TestManifestRefusals(t *testing.T) {
	t.Parallel()
	const command = "the command must be a slash and then small letters, digits, - or _, 32 characters at most, such as /soundings; it is "
	const address = "the public address must begin with https:// and name a host, such as https://soundings.example.com; it is "
	for _, tt := range []struct {
		rule string
		args []string
		want string
	}{
		{"the platform sends to https only", []string{"--address", "http://soundings.example.com"}, address + `"http://soundings.example.com"`},
		{"people come back to https only", []string{"--install", "http://soundings.example.com"}, address + `"http://soundings.example.com"`},
		{"an address without a host", []string{"--address", "https://"}, address + `"https:"`},
		{"an address with a query", []string{"--address", "https://soundings.example.com?a=b"}, address + `"https://soundings.example.com?a=b"`},
		{"a long name", []string{"--name", "Soundings of the Northern Ferry Company"}, "the name of the app may have 35 characters; it has 39"},
		{"a command without a slash", []string{"--command", "soundings"}, command + `"soundings"`},
		{"a command of two words", []string{"--command", "/sound ings"}, command + `"/sound ings"`},
		{"a long command", []string{"--command", "/soundings-of-the-northern-ferry-co"}, command + `"/soundings-of-the-northern-ferry-co"`},
	} {
		t.Run(tt.rule, func(t *testing.T) { mustRefuse(t, tt.want, append([]string{"manifest"}, tt.args...)...) })
	}
}

// An administrator is told about each scope that may be taken away, and how many
// stay.
func TestAdministratorKnowsTheScopes(t *testing.T) {
	t.Parallel()
	_, section, _ := strings.Cut(string(read(t, "deploy/docs/administrator.md")), "\n## What the app may do\n")
	for _, s := range manifest.OptionalScopes() {
		assert.Contains(t, section, "`"+s.Name+"`", "it does not say what is missing without %s", s.Name)
	}
	assert.Len(t, manifest.NeededScopes(), 6, "it says how many scopes are needed")
	assert.Contains(t, section, "asks for six scopes", "it says how many scopes are needed")
}
