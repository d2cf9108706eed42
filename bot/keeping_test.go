package bot_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/bot/report"
	"soundings/flows/event"
	"soundings/flows/state"
)

// sealed is what ballots are kept as. It is noise, in which any short name stands once
// in a while.
var sealed = regexp.MustCompile(`"sealed":"[^"]*"`)

// mustNotHold sees that nothing in a store matches, besides noise: what was sealed, and
// keys.
func mustNotHold(t *testing.T, rdb redis.UniversalClient, patterns ...string) {
	t.Helper()
	for key, texts := range storetest.Held(t, rdb) {
		if strings.HasSuffix(key, ":box-keys") {
			continue
		}
		for _, pattern := range patterns {
			text := sealed.ReplaceAllString(key+" "+strings.Join(texts, " "), "")
			found := regexp.MustCompile(`.{0,60}` + pattern + `.{0,60}`).FindString(text)
			assert.Empty(t, found, "%s holds %s", key, pattern)
		}
	}
}

// Somebody is forgotten after a whole kickoff: their id, name, words and marks
// are nowhere in the store. What others decided upon stays as it was, in the
// process that had it cached as well, and nobody is told of a loss.
func TestErase(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTestBot(t, options{rdb: rdb})
		h.playOn()
		key, gone := h.key(), h.ids["bo"]
		before, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)

		held, err := h.bot.Keeping.Held(t.Context(), key.Team, gone)
		require.NoError(t, err)
		data, err := json.Marshal(held)
		require.NoError(t, err)
		for _, theirs := range []string{"how many bicycles fit?", "deckhands can count bicycles in the dark", `"Name":"Bo"`, "wording-added", "desk/@" + gone} {
			assert.Contains(t, string(data), theirs)
		}
		for _, others := range []string{`"Name":"Cy"`, "the harbour lends us its mast", `"framing-voted"`} { // a ballot that was counted is nobody's
			assert.NotContains(t, string(data), others)
		}

		keeper := *h.bot.Keeping // an hour later it is packed, and reads as before, also by a process that has not seen it
		keeper.Clock = func() time.Time { return h.clock.Now().Add(2 * time.Hour) }
		require.NoError(t, keeper.Tidy(t.Context()))
		if before.Stage == state.StageEnded {
			require.Len(t, rdb.Keys(t.Context(), "*:packed").Val(), 1)
		}
		same, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, before.Version, same.Version)
		h.restart()
		fresh, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, before.Version, fresh.Version)
		assert.Equal(t, before.Rounds, fresh.Rounds)

		found, err := h.bot.Keeping.Erase(t.Context(), key.Team, gone)
		require.NoError(t, err)
		assert.Equal(t, 1, found)
		mustNotHold(t, rdb, gone, `\bBo\b`, "how many bicycles fit")

		after, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, after.Version, before.Version)
		assert.Zero(t, after.Loss)
		assert.Equal(t, len(before.People), len(after.People))
		assert.Equal(t, before.Framing.Level, after.Framing.Level)
		assert.Equal(t, before.Framing.Problem, after.Framing.Problem)
		for i, round := range before.Rounds {
			assert.Equal(t, round.Result, after.Rounds[i].Result)
		}
		for i, a := range before.Assumptions {
			assert.Equal(t, a.Text, after.Assumptions[i].Text)
		}
		assert.Equal(t, before.Timebox.Proposal, after.Timebox.Proposal)
		assert.Equal(t, before.Timebox.Weeks, after.Timebox.Weeks)
		assert.Equal(t, before.Underway.Decision.Set, after.Underway.Decision.Set)
		for i, checkin := range before.Underway.Checkins {
			assert.Equal(t, fmt.Sprint(checkin.Moved), fmt.Sprint(after.Underway.Checkins[i].Moved)) // no figure is unlike itself
		}
		if after.Version > 0 && len(after.Rounds) > 0 {
			_, err = report.Files(after)
			require.NoError(t, err)
		}
		again, err := h.bot.Keeping.Held(t.Context(), key.Team, gone)
		require.NoError(t, err)
		assert.Empty(t, again.Kickoffs)
	})
}

// Somebody is forgotten while the kickoff goes on: they leave it, nothing
// stands twice, and the others' answers count.
func TestEraseWhileItGoesOn(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Embedded(t))
	h := newTestBot(t, options{rdb: rdb})
	theBrief(h)
	key, gone := h.key(), h.ids["bo"]
	_, err := h.bot.Keeping.Erase(t.Context(), key.Team, gone)
	require.NoError(t, err)
	mustNotHold(t, rdb, gone, `\bBo\b`, "how many bicycles fit")

	require.NoError(t, h.bot.Kickoffs.Sweep(t.Context()))
	h.settle()
	h.act("cy", "open/brief.ask", text("ask", written("and where do they stand?")))
	h.settle()
	require.Empty(t, h.clock.Failed())
	for slot, count := range h.slots() {
		assert.Equal(t, 1, count, "%s stands", slot)
	}
	k, err := h.bot.Kickoffs.Load(t.Context(), key)
	require.NoError(t, err)
	assert.Zero(t, k.Loss)
	assert.NotContains(t, k.Participants(), state.UserID(gone))
	assert.Len(t, k.Brief.Questions, 2)
	mustNotHold(t, rdb, gone, `\bBo\b`)
}

