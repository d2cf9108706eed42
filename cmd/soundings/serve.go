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
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"soundings/bot"
	"soundings/bot/jobs"
	"soundings/bot/journal"
)

func newServe() *cobra.Command {
	return &cobra.Command{
		Use:   "serve",
		Short: "Serve a workplace",
		Long: "Serve connects to a workplace and runs its kickoffs. Its settings come from the environment:\n\n" +
			"  SLACK_BOT_TOKEN       the bot token of the app (xoxb-…)\n" +
			"  SLACK_APP_TOKEN       for Socket Mode: an app-level token (xapp-…) with connections:write\n" +
			"  SLACK_SIGNING_SECRET  for HTTP: the signing secret of the app\n" +
			"  SOUNDINGS_LISTEN      for HTTP: the address to listen on, such as :8080;\n" +
			"                        with Socket Mode it serves only /healthz, /readyz and /metrics\n" +
			"  SOUNDINGS_REDIS_URL   the Redis that keeps the journal: redis://, rediss://,\n" +
			"                        redis+sentinel:// or redis+cluster://\n" +
			"  SLACK_API_URL         another Web API address, for a rehearsal workspace\n",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			s, err := readSettings(environment(os.Environ()))
			if err != nil {
				return err
			}
			return serve(c.Context(), s, c.ErrOrStderr())
		},
	}
}

func environment(pairs []string) map[string]string {
	all := map[string]string{}
	for _, pair := range pairs {
		name, value, _ := strings.Cut(pair, "=")
		all[name] = value
	}
	return all
}

// A service is the running program.
type service struct {
	settings settings
	rdb      redis.UniversalClient
	queue    *jobs.Asynq
	bot      *bot.Bot
	socket   *bot.Socket // nil over HTTP
	metrics  *prometheus.Registry
	log      *slog.Logger
}

// serve runs until ctx ends. What comes in stops first, then the workers.
func serve(ctx context.Context, s settings, out io.Writer) error {
	log := slog.New(slog.NewJSONHandler(out, nil))
	rdb, err := journal.Open(ctx, "SOUNDINGS_REDIS_URL", s.RedisURL)
	if err != nil {
		return wrong(err)
	}
	defer func() { _ = rdb.Close() }()
	p, err := newService(s, rdb, log)
	if err != nil {
		return err
	}
	return p.run(ctx)
}

func newService(s settings, rdb redis.UniversalClient, log *slog.Logger) (*service, error) {
	registry := prometheus.NewRegistry()
	metrics := bot.NewMetrics(registry)
	client := &http.Client{Timeout: 10 * time.Second, Transport: metrics.Transport(http.DefaultTransport)}
	queue := jobs.NewAsynq(rdb, jobs.Options{Logger: log})
	b, err := bot.New(bot.Config{
		Journal: journal.New(rdb, journal.Options{}), Queue: queue, Chat: bot.NewChat(s.BotToken, s.apiURL(), client),
		Logger: log, Secret: s.SigningSecret, Metrics: metrics,
	})
	if err != nil {
		return nil, err
	}
	p := &service{settings: s, rdb: rdb, queue: queue, bot: b, metrics: registry, log: log}
	if s.socket() {
		p.socket = b.NewSocket(s.BotToken, s.AppToken, s.apiURL())
	}
	return p, nil
}

// run starts what receives and what works, and waits for all of it. The
// workers outlive the receivers: what was taken in is still worked on.
func (p *service) run(ctx context.Context) error {
	workers, stopWorkers := context.WithCancel(context.WithoutCancel(ctx))
	defer stopWorkers()
	var working errgroup.Group
	working.Go(func() error { return p.queue.Run(workers, p.bot.Work) })

	receiving, ctx := errgroup.WithContext(ctx)
	receiving.Go(func() error { return p.sweep(ctx) })
	if p.socket != nil {
		receiving.Go(func() error { return p.socket.Run(ctx) })
	}
	if p.settings.Listen != "" {
		receiving.Go(func() error { return p.listen(ctx) })
	}
	p.log.Info("serving", "socket_mode", p.socket != nil, "listen", p.settings.Listen)
	err := receiving.Wait()
	stopWorkers()
	return errors.Join(err, working.Wait())
}

// sweepEvery is how often entries are looked for whose effects were never
// queued.
const sweepEvery = time.Minute

func (p *service) sweep(ctx context.Context) error {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		if err := p.bot.Sweep(ctx); err != nil && ctx.Err() == nil {
			p.log.Warn("sweep failed; it will be tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// listen serves HTTP until ctx ends, then finishes what is in hand.
func (p *service) listen(ctx context.Context) error {
	l, err := net.Listen("tcp", p.settings.Listen)
	if err != nil {
		return fmt.Errorf("listen on SOUNDINGS_LISTEN: %w", err)
	}
	server := &http.Server{Handler: p.handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second}
	stopped := context.AfterFunc(ctx, func() {
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		_ = server.Shutdown(grace)
	})
	defer stopped()
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serve HTTP: %w", err)
	}
	return nil
}

func (p *service) handler() http.Handler {
	mux := http.NewServeMux()
	if p.socket == nil {
		mux.Handle("/slack/", p.bot.Handler())
	}
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", p.ready)
	mux.Handle("GET /metrics", promhttp.HandlerFor(p.metrics, promhttp.HandlerOpts{}))
	return mux
}

// ready answers 200 when requests can be taken: Redis answers, and the
// socket, where there is one, is up.
func (p *service) ready(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), time.Second)
	defer cancel()
	if err := p.rdb.Ping(ctx).Err(); err != nil {
		http.Error(w, "Redis does not answer", http.StatusServiceUnavailable)
		return
	}
	if p.socket != nil && !p.socket.Up() {
		http.Error(w, "the socket is not connected", http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintln(w, "ready")
}
