package bot_test

import (
	"context"
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/jobs"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/flows/state"
)

// A burglar holds all that there is in Redis, every job that there ever was,
// and the ids of all people. What they find out about somebody is found.
type burglar struct {
	users []string
	loot  map[string]bool // every key, field, member and value
	keys  map[string]bool // whatever could be a key

	opened map[string]bool // boxes that a key fits
}

func burgle(t *testing.T, rdb redis.UniversalClient, jobs []string, users []string) *burglar {
	t.Helper()
	b := &burglar{users: users, loot: map[string]bool{}, keys: map[string]bool{}, opened: map[string]bool{}}
	for key, texts := range storetest.Held(t, rdb) {
		b.take(key)
		b.take(texts...)
	}
	b.take(jobs...)
	b.unseal()
	return b
}

// like is what could be a key, written down as it is or in letters.
var like = regexp.MustCompile(`[A-Za-z0-9+/_=-]{16,88}`)

func (b *burglar) take(all ...string) {
	for _, text := range all {
		b.loot[text] = true
		if n := len(text); n >= 16 && n <= 64 {
			b.keys[text] = true
		}
		for _, word := range like.FindAllString(text, 40) {
			b.keys[word] = true
			for _, decode := range []func(string) ([]byte, error){base64.StdEncoding.DecodeString, base64.RawURLEncoding.DecodeString, hex.DecodeString} {
				if raw, err := decode(word); err == nil && len(raw) >= 16 && len(raw) <= 64 {
					b.keys[string(raw)] = true
				}
			}
		}
	}
}

// unseal tries everything that could be a key on everything that is sealed.
func (b *burglar) unseal() {
	var sealers []cipher.AEAD
	for key := range b.keys {
		sum := sha256.Sum256([]byte(key))
		for _, k := range [][]byte{[]byte(key), sum[:]} {
			if block, err := aes.NewCipher(k); err == nil {
				sealer, err := cipher.NewGCMWithRandomNonce(block)
				if err == nil {
					sealers = append(sealers, sealer)
				}
			}
		}
	}
	for text := range b.loot {
		var s struct {
			Box    string
			Sealed []byte
		}
		if json.Unmarshal([]byte(text), &s) != nil || len(s.Sealed) == 0 {
			continue
		}
		for _, sealer := range sealers {
			if _, err := sealer.Open(nil, nil, s.Sealed, []byte(s.Box)); err == nil {
				b.opened[s.Box] = true
			}
		}
	}
}

// A ballot in the clear: an event, or the part of a state.
var ballots = regexp.MustCompile(`"(rated|framing-voted|weeks-voted|outlook-voted|foreseen|evidence-rerated|confidence-voted|decision-voted)"|"(Ballots|Said|Votes|Worth|Cost|Evidence|Confidence)":\{`)

// names are what somebody might be written down as.
func (b *burglar) names() map[string]string {
	names := map[string]string{}
	for _, user := range b.users {
		names[user] = user
		for key := range b.keys {
			for _, sum := range []func() hash.Hash{sha1.New, sha256.New} {
				mac := hmac.New(sum, []byte(key))
				mac.Write([]byte(user))
				raw := mac.Sum(nil)
				for _, written := range []string{hex.EncodeToString(raw), base64.StdEncoding.EncodeToString(raw), base64.RawURLEncoding.EncodeToString(raw)} {
					for _, n := range []int{len(written), 32, 22, 16} {
						names[written[:min(n, len(written))]] = user
					}
				}
			}
		}
	}
	return names
}

var anyWord = regexp.MustCompile(`[A-Za-z0-9+/_=-]+`)

// found says which boxes can be opened, and which ballots outside can be tied
// to whom.
func (b *burglar) found() []string {
	names := b.names()
	found := slices.Sorted(maps.Keys(b.opened))
	for text := range b.loot {
		if !ballots.MatchString(text) {
			continue
		}
		for _, word := range anyWord.FindAllString(text, -1) {
			if user, known := names[word]; known {
				found = append(found, user+": "+text)
				break
			}
		}
	}
	return found
}

