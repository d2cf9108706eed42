package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/incoming"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/metrics"
	"soundings/prompts"
)

func newServe() *cobra.Command {
	return &cobra.Command{
		Use:   "serve",
		Short: "Serve a workplace",
		Long: "Serve connects to a workplace and runs its kickoffs. Its settings come from the environment:\n\n" + settingsHelp +
			"\nAnything wrong stops it at once, with the name of the setting and the mend; see also\n" +
			"soundings check. It logs to standard error, one line of JSON each, and never what\n" +
			"people wrote. On SIGTERM or an interrupt it finishes what is in hand and ends with 0.",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			s, rdb, err := openSettings(c.Context(), environment(os.Environ()))
			if err != nil {
				return err
			}
			defer func() { _ = rdb.Close() }() // nothing is waiting to be written
			return serve(c.Context(), s, rdb, c.ErrOrStderr())
		},
	}
}

// openSettings reads the settings and opens Redis, and reports the faults of
// both at once.
func openSettings(ctx context.Context, environ map[string]string) (settings, redis.UniversalClient, error) {
	s, faults := readSettings(environ)
	if s.RedisURL == "" {
		return s, nil, faults
	}
	rdb, err := openRedis(ctx, s.RedisURL)
	if err == nil && faults != nil {
		_ = rdb.Close() // it was only tried
	}
	return s, rdb, errors.Join(faults, err)
}

// openRedis opens SOUNDINGS_REDIS_URL. One that cannot be read is a wrong
// setting; a server out of reach is not.
func openRedis(ctx context.Context, url string) (redis.UniversalClient, error) {
	rdb, err := journal.Open(ctx, "SOUNDINGS_REDIS_URL", url)
	if errors.Is(err, journal.ErrAddress) {
		return nil, wrong(err)
	}
	return rdb, err
}

// A service is the running program.
type service struct {
	settings settings
	rdb      redis.UniversalClient
	queue    *jobs.Asynq
	installs *installs.Store // nil where one token serves
	bot      *bot.Bot
	pages    http.Handler     // on which workplaces install the app; nil where one token serves
	socket   *incoming.Socket // nil over HTTP
	listener net.Listener     // nil without SOUNDINGS_LISTEN
	metrics  *prometheus.Registry
	log      *slog.Logger
}

// serve runs until ctx ends, and logs to out.
func serve(ctx context.Context, s settings, rdb redis.UniversalClient, out io.Writer) error {
	p, err := newService(ctx, s, rdb, slog.New(slog.NewJSONHandler(out, nil)))
	if err != nil {
		return err
	}
	return p.run(ctx)
}

// newService builds the program and sees that it can work: that the platform
// takes the token, and that the address is free.
func newService(ctx context.Context, s settings, rdb redis.UniversalClient, log *slog.Logger) (*service, error) {
	p := &service{settings: s, rdb: rdb, log: log, metrics: prometheus.NewRegistry()}
	if err := p.build(); err != nil {
		return nil, err
	}
	var who identity
	if !s.installing() {
		var err error
		if who, err = s.knock(ctx); err != nil {
			p.lookAway(ctx)
			return nil, err
		}
	}
	if err := p.settle(ctx, who); err != nil {
		return nil, err
	}
	return p, p.claimAddress()
}

// lookAway purges what is due although the program cannot start: the token of
// a workplace that has taken the app away is dead, and whoever starts the
// program again and again must not keep its data for ever.
func (p *service) lookAway(ctx context.Context) {
	if err := p.bot.Teams.PurgeDue(ctx); err != nil {
		p.log.Warn("a purge failed; it will be tried again", "error", err)
	}
}

// settle brings what is stored up to date: the seals of tokens, or the mark
// of a team that had taken the app away and whose token is good again.
func (p *service) settle(ctx context.Context, who identity) error {
	if p.installs != nil {
		return p.turnKeys(ctx)
	}
	if who.teamID == "" {
		return nil
	}
	return p.bot.Teams.Resume(ctx, who.teamID)
}

