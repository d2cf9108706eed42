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
	t.Parallel()
	assert.Equal(t, uint16(0x31C3), crc16("123456789"), "crc16(123456789)")
}

// keysOfKickoff are all keys of a kickoff.
func keysOfKickoff(t require.TestingT, j *Journal, key Key) (all []string) {
	k, err := j.kickoff(key)
	require.NoError(t, err)
	for _, name := range kickoffKeys {
		all = append(all, k+name)
	}
	return all
}

func TestAllKeysOfAKickoffShareASlot(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{Prefix: names().Draw(t, "prefix")})
		key := Key{Team: names().Draw(t, "team"), Kickoff: names().Draw(t, "kickoff")}
		all := keysOfKickoff(t, j, key)
		for _, k := range all {
			assert.Equal(t, slot(all[0]), slot(k), "the slots of %q and %q differ", all[0], k)
			assert.Equal(t, 1, strings.Count(k, "{"), "key %q has another hash tag than its own", k)
			assert.Equal(t, 1, strings.Count(k, "}"), "key %q has another hash tag than its own", k)
		}
		distinct := slices.Compact(slices.Sorted(slices.Values(all)))
		assert.Len(t, distinct, len(all), "the keys %q are not all different", all)
	})
}

func TestKeysOfATeamShareASlot(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{})
		team, err := j.team(names().Draw(t, "team"))
		require.NoError(t, err)
		first := team + keyKickoffs
		for _, name := range []string{keyChannels, keyGreeted, keyPerson + plain(names().Draw(t, "user"))} {
			assert.Equal(t, slot(first), slot(team+name), "the slots of %q and %q differ", first, team+name)
		}
	})
}

func TestDifferentKickoffsHaveDifferentKeys(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j := New(nil, Options{})
		a := Key{Team: names().Draw(t, "team a"), Kickoff: names().Draw(t, "kickoff a")}
		b := Key{Team: names().Draw(t, "team b"), Kickoff: names().Draw(t, "kickoff b")}
		ka, kb := keysOfKickoff(t, j, a), keysOfKickoff(t, j, b)
		assert.Equal(t, a == b, slices.Equal(ka, kb), "%q and %q have the keys %q and %q", a, b, ka, kb)
	})
}

func TestShapeOfKeys(t *testing.T) {
	t.Parallel()
	j := New(nil, Options{})
	keys := keysOfKickoff(t, j, Key{Team: "T1", Kickoff: "C1-1}/x +é"})
	assert.Equal(t, "snd:{T1/C1-1%7D%2Fx%20%2B%C3%A9}:entries", keys[0])
}

func TestEmptyNamesAreRefused(t *testing.T) {
	t.Parallel()
	j := New(nil, Options{})
	for _, key := range []Key{{}, {Team: "T1"}, {Kickoff: "K1"}} {
		_, err := j.kickoff(key)
		assert.ErrorIs(t, err, errNameless, "kickoff(%+v)", key)
	}
	_, err := j.team("")
	assert.ErrorIs(t, err, errNameless, `team("")`)
}
