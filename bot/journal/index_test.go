package journal_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
)

func listsOpen(t *testing.T, f fixture) {
	wantKeys(t, "Open", f.Index.Open, nil)
	f.claim(t, "T2", "C1", "K3", "K3")
	f.claim(t, "T1", "C2", "K2", "K2")
	f.claim(t, "T1", "C1", "K1", "K1")
	f.claim(t, "T1", "C3", "K1", "K1") // the channel got another id
	wantKeys(t, "Open", f.Index.Open, []journal.Key{{Team: "T1", Kickoff: "K1"}, {Team: "T1", Kickoff: "K2"}, {Team: "T2", Kickoff: "K3"}})
	must(t, "release", f.Index.Release(t.Context(), "T1", "C2", "K2"))
	wantKeys(t, "Open", f.Index.Open, []journal.Key{{Team: "T1", Kickoff: "K1"}, {Team: "T2", Kickoff: "K3"}})
	all := func(ctx ctx) ([]journal.Key, error) { return f.Index.All(ctx, "T1") }
	wantKeys(t, "All", all, []journal.Key{{Team: "T1", Kickoff: "K1"}, {Team: "T1", Kickoff: "K2"}})
}

func wantKeys(t *testing.T, what string, list func(ctx) ([]journal.Key, error), want []journal.Key) {
	t.Helper()
	got, err := list(t.Context())
	must(t, what, err)
	assert.Equal(t, want, got, what)
}

func peopleIndex(t *testing.T, f fixture) {
	const odd = "U:1{}" // would end the hash tag if it were not written plainly
	for range 2 {
		must(t, "join", f.Index.Join(t.Context(), journal.Key{Team: "T1", Kickoff: "K2"}, odd))
	}
	must(t, "join", f.Index.Join(t.Context(), journal.Key{Team: "T1", Kickoff: "K1"}, odd))
	must(t, "join", f.Index.Join(t.Context(), journal.Key{Team: "T1", Kickoff: "K1"}, "U2"))
	wantOf(t, f, "T1", odd, "K1", "K2")
	wantOf(t, f, "T1", "U2", "K1")
	wantOf(t, f, "T2", odd)
}

func leftIndex(t *testing.T, f fixture) {
	first, second := f.key, journal.Key{Team: "T1", Kickoff: "K2"}
	must(t, "join", f.Index.Join(t.Context(), first, "U1", "U2"))
	must(t, "join", f.Index.Join(t.Context(), second, "U1"))
	for range 2 {
		must(t, "leave", f.Index.Leave(t.Context(), first, "U1"))
	}
	wantOf(t, f, "T1", "U1", "K2")
	wantOf(t, f, "T1", "U2", "K1")
	must(t, "leave", f.Index.Leave(t.Context(), first, "U3", "U4")) // never was there
	must(t, "join again", f.Index.Join(t.Context(), first, "U1"))
	wantOf(t, f, "T1", "U1", "K1", "K2")
	must(t, "purge", f.Purge(t.Context(), first))
	wantOf(t, f, "T1", "U1", "K2")
	must(t, "purge", f.PurgeTeam(t.Context(), "T1"))
	assert.Empty(t, f.left(t), "what was left is purged as well")
}

func wantOf(t *testing.T, f fixture, team, user string, want ...string) {
	t.Helper()
	got, err := f.Index.Of(t.Context(), team, user)
	must(t, "list", err)
	assert.Equal(t, append([]string{}, want...), got, "Of(%s)", user)
}

// fill writes something under every key that a kickoff has.
func fill(t *testing.T, f fixture, channel string) {
	t.Helper()
	f.claim(t, f.key.Team, channel, f.key.Kickoff, f.key.Kickoff)
	f.write(t, journal.Write{Data: []byte("a"), Delivery: "d", After: 0})
	must(t, "save", f.SaveSnapshot(t.Context(), f.key, journal.Position{Version: 1}, []byte("state")))
	must(t, "show", f.Marks.SetShown(t.Context(), f.key, "head", 1))
	must(t, "do", f.Marks.SetDone(t.Context(), f.key, "1/show"))
	must(t, "queue", f.Marks.SetQueued(t.Context(), f.key, 1))
	must(t, "join", f.Index.Join(t.Context(), f.key, "U1", "U2"))
}

func purgeLeavesNothing(t *testing.T, f fixture) {
	fill(t, f, "C1")
	// 8 of the kickoff, 4 of the team, 1 of all teams
	require.Len(t, f.left(t), 13, "keys were written: %q", f.left(t))
	for range 2 {
		must(t, "purge", f.PurgeTeam(t.Context(), f.key.Team))
	}
	assert.Empty(t, f.left(t), "a purge left")
	assert.Equal(t, int64(1), f.write(t, journal.Write{Data: []byte("a"), Delivery: "d", After: 0}), "the first version after a purge")
}

func purgeTeam(t *testing.T, f fixture) {
	fill(t, f, "C1")
	second := f
	second.key.Kickoff = "K2"
	fill(t, second, "C2")
	other := f
	other.key.Team = "T2"
	fill(t, other, "C1")
	greet(t, f, "T1", "C1", true)
	greet(t, f, "T2", "C1", true)
	must(t, "purge", f.PurgeTeam(t.Context(), "T1"))
	wantOf(t, f, "T1", "U1")
	wantHolder(t, f, "C1", "")
	assert.Len(t, f.left(t), 14, "keys are left: %q", f.left(t))
	wantOf(t, other, "T2", "U1", "K1")
	must(t, "purge", f.PurgeTeam(t.Context(), "T2"))
	assert.Empty(t, f.left(t), "purging all teams left")
}
