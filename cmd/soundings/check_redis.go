package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"

	"soundings/bot/journal"
)

// A storeState is what Redis says about itself; a field is empty where it
// does not tell, as hosted ones do not.
type storeState struct {
	version   string
	aof       string // 1 when an append-only file is kept
	aofStatus string // ok, or how its last write went
	fsync     string // always, everysec or no
	save      string // the points at which a snapshot is written; empty for none or not told
	saveKnown bool
	eviction  string
	pings     []time.Duration
}

// examineStore looks at an open Redis.
func examineStore(ctx context.Context, rdb redis.UniversalClient) []finding {
	state, err := askStore(ctx, rdb)
	if err != nil {
		return []finding{found("redis", toMend, "it does not answer any more: %v", err)}
	}
	return []finding{state.examineVersion(), examineAppend(ctx, rdb), state.examinePersistence(), state.examineEviction(), state.examineLatency()}
}

// manyPings is how often Redis is asked for nothing to learn how far it is.
const manyPings = 5

// askStore asks what there is to know. Only a ping must be answered.
func askStore(ctx context.Context, rdb redis.UniversalClient) (storeState, error) {
	var s storeState
	for range manyPings {
		began := time.Now()
		if err := rdb.Ping(ctx).Err(); err != nil {
			return s, err
		}
		s.pings = append(s.pings, time.Since(began))
	}
	info, _ := rdb.Info(ctx).Result() // not told where it may not be asked
	s.readInfo(info)
	if v, err := rdb.ConfigGet(ctx, "appendfsync").Result(); err == nil {
		s.fsync = v["appendfsync"]
	}
	if v, err := rdb.ConfigGet(ctx, "save").Result(); err == nil {
		s.save, s.saveKnown = v["save"], true
	}
	return s, nil
}

// readInfo reads the answer of INFO: lines of name:value.
func (s *storeState) readInfo(info string) {
	fields := map[string]string{}
	lines := bufio.NewScanner(strings.NewReader(info))
	for lines.Scan() {
		if name, value, ok := strings.Cut(lines.Text(), ":"); ok {
			fields[name] = strings.TrimSpace(value)
		}
	}
	s.version, s.aof, s.aofStatus, s.eviction = fields["redis_version"], fields["aof_enabled"], fields["aof_last_write_status"], fields["maxmemory_policy"]
}

// oldestRedis is the first release with streams and with scripts that may
// write what they computed, both of which the journal needs.
const oldestRedis = 5

func (s storeState) examineVersion() finding {
	const item = "redis"
	major, _, _ := strings.Cut(s.version, ".")
	n, err := strconv.Atoi(major)
	switch {
	case err != nil:
		return found(item, isNote, "it answers, and does not say which version it is; the bot needs %d or later", oldestRedis)
	case n < oldestRedis:
		return found(item, toMend, "it is version %s: the bot needs %d or later", s.version, oldestRedis)
	}
	return found(item, isGood, "it answers; version %s", s.version)
}

// examineAppend writes and reads one entry in a journal of its own, and
// removes it again.
func examineAppend(ctx context.Context, rdb redis.UniversalClient) finding {
	const item = "redis append"
	j := journal.New(rdb, journal.Options{Prefix: "snd-check-" + strings.ToLower(rand.Text())})
	key := journal.Key{Team: "check", Kickoff: "check"}
	err := appendOnce(ctx, j, key)
	if purged := j.Purge(context.WithoutCancel(ctx), key); err == nil {
		err = purged
	}
	if err != nil {
		return found(item, toMend, "an entry could not be written and read: %v; the account needs to run scripts and to write keys that begin with snd and asynq", err)
	}
	return found(item, isGood, "an entry was written, read and removed")
}

func appendOnce(ctx context.Context, j *journal.Journal, key journal.Key) error {
	if _, err := j.Append(ctx, key, journal.Write{Data: []byte("{}"), Delivery: "check"}); err != nil {
		return err
	}
	entries, err := j.Read(ctx, key, 0)
	if err == nil && len(entries) != 1 {
		err = fmt.Errorf("read the entry again: there are %d", len(entries))
	}
	return err
}

// examinePersistence sees whether what was acknowledged outlasts a restart.
func (s storeState) examinePersistence() finding {
	const item, turnOn = "redis persistence", "turn the append-only file on (appendonly yes)"
	switch {
	case s.aof == "":
		return found(item, isNote, "it does not say whether it keeps an append-only file; without one a restart loses what people have entered")
	case s.aof == "0" && s.saveKnown && s.save == "":
		return found(item, toMend, "it keeps nothing on disk, and a restart loses every kickoff: %s", turnOn)
	case s.aof == "0":
		return found(item, toMend, "it keeps snapshots only, and a crash loses the last minutes: %s", turnOn)
	case s.aofStatus != "" && s.aofStatus != "ok":
		return found(item, toMend, "its last write to the append-only file failed: see that its disk is neither full nor broken")
	case s.fsync == "no":
		return found(item, toMend, "appendfsync is no, and a crash of the machine loses what people have entered: set it to everysec or always")
	case s.fsync == "always":
		return found(item, isGood, "an append-only file with appendfsync always: nothing is lost")
	case s.fsync == "everysec":
		return found(item, isGood, "an append-only file with appendfsync everysec: a crash of the machine may lose the last second")
	}
	return found(item, isGood, "an append-only file; it does not say how often it is written to disk")
}

// examineEviction sees that Redis does not throw kickoffs away when its
// memory is full.
func (s storeState) examineEviction() finding {
	const item = "redis eviction"
	switch s.eviction {
	case "":
		return found(item, isNote, "it does not say what it does when its memory is full; maxmemory-policy must be noeviction")
	case "noeviction":
		return found(item, isGood, "it refuses writes when its memory is full, and throws nothing away")
	}
	return found(item, toMend, "maxmemory-policy is %s, which throws kickoffs away when its memory is full: set it to noeviction", s.eviction)
}

// slowStore is the slowest answer that leaves room for the ten or so that a
// request needs within the platform's three seconds.
const slowStore = 100 * time.Millisecond

func (s storeState) examineLatency() finding {
	const item = "redis latency"
	middle := slices.Sorted(slices.Values(s.pings))[len(s.pings)/2].Round(10 * time.Microsecond)
	if middle > slowStore {
		return found(item, toMend, "an answer takes %v (the middle one of %d): run the bot nearer to it, since the platform waits three seconds", middle, len(s.pings))
	}
	return found(item, isGood, "an answer takes %v (the middle one of %d)", middle, len(s.pings))
}