// knock stops a bot that could not do its work for want of a right.
func (s settings) knock(ctx context.Context) (identity, error) {
	who, err := s.identify(ctx)
	if err != nil {
		return who, err
	}
	if missing := who.lacks(manifest.NeededScopes()); len(missing) > 0 {
		return who, wrong(errors.New(lackOfScopes(missing)))
	}
	return who, nil
}

func lackOfScopes(missing []string) string {
	return "the token in SLACK_BOT_TOKEN lacks what the bot cannot do without: " + strings.Join(missing, ", ") +
		"; add it on the page OAuth & Permissions of the app, and install the app again"
}

func (p *service) build() error {
	s := p.settings
	metrics := metrics.New(p.metrics)
	client := &http.Client{Timeout: 10 * time.Second, Transport: metrics.Transport(http.DefaultTransport)}
	p.queue = jobs.NewAsynq(p.rdb, jobs.Options{Logger: p.log})
	drafter, err := s.drafter()
	if err != nil {
		return err
	}
	grace, err := s.purgeAfter()
	if err != nil {
		return wrong(err)
	}
	if p.installs, err = s.installStore(p.rdb); err != nil {
		return err
	}
	config := bot.Config{
		Journal: journal.New(p.rdb, journal.Options{}), Queue: p.queue,
		Installs: p.installs, InstallPage: s.installPage(), PurgeAfter: grace,
		Logger: p.log, Secret: s.SigningSecret, Metrics: metrics, Drafter: drafter,
	}
	chatWith := func(token string) *chat.Client { return chat.New(token, s.apiURL(), client) }
	if s.installing() {
		config.ChatWith = chatWith
	} else {
		config.Chat = chatWith(s.BotToken)
	}
	b, err := bot.New(config)
	if err != nil {
		return err
	}
	p.bot = b
	if s.installing() {
		flow, err := p.flow()
		if err != nil {
			return err
		}
		p.pages = flow.Handler()
	}
	if s.socket() {
		p.socket = b.NewSocket(s.BotToken, s.AppToken, s.apiURL())
	}
	return nil
}

// drafter is the model that is set up, or nil: an interface that holds no
// client would not be off.
func (s settings) drafter() (drafts.Drafter, error) {
	client, err := s.modelClient()
	if errors.Is(err, prompts.ErrOff) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return client, nil
}

// run starts what receives and what works, and waits for all of it. The order
// of the end is fixed: first nothing more comes in, then what was taken in is
// worked on for its grace, then Redis may go. Either side takes the other
// with it when it fails.
func (p *service) run(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	workers, stopWorkers := context.WithCancel(context.WithoutCancel(ctx))
	defer stopWorkers()
	var working errgroup.Group
	working.Go(func() error {
		defer stop()
		return p.queue.Run(workers, p.bot.Work)
	})
	p.log.Info("serving", "socket_mode", p.socket != nil, "listen", p.address())
	err := p.receive(ctx)
	stopWorkers()
	err = errors.Join(err, working.Wait())
	p.log.Info("stopped")
	return err
}

// receive takes things in until ctx ends or one of the ways in fails.
func (p *service) receive(ctx context.Context) error {
	receiving, ctx := errgroup.WithContext(ctx)
	receiving.Go(func() error { return p.sweep(ctx) })
	if p.socket != nil {
		receiving.Go(func() error { return p.socket.Run(ctx) })
	}
	if p.listener != nil {
		receiving.Go(func() error { return p.listen(ctx) })
	}
	return receiving.Wait()
}

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
		if err := p.bot.Teams.PurgeDue(ctx); err != nil && ctx.Err() == nil {
			p.log.Warn("a purge failed; it will be tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// claimAddress takes the address before anything starts.
func (p *service) claimAddress() error {
	if p.settings.Listen == "" {
		return nil
	}
	l, err := net.Listen("tcp", p.settings.Listen)
	if err != nil {
		return fmt.Errorf("listen on SOUNDINGS_LISTEN: %w; choose an address of this machine that nobody uses", err)
	}
	p.listener = l
	return nil
}

// address is where the service listens; empty where it does not.
func (p *service) address() string {
	if p.listener == nil {
		return ""
	}
	return p.listener.Addr().String()
}
