package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"soundings/bot/fakeslack"
)

const (
	// tries is how often a scripted person tries what the platform shows
	// an error for, and secondTry how long they wait in between. Together
	// they stay below the two minutes that the last look at a message leaves.
	tries     = 8
	secondTry = 10 * time.Second

	// impatience is how long the workspace of a play waits for an
	// acknowledgement by socket: a bot that failed sends none, and on one
	// machine it would have come long before.
	impatience = 300 * time.Millisecond
)

// insist does what a person does until the platform shows no error, a few
// times at most. Whatever else is wrong will not pass by itself.
func (p *Play) insist(act func() error) error {
	for range tries - 1 {
		err := act()
		if !errors.Is(err, fakeslack.ErrNoAck) {
			return err
		}
		p.letPass(secondTry)
	}
	return act()
}

// letPass lets time pass on the play's clock.
func (p *Play) letPass(d time.Duration) { p.clock.Advance(p.clock.Now().Add(d)) }

// patience is the clock of rates and redeliveries: nil for the play's own.
func (p *Play) patience(live bool) func() time.Time {
	if !live {
		return nil
	}
	began := time.Now()
	return func() time.Time { return p.clock.Now().Add(time.Since(began)) }
}

// redeliver tries again, in real time, what a tool did not take.
func (p *Play) redeliver() {
	ctx, stop := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() { p.workspace.KeepRedelivering(ctx) })
	p.stop = append(p.stop, func() {
		stop()
		work.Wait()
	})
}

func (c PlayConfig) ackWithin() time.Duration {
	if c.Socket && c.Faults.Any() {
		return impatience
	}
	return fakeslack.AckWithin
}

// plugIn lets the bot listen by Socket Mode.
func (p *Play) plugIn(api string) error {
	ctx, stop := context.WithCancel(context.Background())
	line := p.bot.NewSocket("xoxb-rehearsal", "xapp-rehearsal", api+"/api/")
	var work sync.WaitGroup
	work.Go(func() { _ = line.Run(ctx) }) // ends with stop; a token is never refused here
	p.stop = append(p.stop, func() {
		stop()
		work.Wait()
	})
	wait, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	if err := p.workspace.AwaitSockets(wait, 1); err != nil {
		return fmt.Errorf("connect the bot by socket: %w", err)
	}
	return nil
}