// forgetful swallows the command by which keys are destroyed.
type forgetful struct{}

func (forgetful) DialHook(next redis.DialHook) redis.DialHook { return next }
func (forgetful) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		if args := cmd.Args(); cmd.Name() == "hset" && strings.HasSuffix(fmt.Sprint(args[1]), ":box-keys") {
			return nil
		}
		return next(ctx, cmd)
	}
}
func (forgetful) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return next
}

// loudQueue remembers what was queued.
type loudQueue struct {
	jobs.Queue
	said []string
}

func (q *loudQueue) Enqueue(ctx context.Context, j jobs.Job) error {
	q.said = append(q.said, j.ID, string(j.Payload))
	return q.Queue.Enqueue(ctx, j)
}

// TestNobodyCanLookUpABallot plays a whole kickoff on a real server and breaks
// in: in the middle of the rating, when whoever holds Redis can open a ballot,
// and at the end, when nobody can.
func TestNobodyCanLookUpABallot(t *testing.T) {
	t.Parallel()
	h, breakIn := rateable(t, storetest.Client(t, storetest.Server(t)))
	for _, s := range script()[:4] {
		s.play(h)
	}
	h.rate("cy", "4")
	cy := state.UserID(h.ids["cy"])
	for name, k := range map[string]state.Kickoff{"the bot": loaded(t, h), "one that starts now": fromTheStart(t, h)} {
		assert.Equal(t, state.Marking{Importance: 9, Evidence: 4}, k.Ballot(1, cy)["A1"], "what %s shows cy of their own", name)
	}
	assert.NotEmpty(t, breakIn().found(), "while a round is open, whoever holds Redis can read it")
	for _, s := range script()[4:] {
		s.play(h)
	}
	assert.Equal(t, state.StageEnded, loaded(t, h).Stage)
	assert.Empty(t, breakIn().found(), "ballots that can be tied to somebody")
	held, err := json.Marshal(loaded(t, h))
	require.NoError(t, err)
	anew, err := json.Marshal(fromTheStart(t, h))
	require.NoError(t, err)
	assert.JSONEq(t, string(held), string(anew), "what the bot holds, and a fold from the start")
}

// The same where no key is destroyed: every box is opened then, or the test
// above has not looked.
func TestWithoutDestroyingKeysEveryBoxIsOpened(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Server(t))
	rdb.AddHook(forgetful{})
	h, breakIn := rateable(t, rdb)
	for _, s := range script() {
		s.play(h)
	}
	assert.Equal(t, []string{"checkin/1", "decision/1", "foresight-1/1", "framing/1", "rating/1", "timebox/1"}, breakIn().found())
}

// rateable is a bot on a server, and the way to break in there.
func rateable(t *testing.T, rdb redis.UniversalClient) (*testBot, func() *burglar) {
	t.Helper()
	q := &loudQueue{}
	h := newTestBot(t, options{rdb: rdb, queue: func(next jobs.Queue) jobs.Queue { q.Queue = next; return q }})
	return h, func() *burglar {
		return burgle(t, rdb, q.said, slices.Collect(maps.Values(h.ids)))
	}
}

func loaded(t *testing.T, h *testBot) state.Kickoff {
	t.Helper()
	k, err := h.bot.Kickoffs.Load(t.Context(), h.key())
	require.NoError(t, err)
	return k
}

// fromTheStart is what a process holds that has seen nothing yet.
func fromTheStart(t *testing.T, h *testBot) state.Kickoff {
	t.Helper()
	k, err := (&kickoffs.Store{Journal: h.journal, Zones: h.bot.Kickoffs.Zones, Clock: h.clock.Now, Logger: h.bot.Kickoffs.Logger}).Load(t.Context(), h.key())
	require.NoError(t, err)
	return k
}
