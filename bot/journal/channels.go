package journal

import (
	"context"
	"errors"
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
// KEYS: channels, kickoffs (see teamKeys)
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
	keys, err := x.channelKeys(team, channel, kickoff)
	if err != nil {
		return "", err
	}
	if err := x.rdb.SAdd(ctx, x.teams(), team).Err(); err != nil {
		return "", fmt.Errorf("claim channel %s for kickoff %s: %w", channel, kickoff, err)
	}
	holder, err = x.claim(ctx, keys, channel, kickoff, "")
	if err != nil || holder == kickoff {
		return holder, err
	}
	begun, err := x.begun(ctx, Key{Team: team, Kickoff: holder})
	if err != nil || begun {
		return holder, err
	}
	return x.claim(ctx, keys, channel, kickoff, holder)
}

func (x *Index) claim(ctx context.Context, keys teamKeys, channel, kickoff, displaced string) (string, error) {
	holder, err := claimScript.Run(ctx, x.rdb, []string{keys.channels, keys.kickoffs},
		channel, kickoff, displaced, abandoned).Text()
	if err != nil {
		return "", fmt.Errorf("claim channel %s for kickoff %s: %w", channel, kickoff, err)
	}
	return holder, nil
}

// begun says whether a kickoff has a record.
func (x *Index) begun(ctx context.Context, key Key) (bool, error) {
	keys, err := x.keys(key)
	if err != nil {
		return false, err
	}
	n, err := x.rdb.Exists(ctx, keys.entries).Result()
	if err != nil {
		return false, fmt.Errorf("ask whether kickoff %s has begun: %w", key.Kickoff, err)
	}
	return n > 0, nil
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
	keys, err := x.channelKeys(team, channel, kickoff)
	if err != nil {
		return err
	}
	if err := releaseScript.Run(ctx, x.rdb, []string{keys.channels}, channel, kickoff).Err(); err != nil {
		return fmt.Errorf("release channel %s of kickoff %s: %w", channel, kickoff, err)
	}
	return nil
}

func (x *Index) channelKeys(team, channel, kickoff string) (teamKeys, error) {
	if channel == "" || kickoff == "" {
		return teamKeys{}, fmt.Errorf("channel %q, kickoff %q: %w", channel, kickoff, errNameless)
	}
	return x.team(team)
}

// InChannel returns the kickoff that holds a channel, or "".
func (x *Index) InChannel(ctx context.Context, team, channel string) (kickoff string, err error) {
	keys, err := x.team(team)
	if err != nil {
		return "", err
	}
	held, err := x.rdb.HGet(ctx, keys.channels, channel).Result()
	if err != nil && !errors.Is(err, redis.Nil) {
		return "", fmt.Errorf("look up the kickoff of channel %s: %w", channel, err)
	}
	return holderOf(held), nil
}

// holderOf reads the kickoff out of a value of the channels hash.
func holderOf(held string) string {
	_, kickoff, _ := strings.Cut(held, " ")
	return kickoff
}