// A kickoff that ended long ago goes with everything that was noted about it,
// and one that is open, or ended a day ago, stays.
func TestTidy(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		if scenesPlayed < len(script()) {
			t.Skip("the kickoff does not end")
		}
		h := newTestBot(t, options{rdb: rdb})
		h.playOn()
		key := h.key()
		for name, texts := range storetest.Held(t, rdb) {
			assert.False(t, strings.Contains(name, ":seen") && strings.Contains(strings.Join(texts, " "), "delivery/"), "the marks of deliveries end with the kickoff: %s", name)
		}
		h.start("ana", h.channel, "bo")
		tidy := func(after time.Duration) {
			keeper := *h.bot.Keeping
			keeper.Clock = func() time.Time { return h.clock.Now().Add(after) }
			require.NoError(t, keeper.Tidy(t.Context()))
		}
		before, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		require.Greater(t, sealedEntries(t, h, key), 10, "ballots are sealed in more than one byte")
		tidy(300 * 24 * time.Hour)
		assert.Zero(t, sealedEntries(t, h, key), "of counted ballots nothing is kept, not even their size")
		h.restart()
		after, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		want, err := json.Marshal(before)
		require.NoError(t, err)
		got, err := json.Marshal(after)
		require.NoError(t, err)
		assert.JSONEq(t, string(want), string(got), "and nothing is missed")
		keys, err := h.journal.Index.All(t.Context(), key.Team)
		require.NoError(t, err)
		require.Len(t, keys, 2)
		tidy(365 * 24 * time.Hour)
		left, err := h.journal.Index.All(t.Context(), key.Team)
		require.NoError(t, err)
		require.Len(t, left, 1)
		assert.NotEqual(t, key, left[0])
		mustNotHold(t, rdb, regexp.QuoteMeta(key.Kickoff))
		open, err := h.bot.Kickoffs.Load(t.Context(), left[0])
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(open.Brief.Title, "Bicycles"))
	})
}

// A process that has seen a ballot, and then nothing more until the kickoff was packed,
// doesn't take what went with it for lost.
func TestPackedIsNotLost(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{})
	for _, s := range script() {
		if s.stage == "rating" {
			break
		}
		s.play(h)
	}
	h.rate("bo", "9")
	var logged bytes.Buffer
	another := &kickoffs.Store{Journal: h.journal, Zones: h.bot.Kickoffs.Zones, Clock: h.clock.Now, Logger: slog.New(slog.NewTextHandler(&logged, nil))}
	seen, err := another.Load(t.Context(), h.key())
	require.NoError(t, err)
	require.NotEmpty(t, seen.Ballot(1, state.UserID(h.ids["bo"])))
	h.act("ana", "open/lead.call-off", text("why", "The season is over."))
	h.settle()
	keeper := *h.bot.Keeping
	keeper.Clock = func() time.Time { return h.clock.Now().Add(2 * time.Hour) }
	require.NoError(t, keeper.Tidy(t.Context()))
	require.Zero(t, sealedEntries(t, h, h.key()))
	now, err := another.Load(t.Context(), h.key())
	require.NoError(t, err)
	assert.Equal(t, state.StageEnded, now.Stage)
	assert.Empty(t, logged.String(), "nothing is told of a loss")
}

// sealedEntries counts the entries that hold more of what was sealed than its place.
func sealedEntries(t *testing.T, h *testBot, key journal.Key) (n int) {
	t.Helper()
	entries, err := h.journal.Read(t.Context(), key, journal.Position{})
	require.NoError(t, err)
	for _, e := range entries {
		var r event.Record
		require.NoError(t, r.UnmarshalJSON(e.Data))
		if len(r.Sealed) > 1 {
			n++
		}
	}
	return n
}

// Somebody is forgotten while their ballot is open: it goes with them, sealed as it
// is, and the others' are counted without it. What they wrote is found with the keys
// that the store holds until then.
func TestEraseWhileARatingIsOpen(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTestBot(t, options{rdb: rdb})
		for _, s := range script() {
			if s.stage == "rating" {
				break
			}
			s.play(h)
		}
		key, gone := h.key(), h.ids["bo"]
		h.rate("bo", "9")
		h.rate("cy", "1")
		h.settle()
		before, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		require.NotEmpty(t, before.Ballot(1, state.UserID(gone)), "there is a ballot to forget")
		held, err := h.bot.Keeping.Held(t.Context(), key.Team, gone)
		require.NoError(t, err)
		data, err := json.Marshal(held)
		require.NoError(t, err)
		assert.Contains(t, string(data), `"kind":"rated"`, "their own open ballot is given out")

		_, err = h.bot.Keeping.Erase(t.Context(), key.Team, gone)
		require.NoError(t, err)
		mustNotHold(t, rdb, gone, `\bBo\b`)
		entries, err := h.journal.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		opened, _, err := h.bot.Kickoffs.Unsealed(t.Context(), key, entries)
		require.NoError(t, err)
		rated := 0
		for _, e := range opened {
			assert.NotContains(t, string(e.Data), gone)
			rated += strings.Count(string(e.Data), `"kind":"rated"`)
		}
		assert.Positive(t, rated, "the others' ballots stand")

		h.restart()
		after, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, map[state.UserID]map[string]state.Marking{state.UserID(h.ids["cy"]): before.Ballot(1, state.UserID(h.ids["cy"]))}, after.Rounds[0].Ballots)
		require.NoError(t, h.bot.Kickoffs.Sweep(t.Context()))
		h.settle()
		h.rate("ana", "1")
		h.rate("eve", "2")
		h.settle()
		counted, err := h.bot.Kickoffs.Load(t.Context(), key)
		require.NoError(t, err)
		require.NotNil(t, counted.Rounds[0].Result, "the round is counted")
		assert.Equal(t, 3, counted.Rounds[0].Result.Raters)
		mustNotHold(t, rdb, gone, `\bBo\b`)
	})
}
