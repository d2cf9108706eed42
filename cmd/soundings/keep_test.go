package main

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/keeping"
)

// allOf is all that a store holds, of every type.
func allOf(t *testing.T, rdb redis.UniversalClient) (all string) {
	t.Helper()
	for key, texts := range storetest.Held(t, rdb) {
		all += fmt.Sprintln(key, texts)
	}
	return all
}

// keepTwo keeps the demo twice, under two ids, and a job of each that names
// somebody.
func keepTwo(t *testing.T, url string) (environ, redis.UniversalClient) {
	rdb := storetest.Client(t, url)
	var e environ
	for _, kickoff := range []string{"K1", "K2"} {
		key := journal.Key{Team: "T1", Kickoff: kickoff}
		e = keepDemoAt(t, url, key)
		j := journal.New(rdb, journal.Options{})
		require.NoError(t, j.Index.Release(t.Context(), "T1", "C2", kickoff))
		require.NoError(t, j.Index.Join(t.Context(), key, "tui", "asha"))
		require.NoError(t, j.Marks.SetDone(t.Context(), key, "7/show/desk/@tui"))
		job := jobs.ForKickoff("refresh", "T1", kickoff, "desk/@tui/1", time.Now().Add(time.Hour), map[string]string{"Slot": "desk/@tui"})
		require.NoError(t, jobs.NewAsynq(rdb, jobs.Options{}).Enqueue(t.Context(), job))
	}
	return e, rdb
}

func TestPurgeKickoff(t *testing.T) {
	t.Parallel()
	storetest.EachURL(t, func(t *testing.T, _, url string) {
		e, rdb := keepTwo(t, url)
		e.mustRefuse(t, "there is no kickoff K9 in team T1; soundings export --list names those that there are", "purge", "--team", "T1", "--kickoff", "K9")
		e.mustRefuse(t, "--kickoff and --person are two different purges; ask for one at a time", "purge", "--team", "T1", "--kickoff", "K1", "--person", "tui")
		before := allOf(t, rdb)
		assert.Contains(t, e.good(t, "purge", "--team", "T1", "--kickoff", "K1"), "Nothing was removed. Add --yes")
		assert.Len(t, allOf(t, rdb), len(before))
		a := e.call(t, "", "purge", "--team", "T1", "--kickoff", "K1", "--yes")
		assert.Equal(t, exitGood, a.code, a.errors)
		assert.Contains(t, a.out, "All of it was removed.")
		assert.Contains(t, a.errors, `"msg":"audit: a kickoff was removed, with everything kept of it","team":"T1","kickoff":"K1"`)
		left := allOf(t, rdb)
		assert.NotContains(t, left, "T1/K1")
		assert.NotRegexp(t, `snd:\{T1\}:\S+ .*\bK1\b`, left)
		assert.Contains(t, left, "T1/K2")
		assert.NotContains(t, e.good(t, "export", "--list"), "K1")
	})
}

func TestPurgeAndExportPerson(t *testing.T) {
	t.Parallel()
	storetest.EachURL(t, func(t *testing.T, _, url string) {
		e, rdb := keepTwo(t, url)
		a := e.call(t, "", "export", "--team", "T1", "--person", "tui")
		require.Equal(t, exitGood, a.code, a.errors)
		var held keeping.Held
		require.NoError(t, json.Unmarshal([]byte(a.out), &held))
		require.Len(t, held.Kickoffs, 2)
		assert.NotEmpty(t, held.Kickoffs[0].Entries)
		assert.Equal(t, []string{"7/show/desk/@tui"}, held.Kickoffs[0].Marks)
		assert.Contains(t, a.out, "In Auckland they look, we counted.")
		assert.NotContains(t, a.out, "Kofi")
		assert.Contains(t, a.errors, `"msg":"audit: all that is kept about a person was given out","team":"T1","person":"tui"`)

		assert.Contains(t, e.good(t, "purge", "--team", "T1", "--person", "tui"), "named in 2 kickoffs of team T1.\nNothing was removed.")
		a = e.call(t, "", "purge", "--team", "T1", "--person", "tui", "--yes")
		require.Equal(t, exitGood, a.code, a.errors)
		assert.Contains(t, a.out, "Person tui was removed from 2 kickoffs of team T1.")
		assert.Contains(t, a.errors, `"msg":"audit: a person was removed from everything kept","team":"T1","person":"tui"`)
		left := allOf(t, rdb)
		assert.NotRegexp(t, `\b[Tt]ui\b`, left)
		assert.NotContains(t, left, "In Auckland they look")
		assert.Contains(t, left, "Asha")
		a = e.call(t, "", "export", "--team", "T1", "--person", "tui")
		require.NoError(t, json.Unmarshal([]byte(a.out), &held))
		assert.Empty(t, held.Kickoffs)
		for _, kickoff := range []string{"K1", "K2"} {
			assert.Contains(t, e.good(t, "export", "--team", "T1", "--kickoff", kickoff, "--json"), "Room for bicycles")
		}
	})
}
