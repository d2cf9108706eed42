package kickoffs_test

import (
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
)

// An entry that this release cannot read, of a newer one, cut off or by somebody
// else, is named with its kickoff and number. Nothing before or after it is taken
// for the whole, and nothing is written on top of it.
func TestEntryThatCannotBeRead(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule, id string
		values   map[string]any
		says     string
	}{
		{"of a newer release", "%d-0", map[string]any{"data": `{"at":"2027-03-01T09:00:00Z","by":"U1","events":[{"kind":"brief-read","data":{}},{"kind":"moon-seen","data":{}}]}`}, `kind "moon-seen" is unknown to this release`},
		{"of a newer release, with a further field", "%d-0", map[string]any{"data": `{"at":"2027-03-01T09:00:00Z","by":"U1","events":[{"kind":"brief-read","data":{"Moons":2}}]}`}, `unknown field "Moons"`},
		{"cut off", "%d-0", map[string]any{"data": `{"at":"2027-03-01T09:00:00Z","by":"U1","eve`}, "unexpected end of JSON input"},
		{"of another shape", "%d-0", map[string]any{"data": `{"at":"2027-03-01T09:00:00Z","events":[{"kind":"brief-read","data":[7]}]}`}, "decode event brief-read"},
		{"without data", "%d-0", map[string]any{"note": "hello"}, "has no data"},
		{"by somebody else", "%d-7", map[string]any{"data": "hello"}, "was not written by a journal"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
				s := newStore(rdb)
				ids := begin(t, s, 3)
				before, err := s.Load(t.Context(), key)
				require.NoError(t, err)
				const stream = "snd:{T1/K1}:entries"
				id := fmt.Sprintf(c.id, before.Version+1)
				require.NoError(t, rdb.XAdd(t.Context(), &redis.XAddArgs{Stream: stream, ID: id, Values: c.values}).Err())
				for _, reader := range []*kickoffs.Store{s, newStore(rdb)} { // one that had read what comes before, and one that had not
					for range 2 {
						k, err := reader.Load(t.Context(), key)
						assert.ErrorContains(t, err, "kickoff K1")
						assert.ErrorContains(t, err, fmt.Sprint(before.Version+1), "the entry is named")
						assert.ErrorContains(t, err, c.says)
						assert.Zero(t, k.Version, "nothing is taken for the whole")
					}
					assert.Error(t, reader.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{Delivery: "d1"}))
				}
				n, err := rdb.XLen(t.Context(), stream).Result()
				require.NoError(t, err)
				assert.Equal(t, before.Version+1, n, "something was written on top")
			})
		})
	}
}
