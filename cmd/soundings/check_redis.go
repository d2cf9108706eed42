package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
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
	saved     bool // it has written a snapshot since it started
	eviction  string
	replicas  string // how many are connected, to the primary that has fewest
	pings     []time.Duration
}

// examineRedis opens Redis and looks at it. The client is nil where there is
// none.
func (k *checkup) examineRedis(ctx context.Context) redis.UniversalClient {
	rdb, err := openRedis(ctx, "SOUNDINGS_REDIS_URL", k.RedisURL)
	if err != nil {
		k.mend("redis", err)
		return nil
	}
	state, err := askStore(ctx, rdb)
	if err != nil {
		k.mend("redis", fmt.Errorf("it does not answer any more: %w", err))
		return rdb
	}
	state.examineVersion(&k.findings)
	k.examineAppend(ctx, rdb)
	state.examinePersistence(&k.findings)
	k.examineContent(ctx, rdb)
	state.examineEviction(&k.findings)
	state.examineReplicas(&k.findings, k.settings)
	state.examineLatency(&k.findings)
	return rdb
}

// manyPings is how often Redis is asked for nothing to learn how far it is.
const manyPings = 5

// askStore asks what there is to know. Only a ping must be answered. Of a
// cluster's primaries the one counts that keeps least.
func askStore(ctx context.Context, rdb redis.UniversalClient) (storeState, error) {
	var s storeState
	for range manyPings {
		began := time.Now()
		if err := rdb.Ping(ctx).Err(); err != nil {
			return s, err
		}
		s.pings = append(s.pings, time.Since(began))
	}
	for _, info := range primaries(ctx, rdb) {
		s.readInfo(info)
	}
	if v, err := rdb.ConfigGet(ctx, "appendfsync").Result(); err == nil {
		s.fsync = v["appendfsync"]
	}
	if v, err := rdb.ConfigGet(ctx, "save").Result(); err == nil {
		s.save, s.saveKnown = v["save"], true
	}
	return s, nil
}

// primaries is the answer of INFO of each server that takes writes; empty
// where it may not be asked.
func primaries(ctx context.Context, rdb redis.UniversalClient) (infos []string) {
	cluster, is := rdb.(*redis.ClusterClient)
	if !is {
		info, _ := rdb.Info(ctx).Result()
		return []string{info}
	}
	var mu sync.Mutex
	_ = cluster.ForEachMaster(ctx, func(ctx context.Context, one *redis.Client) error {
		info, err := one.Info(ctx).Result()
		mu.Lock()
		defer mu.Unlock()
		infos = append(infos, info)
		return err
	})
	return infos
}

// readInfo reads the answer of INFO: lines of name:value.
func (s *storeState) readInfo(info string) {
	fields := map[string]string{}
	for line := range strings.Lines(info) {
		name, value, _ := strings.Cut(line, ":")
		fields[name] = strings.TrimSpace(value)
	}
	s.version = fields["redis_version"]
	s.saved = fields["rdb_saves"] != "" && fields["rdb_saves"] != "0"
	worse(&s.aof, fields["aof_enabled"], "1")
	worse(&s.aofStatus, fields["aof_last_write_status"], "ok")
	worse(&s.eviction, fields["maxmemory_policy"], keepsAll)
	if n := fields["connected_slaves"]; s.replicas == "" || n < s.replicas { // a digit: nobody has ten
		s.replicas = n
	}
}

// worse keeps what one server said unless another one says something that is
// not as good.
func worse(kept *string, said, good string) {
	if *kept == "" || *kept == good {
		*kept = said
	}
}

// oldestRedis is the first release with streams and with scripts that may
// write what they computed, both of which the journal needs.
const oldestRedis = 5

func (s storeState) examineVersion(all *findings) {
	major, _, _ := strings.Cut(s.version, ".")
	n, err := strconv.Atoi(major)
	all.first("redis",
		row{err != nil, isNote, fmt.Sprintf("it answers, and does not say which version it is; the bot needs %d or later", oldestRedis)},
		row{n < oldestRedis, toMend, fmt.Sprintf("it is version %s: the bot needs %d or later", s.version, oldestRedis)},
		row{true, isGood, "it answers; version " + s.version})
}

// examineAppend writes and reads one entry in a journal of its own, and
// removes it again.
func (all *findings) examineAppend(ctx context.Context, rdb redis.UniversalClient) {
	j := journal.New(rdb, journal.Options{Prefix: "snd-check-" + strings.ToLower(rand.Text())})
	key := journal.Key{Team: "check", Kickoff: "check"}
	err := appendOnce(ctx, j, key)
	if purged := j.Purge(context.WithoutCancel(ctx), key); err == nil {
		err = purged
	}
	all.first("redis append",
		row{journal.Refusal(err) != "", toMend, journal.Refusal(err)},
		row{err != nil, toMend, fmt.Sprintf("an entry could not be written and read: %v; see that nothing stands between the bot and Redis that refuses scripts", err)},
		row{true, isGood, "an entry was written, read and removed"})
}

