package score

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/engine"
)

// Whatever people typed stays text, and the page asks for nothing from outside.
func TestPageOfHostileStatements(t *testing.T) {
	const hostile = `</td><script>alert(1)</script><img src=x onerror=alert(1)>&"'` + "\x1b[5m\u202e"
	r := engine.Score(engine.Table{
		Raters: []string{hostile}, IDs: []string{"A" + hostile, "B"}, Statements: []string{hostile, ""},
		Importance: [][]engine.Rating{{8, 0}}, Evidence: [][]engine.Rating{{2, 3}},
	}, engine.Options{Draws: 1})
	data, err := Page(r, Options{Ballots: engine.Table{Raters: []string{hostile}, Importance: [][]engine.Rating{{8, 0}}, Evidence: [][]engine.Rating{{2, 3}}}})
	require.NoError(t, err)
	in := xml.NewDecoder(strings.NewReader(string(data)))
	in.Strict, in.AutoClose, in.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	pictures := 0
	for {
		token, err := in.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		e, isElement := token.(xml.StartElement)
		if !isElement {
			continue
		}
		assert.NotEqual(t, "script", e.Name.Local)
		if e.Name.Local == "img" {
			pictures++
		}
		for _, a := range e.Attr {
			assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "<%s %s=%q>", e.Name.Local, a.Name.Local, a.Value)
			if a.Name.Local == "src" || a.Name.Local == "href" {
				assert.True(t, strings.HasPrefix(a.Value, "data:image/svg+xml;base64,"), "%s=%.40q", a.Name.Local, a.Value)
			}
		}
	}
	assert.Equal(t, 1, pictures, "the map alone")
	assert.Contains(t, string(data), "default-src")
	assert.NotContains(t, string(data), "\x1b")
	assert.NotContains(t, string(data), "\u202e")
}

// What a page says is what the text says.
func TestPageSaysWhatTheTextSays(t *testing.T) {
	table := tableOf(t, splitRows, map[string]string{"A1": "The ramp is steep.", "A2": "The ramp is long."})
	r := engine.Score(table, engine.Options{Seed: 1})
	data, err := Page(r, Options{Ballots: table})
	require.NoError(t, err)
	for _, want := range []string{"<b>A1</b> The ramp is steep.", "8.5 (8 to 9), close", "<h2>Where to talk</h2>",
		"<p>A1: split on evidence, the middle half runs from 1.75 to 9.</p>", "<h2>The group as a whole</h2>", "<p>On importance 1 of 4: kofi.</p>"} {
		assert.Contains(t, string(data), want)
	}
}
