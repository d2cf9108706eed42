package main

import (
	"context"
	"time"
)

// sweepEvery is how often entries are looked for whose effects were never
// queued, and teams whose grace is over.
const sweepEvery = time.Minute

func (p *service) sweep(ctx context.Context) error {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		if err := p.bot.Kickoffs.Sweep(ctx); err != nil && ctx.Err() == nil {
			p.log.Warn("sweep failed; it will be tried again", "error", err)
		}
		p.purgeDue(ctx)
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// compare looks once whether an older copy of Redis was restored while no bot
// ran. It goes beside everything else: with many kickoffs it takes minutes.
func (p *service) compare(ctx context.Context) error {
	if _, _, err := p.bot.Compare(ctx); err != nil && ctx.Err() == nil {
		p.log.Warn("what stands in channels was not compared with the journal; soundings redraw does it again", "error", err)
	}
	return nil
}

// tidyEvery is how often kickoffs are looked for that ended long ago.
const tidyEvery = time.Hour

func (p *service) tidy(ctx context.Context) error {
	tick := time.NewTicker(tidyEvery)
	defer tick.Stop()
	for {
		if err := p.bot.Keeping.Tidy(ctx); err != nil && ctx.Err() == nil {
			p.log.Warn("what ended long ago was not removed; it will be tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

func (p *service) purgeDue(ctx context.Context) {
	if err := p.bot.Teams.PurgeDue(ctx); err != nil && ctx.Err() == nil {
		p.log.Warn("a purge failed; it will be tried again", "error", err)
	}
}
