package kickoffs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// The size of what is sealed tells nothing of a rating, nor of who gave it.
func TestSealedRatingsAreOfOneSize(t *testing.T) {
	t.Parallel()
	sizes := map[int]bool{}
	for _, by := range []state.UserID{"U02A1B2C3", "U07HFZ3KQ9X", "W012345678"} {
		for _, value := range []int{state.CantSay, 0, 1, 9} {
			for _, scale := range []state.Scale{state.Importance, state.Evidence} {
				for _, id := range []string{"A1", "A128"} {
					r := event.Record{Box: "rating/1", At: time.Unix(1805706060, 987654321), By: by,
						Events: []event.Event{event.Rated{Round: 2, Assumption: id, Scale: scale, Value: value}}}
					data, err := r.MarshalJSON()
					require.NoError(t, err)
					sealed, err := seal(make([]byte, 32), r.Box, data)
					require.NoError(t, err)
					sizes[len(sealed)] = true
					back, opened := unseal(map[string][]byte{r.Box: make([]byte, 32)}, r.Box, sealed)
					require.True(t, opened)
					assert.JSONEq(t, string(data), string(back))
				}
			}
		}
	}
	assert.Len(t, sizes, 1)
}

// What is sealed for one box opens with no other key, and for no other box.
func TestUnsealNeedsTheKeyOfTheBox(t *testing.T) {
	t.Parallel()
	key, other := make([]byte, 32), append(make([]byte, 31), 1)
	sealed, err := seal(key, "rating/1", []byte(`{}`))
	require.NoError(t, err)
	for name, keys := range map[string]map[string][]byte{
		"no key": nil, "another key": {"rating/1": other}, "no key at all": {"rating/1": []byte("short")},
	} {
		_, opened := unseal(keys, "rating/1", sealed)
		assert.False(t, opened, name)
	}
	_, opened := unseal(map[string][]byte{"rating/2": key}, "rating/2", sealed)
	assert.False(t, opened, "another box")
}
