package installs

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// randomKey is a key as an operator makes one.
func randomKey() string {
	var secret [32]byte
	_, _ = rand.Read(secret[:])
	return base64.StdEncoding.EncodeToString(secret[:])
}

func keysOf(t testing.TB, first, old string) *Keys {
	t.Helper()
	k, err := NewKeys(first, old)
	require.NoError(t, err)
	return k
}

// Source: D. McGrew, J. Viega, "The Galois/Counter Mode of Operation (GCM)",
// appendix B, test case 16: AES-256, a nonce of 96 bits, a tag of 128, with
// additional data. It is the mode that NIST SP 800-38D standardised.
func TestSealIsGCM(t *testing.T) {
	raw := func(text string) []byte {
		data, err := hex.DecodeString(text)
		require.NoError(t, err)
		return data
	}
	aead, err := newAEAD(raw("feffe9928665731c6d6a8f9467308308feffe9928665731c6d6a8f9467308308"))
	require.NoError(t, err)
	got := aead.Seal(nil, raw("cafebabefacedbaddecaf888"),
		raw("d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a721c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"),
		raw("feedfacedeadbeeffeedfacedeadbeefabaddad2"))
	want := raw("522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662" +
		"76fc6ece0f4e1768cddf8853bb2d551b")
	assert.True(t, bytes.Equal(got, want), "got  %x\nwant", got)
}

// What is sealed opens for the same team, and a seal never looks the same
// twice.
func TestSealOpens(t *testing.T) {
	k := keysOf(t, randomKey(), "")
	rapid.Check(t, func(r *rapid.T) {
		team, plain := rapid.String().Draw(r, "team"), rapid.SliceOf(rapid.Byte()).Draw(r, "plain")
		sealed := k.installs.seal(team, plain)
		got, old, err := k.installs.open(team, sealed)
		require.NoError(r, err, "got %q, old %v", got, old)
		require.False(r, old, "got %q, old %v", got, old)
		require.True(r, bytes.Equal(got, plain), "got %q, old %v", got, old)
		require.NotEqual(r, sealed, k.installs.seal(team, plain), "the same nonce came twice")
	})
}

// A record that was changed in any place, or moved to another team, does not
// open; sealed under two keys, it does not open as anything else.
func TestSealHolds(t *testing.T) {
	k, two := keysOf(t, randomKey(), ""), keysOf(t, randomKey(), randomKey())
	rapid.Check(t, func(r *rapid.T) {
		plain := rapid.SliceOf(rapid.Byte()).Draw(r, "plain")
		sealed := k.installs.seal("T1", plain)
		_, _, err := k.installs.open("T2", sealed)
		require.ErrorIs(r, err, ErrDecrypt, "moved to another team")
		at := rapid.IntRange(0, len(sealed)-1).Draw(r, "at")
		other := rapid.Byte().Filter(func(b byte) bool { return b != sealed[at] }).Draw(r, "other")
		changed := sealed[:at] + string([]byte{other}) + sealed[at+1:]
		if _, _, err := k.installs.open("T1", changed); !errors.Is(err, ErrDecrypt) {
			r.Fatalf("%q for %q at %d: got %v, want %v", other, sealed[at], at, err, ErrDecrypt)
		}
		_, _, err = k.installs.open("T1", sealed[:at])
		require.ErrorIs(r, err, ErrDecrypt, "cut off at %d", at)

		sealed = two.installs.seal("T1", plain)
		at = rapid.IntRange(0, len(sealed)-1).Draw(r, "at")
		got, _, err := two.installs.open("T1", sealed[:at]+"A"+sealed[at+1:])
		require.True(r, errors.Is(err, ErrDecrypt) || err == nil && bytes.Equal(got, plain), "changed at %d of two: got %x, %v", at, got, err)
	})
}

// Rotation: what the old key sealed opens beside the new one, and not without
// it.
func TestOldKeyOpens(t *testing.T) {
	first, next := randomKey(), randomKey()
	sealed := keysOf(t, first, "").installs.seal("T1", []byte("x"))
	for _, c := range []struct {
		rule       string
		keys       *Keys
		opens, old bool
	}{
		{"the same key", keysOf(t, first, ""), true, false},
		{"a new key with the old one", keysOf(t, next, first), true, true},
		{"a new key alone", keysOf(t, next, ""), false, false},
	} {
		_, old, err := c.keys.installs.open("T1", sealed)
		assert.Equal(t, c.opens, (err == nil), "%s: got %v, old %v; want it to open %v, old", c.rule, err, old, c.opens)
		assert.Equal(t, c.old, old, "%s: got %v, old %v; want it to open %v, old", c.rule, err, old, c.opens)
	}
}