func appendOnce(ctx context.Context, j *journal.Journal, key journal.Key) error {
	if _, err := j.Append(ctx, key, journal.Write{Data: []byte("{}"), Delivery: "check"}); err != nil {
		return err
	}
	entries, err := j.Read(ctx, key, journal.Position{})
	if err == nil && len(entries) != 1 {
		err = fmt.Errorf("read the entry again: there are %d", len(entries))
	}
	return err
}

// examinePersistence sees whether what was acknowledged outlasts a restart.
func (s storeState) examinePersistence(all *findings) {
	const turnOn = "turn the append-only file on (appendonly yes)"
	all.first("redis persistence",
		row{s.aof == "", isNote, "it does not say whether it keeps an append-only file; without one a restart loses what people have entered"},
		row{s.aof == "0" && s.saveKnown && s.save == "", toMend, "it keeps nothing on disk, and a restart loses every kickoff: " + turnOn},
		row{s.aof == "0" && !s.saveKnown && !s.saved, toMend, "it keeps no append-only file, and does not say whether it writes snapshots; without them a restart loses every kickoff: " + turnOn},
		row{s.aof == "0", toMend, "it keeps snapshots only, and a crash loses the last minutes: " + turnOn},
		row{s.aofStatus != "" && s.aofStatus != "ok", toMend, "its last write to the append-only file failed: see that its disk is neither full nor broken"},
		row{s.fsync == "no", toMend, "appendfsync is no, and a crash of the machine loses what people have entered: set it to everysec or always"},
		row{s.fsync == "always", isGood, "an append-only file with appendfsync always: nothing is lost"},
		row{s.fsync == "everysec", isGood, "an append-only file with appendfsync everysec: a crash of the machine may lose the last second"},
		row{true, isGood, "an append-only file; it does not say how often it is written to disk"})
}

// examineContent tells of a journal without a kickoff. After a restore that is
// mostly a dump.rdb beside appendonly yes: Redis starts empty then, and does not
// say so.
func (all *findings) examineContent(ctx context.Context, rdb redis.UniversalClient) {
	teams, err := journal.New(rdb, journal.Options{}).Index.Teams(ctx)
	all.first("redis content", row{err == nil && len(teams) == 0, isNote, "it holds no kickoff, as before the first one; after a restore it means that the copy was not read, since Redis with appendonly yes does not read a dump.rdb: use restore of deploy/backup.sh"})
}

// The policy with which nothing is thrown away, and how those begin that throw
// away whatever was not used for long.
const (
	keepsAll    = "noeviction"
	evictsAlike = "allkeys-"
)

// examineEviction sees that Redis does not throw kickoffs away when its
// memory is full.
func (s storeState) examineEviction(all *findings) {
	all.first("redis eviction",
		row{s.eviction == "", isNote, "it does not say what it does when its memory is full; maxmemory-policy must be noeviction"},
		row{s.eviction == keepsAll, isGood, "it refuses writes when its memory is full, and throws nothing away"},
		row{!strings.HasPrefix(s.eviction, evictsAlike), isNote, "maxmemory-policy is " + s.eviction + ": when its memory is full it throws away what is kept for a time, as names are for the day; kickoffs stay, and noeviction keeps all"},
		row{true, toMend, "maxmemory-policy is " + s.eviction + ", which throws kickoffs away when its memory is full: set it to noeviction"})
}

// examineReplicas sees what a failover could lose. Of a server without
// replicas, and of which none are asked for, there is nothing to say.
func (s storeState) examineReplicas(all *findings, set settings) {
	wait, _ := set.replicas() // it was checked
	connected, err := strconv.Atoi(s.replicas)
	failsOver := connected > 0 || strings.Contains(set.RedisURL, "+sentinel://") || strings.Contains(set.RedisURL, "+cluster://")
	if wait == 0 && !failsOver {
		return
	}
	all.first("redis replicas",
		row{wait == 0, isNote, "a failover to a replica can lose answers that were acknowledged a moment before: set SOUNDINGS_REDIS_WAIT=1 to wait until one replica has them"},
		row{err != nil, isNote, fmt.Sprintf("it does not say how many replicas it has; while there are fewer than %d, nothing is acknowledged (SOUNDINGS_REDIS_WAIT)", wait)},
		row{connected < wait, toMend, fmt.Sprintf("SOUNDINGS_REDIS_WAIT asks for %d and %d are connected, so nothing can be acknowledged: start the replicas, or set it lower", wait, connected)},
		row{true, isGood, fmt.Sprintf("%d connected; an answer is acknowledged when %d have it", connected, wait)})
}

// slowStore is the slowest answer that leaves room for the ten or so that a
// request needs within the platform's three seconds.
const slowStore = 100 * time.Millisecond

// examineLatency goes by the fastest answer: distance slows all of them, a busy
// machine some. Since one that is busy enough slows all, it is worth a note.
func (s storeState) examineLatency(all *findings) {
	fastest := slices.Min(s.pings).Round(10 * time.Microsecond)
	answer := fmt.Sprintf("an answer takes %v (the fastest of %d)", fastest, len(s.pings))
	all.first("redis latency",
		row{fastest > slowStore, isNote, answer + ": unless this machine is only busy right now, run the bot nearer to Redis, since the platform waits three seconds"},
		row{true, isGood, answer})
}
