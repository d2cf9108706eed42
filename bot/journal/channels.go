package journal

import (
	"context"
	"fmt"
	"strings"

	"github.com/redis/go-redis/v9"
)

// abandoned is how old, in seconds, a claim must be before another kickoff
// may take the channel although the holder has no entry. The first entry
// follows a claim within seconds, unless the process died in between.
const abandoned = 120

// claimScript gives a channel to a kickoff unless another one holds it.
//
// KEYS: channels, kickoffs (see keys.go)
// ARGV: channel, kickoff, holder that may be displaced (or empty), seconds it
// must have held the channel for that
//
// It returns the holder: ARGV[2] when the claim stands.
var claimScript = redis.NewScript(`
local now = redis.call('TIME')[1]
local held = redis.call('HGET', KEYS[1], ARGV[1])
if held then
	local since, holder = string.match(held, '^(%d+) (.*)$')
	if holder ~= ARGV[3] or now - since < tonumber(ARGV[4]) then
		return holder
	end
end
redis.call('HSET', KEYS[1], ARGV[1], now .. ' ' .. ARGV[2])
redis.call('SADD', KEYS[2], ARGV[2])
return ARGV[2]
`)

// Claim takes a channel for a kickoff: one is open in a channel at a time. It
// returns who holds the channel afterwards, the kickoff itself when the claim
// stands. Claiming again what is held already is fine. A claim that a crash
// left behind, two minutes old and without an entry in the holder's record,
// gives way.
func (x *Index) Claim(ctx context.Context, team, channel, kickoff string) (holder string, err error) {
	what := fmt.Sprintf("claim channel %q for kickoff %q", channel, kickoff)
	return onTeam(x.store, team, what, func(t string) (string, error) {
		if channel == "" || kickoff == "" {
			return "", errNameless
		}
		if err := x.rdb.SAdd(ctx, x.teams(), team).Err(); err != nil {
			return "", err
		}
		claim := func(displaced string) (string, error) {
			return claimScript.Run(ctx, x.rdb, []string{t + keyChannels, t + keyKickoffs},
				channel, kickoff, displaced, abandoned).Text()
		}
		holder, err := claim("")
		if err != nil || holder == kickoff {
			return holder, err
		}
		k, err := x.kickoff(Key{Team: team, Kickoff: holder})
		if err != nil {
			return "", err
		}
		begun, err := x.rdb.Exists(ctx, k+keyEntries).Result()
		if err != nil || begun > 0 {
			return holder, err
		}
		return claim(holder)
	})
}

// releaseScript frees a channel if the kickoff holds it.
//
// KEYS: channels; ARGV: channel, kickoff
var releaseScript = redis.NewScript(`
local held = redis.call('HGET', KEYS[1], ARGV[1])
if held and string.match(held, '^%d+ (.*)$') == ARGV[2] then
	redis.call('HDEL', KEYS[1], ARGV[1])
end
return 0
`)

// Release frees a channel if the kickoff holds it; otherwise it does nothing.
func (x *Index) Release(ctx context.Context, team, channel, kickoff string) error {
	what := fmt.Sprintf("release channel %q of kickoff %q", channel, kickoff)
	_, err := onTeam(x.store, team, what, func(t string) (any, error) {
		if channel == "" || kickoff == "" {
			return nil, errNameless
		}
		return releaseScript.Run(ctx, x.rdb, []string{t + keyChannels}, channel, kickoff).Result()
	})
	return err
}

// InChannel returns the kickoff that holds a channel, or "".
func (x *Index) InChannel(ctx context.Context, team, channel string) (kickoff string, err error) {
	held, err := onTeam(x.store, team, "look up the kickoff of channel "+channel, func(t string) (string, error) {
		return x.rdb.HGet(ctx, t+keyChannels, channel).Result()
	})
	return holderOf(held), err
}

// holderOf reads the kickoff out of a value of the channels hash.
func holderOf(held string) string {
	_, kickoff, _ := strings.Cut(held, " ")
	return kickoff
}
