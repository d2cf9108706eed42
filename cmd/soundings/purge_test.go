package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// Purge looks first, removes only with --yes, and only what is of the team.
func TestPurge(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	e := environ{"SOUNDINGS_REDIS_URL": url}
	rdb := storetest.Client(t, url)
	j, queue := journal.New(rdb, journal.Options{}), jobs.NewAsynq(rdb, jobs.Options{})
	keys, err := installs.NewKeys(madeUpSeal, "")
	must := func(err error) {
		t.Helper()
		require.NoError(t, err)
	}
	must(err)
	for _, team := range []string{"T1", "T2"} {
		_, err := j.Index.Claim(t.Context(), team, "C1", "k-"+team)
		must(err)
		_, err = j.Append(t.Context(), journal.Key{Team: team, Kickoff: "k-" + team}, journal.Write{Data: []byte("what people wrote in " + team)})
		must(err)
		must(j.Index.Join(t.Context(), journal.Key{Team: team, Kickoff: "k-" + team}, "U1"))
		must(queue.Enqueue(t.Context(), jobs.Job{ID: "wake/" + team + "/k/1", Kind: "wake", At: time.Now().Add(time.Hour), Payload: []byte(team)}))
		must(installs.New(rdb, keys).Save(t.Context(), installs.Install{Team: team, Token: madeUpBot}))
	}
	holds := func(team string) (found []string) {
		for _, key := range rdb.Keys(t.Context(), "*").Val() {
			members := rdb.SMembers(t.Context(), key).Val()
			fields := rdb.HKeys(t.Context(), key).Val()
			if strings.Contains(key, team) || strings.Contains(strings.Join(append(members, fields...), " "), team) {
				found = append(found, key)
			}
		}
		return found
	}
	before := len(holds("T1"))
	mustRefuse(t, "--team is missing: the id of the team, such as T0123, as export --list shows it", "purge")
	e.mustRefuse(t, "nothing is kept of a team T9; soundings export --list names the teams that have kickoffs", "purge", "--team", "T9", "--yes")
	look := e.good(t, "purge", "--team", "T1")
	for _, want := range []string{"1 kickoff, 1 of them open", "The token", "has not taken the app away", "Nothing was removed. Add --yes"} {
		assert.Contains(t, look, want, "the look does not say")
	}
	got := len(holds("T1"))
	assert.GreaterOrEqual(t, before, 5, "keys before the look, %d after", got)
	assert.Equal(t, before, got, "keys before the look, %d after", got)
	_, err = j.Uninstalls.Add(t.Context(), "T1", time.Date(2030, 3, 4, 9, 0, 0, 0, time.UTC))
	must(err)
	did := e.good(t, "purge", "--team", "T1", "--yes")
	assert.Contains(t, did, "taken the app away on 4 March 2030, 09:00 UTC", "it says")
	assert.Contains(t, did, "All of it was removed.", "it says")
	assert.Empty(t, holds("T1"), "left of T1")
	left := holds("T2")
	assert.Len(t, left, before, "left of T2: %v, want %d keys", left, before)
	e.mustRefuse(t, "nothing is kept of a team T1; soundings export --list names the teams that have kickoffs", "purge", "--team", "T1")
}
