package journal

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// names draws names that try to break a key.
func names() *rapid.Generator[string] {
	hostile := rapid.SampledFrom([]string{"{", "}", "}{", ":", "/", "%", "%7D", " ", "\x00", "\n", "é", "T1", "a", "K"})
	return rapid.OneOf(
		rapid.StringN(1, 12, -1),
		rapid.Map(rapid.SliceOfN(hostile, 1, 5), func(parts []string) string { return strings.Join(parts, "") }),
	)
}

// slot is the hash slot of a key by the Redis Cluster specification,
// "Key distribution model" and "Hash tags".
func slot(key string) uint16 {
	if open := strings.IndexByte(key, '{'); open >= 0 {
		if end := strings.IndexByte(key[open+1:], '}'); end > 0 {
			key = key[open+1 : open+1+end]
		}
	}
	return crc16(key) % 16384
}

// crc16 is CRC-16/XMODEM, as the specification's appendix A asks for.
func crc16(s string) (crc uint16) {
	for i := range len(s) {
		crc ^= uint16(s[i]) << 8
		for range 8 {
			if crc&0x8000 != 0 {
				crc = crc<<1 ^ 0x1021
				continue
			}
			crc <<= 1
		}
	}
	return crc
}

// The check value stands in appendix A of the Redis Cluster specification.
func TestCRC16OfTheSpecification(t *testing.T) {
	assert.Equal(t, uint16(0x31C3), crc16("123456789"), "crc16(123456789)")
}

func TestAllKeysOfAKickoffShareASlot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{Prefix: names().Draw(t, "prefix")})
		key := Key{Team: names().Draw(t, "team"), Kickoff: names().Draw(t, "kickoff")}
		keys, err := j.keys(key)
		require.NoError(t, err)
		all := keys.all()
		for _, k := range all {
			if got, want := slot(k), slot(all[0]); got != want {
				t.Errorf("slot of %q = %d, of %q = %d", k, got, all[0], want)
			}
			assert.Equal(t, 1, strings.Count(k, "{"), "key %q has another hash tag than its own", k)
			assert.Equal(t, 1, strings.Count(k, "}"), "key %q has another hash tag than its own", k)
		}
		distinct := slices.Compact(slices.Sorted(slices.Values(all)))
		assert.Len(t, distinct, len(all), "the keys %q are not all different", all)
	})
}

func TestKeysOfATeamShareASlot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{})
		keys, err := j.team(names().Draw(t, "team"))
		require.NoError(t, err)
		person := keys.person + plain(names().Draw(t, "user"))
		for _, k := range []string{keys.channels, keys.greeted, person} {
			got, want := slot(k), slot(keys.kickoffs)
			assert.Equal(t, want, got, "slot of %q = %d, of %q", k, got, keys.kickoffs)
		}
	})
}

func TestDifferentKickoffsHaveDifferentKeys(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{})
		a := Key{Team: names().Draw(t, "team a"), Kickoff: names().Draw(t, "kickoff a")}
		b := Key{Team: names().Draw(t, "team b"), Kickoff: names().Draw(t, "kickoff b")}
		ka, errA := j.keys(a)
		kb, errB := j.keys(b)
		require.NoError(t, errA)
		require.NoError(t, errB)
		assert.Equal(t, (ka == kb), (a == b), "%q and %q have the keys %q and %q", a, b, ka.entries, kb.entries)
	})
}

func TestShapeOfKeys(t *testing.T) {
	j := New(nil, Options{})
	keys, err := j.keys(Key{Team: "T1", Kickoff: "C1-1}/x"})
	require.NoError(t, err)
	assert.Equal(t, "snd:{T1/C1-1%7D%2Fx}:entries", keys.entries, "entries")
}

func TestEmptyNamesAreRefused(t *testing.T) {
	j := New(nil, Options{})
	for _, key := range []Key{{}, {Team: "T1"}, {Kickoff: "K1"}} {
		_, err := j.keys(key)
		assert.ErrorIs(t, err, errNameless, "keys(%+v)", key)
	}
	_, err := j.team("")
	assert.ErrorIs(t, err, errNameless, `team("")`)
}