func TestParseKey(t *testing.T) {
	secret := make([]byte, 32)
	for i := range secret {
		secret[i] = byte(250 - i) // so that both alphabets of base64 are told apart
	}
	for _, good := range []string{hex.EncodeToString(secret), strings.ToUpper(hex.EncodeToString(secret)), base64.StdEncoding.EncodeToString(secret),
		base64.RawStdEncoding.EncodeToString(secret), base64.URLEncoding.EncodeToString(secret), base64.RawURLEncoding.EncodeToString(secret)} {
		got, err := ParseKey(good)
		assert.NoError(t, err, "ParseKey(%q)", good)
		assert.True(t, bytes.Equal(got, secret), "ParseKey(%q)", good)
	}
	for rule, bad := range map[string]string{"empty": "", "words": "correct horse battery staple", "short": base64.StdEncoding.EncodeToString(secret[:31]),
		"long": hex.EncodeToString(append(secret, 1)), "32 letters": strings.Repeat("abcd", 8), "zeros": strings.Repeat("0", 64),
		"one letter": base64.StdEncoding.EncodeToString(bytes.Repeat([]byte("k"), 32))} {
		_, err := ParseKey(bad)
		require.ErrorIs(t, err, ErrKey, rule)
		if bad != "" {
			assert.NotContains(t, err.Error(), bad, "%s: the error quotes the key", rule)
		}
	}
}

// Nothing that is printed by mistake gives a token or key away.
func TestNothingPrints(t *testing.T) {
	i := Install{Team: "T1", Name: "Quay", Token: "xoxb-made-up"}
	k := keysOf(t, randomKey(), "")
	asJSON, err := json.Marshal(map[string]any{"install": i})
	require.NoError(t, err)
	for _, text := range []string{fmt.Sprint(i), fmt.Sprintf("%v %+v %#v %s %q", i, i, i, i, i), fmt.Sprintf("%+v", &i), string(asJSON), i.LogValue().String()} {
		assert.NotContains(t, text, "xoxb", "a token came out")
	}
	for _, verb := range []string{"%v", "%+v", "%#v", "%x"} {
		assert.Equal(t, "1 keys", fmt.Sprintf(verb, k), "keys print as")
	}
}

// Each fault of a state is found, whichever key signed it.
func TestState(t *testing.T) {
	now := time.Date(2030, 3, 4, 9, 0, 0, 0, time.UTC)
	first, next := randomKey(), randomKey()
	k := keysOf(t, first, "")
	state, cookie := k.newState(now)
	other, otherCookie := k.newState(now)
	for _, c := range []struct {
		rule          string
		keys          *Keys
		state, cookie string
		after         time.Duration
		want          error
	}{
		{"at once", k, state, cookie, 0, nil},
		{"ten minutes later", k, state, cookie, 10 * time.Minute, nil},
		{"a second too late", k, state, cookie, 10*time.Minute + time.Second, errExpired},
		{"by a clock a little behind", k, state, cookie, -time.Minute, nil},
		{"from the future", k, state, cookie, -time.Minute - time.Second, errExpired},
		{"after a rotation", keysOf(t, next, first), state, cookie, time.Minute, nil},
		{"under a key that has gone", keysOf(t, next, ""), state, cookie, time.Minute, errForged},
		{"in another browser", k, state, otherCookie, 0, errForged},
		{"somebody else's", k, other, cookie, 0, errForged},
		{"without a cookie", k, state, "", 0, errNoState},
		{"without a state", k, "", cookie, 0, errNoState},
		{"of another shape", k, state + "A", cookie, 0, errForged},
		{"no state at all", k, "hello", cookie, 0, errForged},
	} {
		_, err := c.keys.checkState(c.state, c.cookie, now.Add(c.after))
		assert.ErrorIs(t, err, c.want, c.rule)
	}
}

// No state but the one that was made is taken.
func FuzzState(f *testing.F) {
	now := time.Date(2030, 3, 4, 9, 0, 0, 0, time.UTC)
	k := keysOf(f, randomKey(), randomKey())
	state, cookie := k.newState(now)
	f.Add(state, cookie)
	f.Add(state, "")
	f.Add("", cookie)
	f.Add(strings.ToUpper(state), cookie)
	f.Add(state[:len(state)-1], cookie+"A")
	f.Fuzz(func(t *testing.T, s, c string) {
		_, err := k.checkState(s, c, now)
		assert.False(t, err == nil && (s != state || c != cookie), "taken: %q with %q", s, c)
	})
}

// No record but a sealed one opens.
func FuzzOpen(f *testing.F) {
	k := keysOf(f, randomKey(), randomKey())
	sealed, err := k.sealInstall(Install{Team: "T1", Token: "xoxb-made-up"})
	require.NoError(f, err)
	f.Add("T1", sealed)
	f.Add("T2", sealed)
	f.Add("T1", "1.")
	f.Add("", sealed[:20])
	f.Fuzz(func(t *testing.T, team, text string) {
		_, _, err := k.openInstall(team, text)
		assert.False(t, err == nil && (team != "T1" || text != sealed), "opened for %q: %q", team, text)
	})
}
