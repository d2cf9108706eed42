package rehearsal

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
)

// connect starts the two servers and the bot between them.
func (p *Play) connect(c PlayConfig) error {
	api, err := p.serve(p.team.Handler())
	if err != nil {
		return fmt.Errorf("start the team: %w", err)
	}
	if !p.guest { // a guest calls at an address of its own
		p.team.SetURL(api)
	}
	calls := c.Transport
	if calls == nil {
		calls = http.DefaultTransport.(*http.Transport).Clone() // as for deliveries, see package fakeslack
	}
	p.bot, err = bot.New(bot.Config{
		Journal: c.Journal, Queue: p.clock, Chat: chat.New(GuestBotToken, api+"/api/", &http.Client{Transport: calls, Timeout: patient}),
		Clock: p.clock.Now, Logger: c.Logger, Secret: GuestSigningSecret, Drafter: c.Drafter, AnswerWithin: patient,
		Lookups: 1, // so that every run makes its calls in the same order
	})
	if err != nil {
		return err
	}
	switch {
	case p.guest:
		p.team.SetBotURL(c.Guest.URL)
		return nil
	case c.Socket:
		return p.connectSocket(api)
	}
	address, err := p.serve(p.bot.Handler())
	if err != nil {
		return fmt.Errorf("start the bot: %w", err)
	}
	p.team.SetBotURL(address)
	return nil
}

// serve answers on a free port of loopback until Close.
func (p *Play) serve(h http.Handler) (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	server := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second}
	p.untilClose(func(ctx context.Context) {
		context.AfterFunc(ctx, func() { _ = server.Close() })
		_ = server.Serve(l) // ends with the line above, and only so
	})
	return "http://" + l.Addr().String(), nil
}

// connectSocket lets the bot listen by Socket Mode.
func (p *Play) connectSocket(api string) error {
	socket := p.bot.NewSocket(GuestBotToken, GuestAppToken, api+"/api/")
	p.untilClose(func(ctx context.Context) { _ = socket.Run(ctx) }) // ends with Close; a token is never refused here
	wait, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := p.team.AwaitSockets(wait, 1); err != nil {
		return fmt.Errorf("connect the bot by socket: %w", err)
	}
	return nil
}

// untilClose runs something beside the play.
func (p *Play) untilClose(run func(ctx context.Context)) {
	ctx, stop := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() { run(ctx) })
	p.stop = append(p.stop, func() {
		stop()
		work.Wait()
	})
}

// patience is the clock of rates and redeliveries: nil for the play's own.
func (p *Play) patience(live bool) func() time.Time {
	if !live {
		return nil
	}
	began := time.Now()
	return func() time.Time { return p.clock.Now().Add(time.Since(began)) }
}

// A team waits three seconds for an answer, in real time. On a machine that is
// busy with other things that would fail plays by chance, so the team of a play
// is patient with our own bot. By socket, a bot that failed sends nothing at all,
// and there it is not: on one machine an answer would have come long before.
const (
	patient         = 50 * time.Second
	socketAckWithin = 300 * time.Millisecond
)

func (c PlayConfig) ackWithin() time.Duration {
	switch {
	case c.Socket && c.Faults.Any():
		return socketAckWithin
	case c.Guest.Expected():
		return fakeslack.AckWithin
	}
	return patient + 10*time.Second
}
