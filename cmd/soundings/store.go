package main

import (
	"context"
	"fmt"
	"strings"
	"time"
)

// examineStore warns of what Redis does not promise, and refuses one that
// throws kickoffs away when its memory is full, unless the settings allow it.
func (p *service) examineStore(ctx context.Context) error {
	state, err := askStore(ctx, p.rdb)
	if err != nil {
		return fmt.Errorf("ask Redis what it promises: %w", err)
	}
	if strings.HasPrefix(state.eviction, evictsAlike) && p.settings.AllowEviction == "" {
		return fmt.Errorf("the maxmemory-policy of Redis is %s, which throws kickoffs away when its memory is full: set it to %s, or SOUNDINGS_ALLOW_EVICTION=yes to start all the same", state.eviction, keepsAll)
	}
	var all findings
	state.examinePersistence(&all)
	state.examineEviction(&all)
	state.examineReplicas(&all, p.settings)
	for _, f := range all {
		if f.Verdict != isGood {
			p.log.Warn(f.Item+": "+f.Text, "verdict", f.Verdict)
		}
	}
	return nil
}

// storeEvery is how often somebody who reads logs is told again.
const storeEvery = 24 * time.Hour

// watchStore looks at Redis once a day: its configuration may change under a
// bot that runs.
func (p *service) watchStore(ctx context.Context) error {
	tick := time.NewTicker(storeEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		if err := p.examineStore(ctx); err != nil && ctx.Err() == nil {
			p.log.Error(err.Error()) // stopping now would not bring back what is gone
		}
	}
}
