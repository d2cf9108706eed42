package journal_test

import (
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// A team is listed from its first claim until it is purged, also when all of
// its kickoffs have ended.
func TestTeams(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		j := journal.New(rdb, journal.Options{})
		wantTeams := func(want ...string) {
			t.Helper()
			got, err := j.Index.Teams(t.Context())
			must(t, "list the teams", err)
			assert.Equal(t, append([]string{}, want...), got, "Teams")
		}
		wantTeams()
		for _, team := range []string{"T2", "T1"} {
			_, err := j.Index.Claim(t.Context(), team, "C1", "K1")
			must(t, "claim", err)
		}
		must(t, "release", j.Index.Release(t.Context(), "T1", "C1", "K1"))
		wantTeams("T1", "T2")
		must(t, "purge", j.PurgeTeam(t.Context(), "T2"))
		wantTeams("T1")
	})
}
