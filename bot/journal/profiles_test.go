package journal_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// profilesOfTheDay keeps profiles until the next day, and no profile of another
// team or a purged one.
func profilesOfTheDay(t *testing.T, f fixture) {
	ctx, morning := t.Context(), time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)
	want := func(team string, at time.Time, want map[string][]byte, users ...string) {
		t.Helper()
		got, err := f.Profiles.Get(ctx, team, at, users)
		require.NoError(t, err)
		assert.Equal(t, len(want), len(got))
		for user, profile := range want {
			assert.Equal(t, string(profile), string(got[user]), user)
		}
	}
	want("T1", morning, nil, "U1")
	require.NoError(t, f.Profiles.Save(ctx, "T1", morning, map[string][]byte{"U1": []byte("ana"), "U2": []byte("bo")}))
	require.NoError(t, f.Profiles.Save(ctx, "T1", morning.Add(time.Hour), map[string][]byte{"U3": []byte("cy")}))
	require.NoError(t, f.Profiles.Save(ctx, "T1", morning, nil))
	want("T1", morning.Add(10*time.Hour), map[string][]byte{"U1": []byte("ana"), "U3": []byte("cy")}, "U1", "U3", "U4")
	want("T2", morning, nil, "U1")
	tomorrow := morning.Add(24 * time.Hour)
	want("T1", tomorrow, nil, "U1")
	require.NoError(t, f.Profiles.Save(ctx, "T1", tomorrow, map[string][]byte{"U2": []byte("bo moved")}))
	want("T1", tomorrow, map[string][]byte{"U2": []byte("bo moved")}, "U1", "U2")
	require.NoError(t, f.PurgeTeam(ctx, "T1"))
	assert.Empty(t, f.left(t), "a purge left")
}
