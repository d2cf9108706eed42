package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/incoming"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/metrics"
	"soundings/bot/words"
)

func newServe(s settings) *cobra.Command {
	return &cobra.Command{
		Use:   "serve",
		Short: "Serve a workplace",
		Long: "Serve connects to a workplace and runs its kickoffs. Its settings come from the environment:\n\n" + settingsHelp +
			"\nAnything wrong stops it at once, with the name of the setting and the fix; see also\n" +
			"soundings check. It logs to standard error, one line of JSON each, and never what\n" +
			"people wrote. On SIGTERM or an interrupt it finishes what is in hand and ends with 0.",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			log := slog.New(slog.NewJSONHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: s.logLevel()}))
			err := serve(c.Context(), s, log)
			if isTerminal(c.ErrOrStderr()) {
				return err
			}
			return logged(log, err)
		},
	}
}

func serve(ctx context.Context, s settings, log *slog.Logger) error {
	defer collectLess()()
	rdb, err := openChecked(ctx, s)
	if err != nil {
		return err
	}
	defer func() { _ = rdb.Close() }() // nothing is waiting to be written
	p, err := newService(ctx, s, rdb, log)
	if err != nil {
		return err
	}
	return p.run(ctx)
}

// collectLess lets garbage grow to four times what is in use, which is a few
// megabytes, unless GOGC says otherwise. With Go's own setting the collector takes
// a sixth of the CPU time of a choice on a ballot. A limit on memory is GOMEMLIMIT's.
// It gives what undoes it.
func collectLess() (undo func()) {
	if os.Getenv("GOGC") != "" {
		return func() {}
	}
	before := debug.SetGCPercent(400)
	return func() { debug.SetGCPercent(before) }
}

// logged writes an error as lines of the log, one for each fault, so that
// whoever collects the log finds them there. They are not printed again.
func logged(log *slog.Logger, err error) error {
	if err == nil {
		return nil
	}
	for fault := range strings.Lines(err.Error()) {
		log.Error(words.HarmlessLine(strings.TrimSpace(fault)))
	}
	return &toldError{err}
}

// openChecked checks the settings and opens Redis, and reports the faults of
// both at once.
func openChecked(ctx context.Context, s settings) (redis.UniversalClient, error) {
	faults := s.check()
	if s.RedisURL == "" {
		return nil, faults
	}
	rdb, err := openRedis(ctx, "SOUNDINGS_REDIS_URL", s.RedisURL)
	if err == nil && faults != nil {
		_ = rdb.Close() // it was only tried
	}
	return rdb, errors.Join(faults, err)
}

// openJournal opens the Redis that keeps the journal; nothing else is needed
// to read it.
func openJournal(ctx context.Context, s settings) (redis.UniversalClient, error) {
	if err := cmp.Or(s.unread, firstBroken(redisRule(s.RedisURL))); err != nil {
		return nil, wrong(err)
	}
	return openRedis(ctx, "SOUNDINGS_REDIS_URL", s.RedisURL)
}

// openRedis opens what a setting or a flag names. An address that cannot be
// read is the caller's mistake; a server out of reach is not.
func openRedis(ctx context.Context, name, url string) (redis.UniversalClient, error) {
	rdb, err := journal.Open(ctx, name, url)
	if errors.Is(err, journal.ErrAddress) {
		return nil, wrong(err)
	}
	return rdb, err
}

// A service is the running program.
type service struct {
	settings settings
	rdb      redis.UniversalClient
	journal  *journal.Journal
	queue    *jobs.Asynq
	installs *installs.Store // nil where one token serves
	bot      *bot.Bot
	pages    http.Handler     // on which workplaces install the app; nil where one token serves
	socket   *incoming.Socket // nil over HTTP
	listener net.Listener     // nil without SOUNDINGS_LISTEN
	team     string           // whose the one token is; empty where teams install the app
	dead     error            // why nothing can be served, though the program stays up
	metrics  *prometheus.Registry
	log      *slog.Logger
}

// newService builds the program and sees that it can work: that Redis throws
// nothing away, that the platform takes the token, that the keys open the
// installs, and that the address is free.
func newService(ctx context.Context, s settings, rdb redis.UniversalClient, log *slog.Logger) (*service, error) {
	p := &service{settings: s, rdb: rdb, log: log, metrics: prometheus.NewRegistry()}
	if err := p.build(); err != nil {
		return nil, err
	}
	prepare := p.checkToken
	if s.installing() {
		prepare = p.rotateKeys
	}
	if err := prepare(ctx); err != nil {
		return nil, err
	}
	if err := p.examineStore(ctx); err != nil {
		return nil, err
	}
	p.metrics.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), buildInfo())
	metrics.Look(p.metrics, p.look)
	return p, p.claimAddress()
}

// look looks up what the metrics show of now.
func (p *service) look(ctx context.Context) (metrics.State, error) {
	var s metrics.State
	if p.socket != nil {
		s.SocketUp = new(p.socket.Up())
	}
	if err := p.journal.Writable(ctx); err != nil {
		return s, err
	}
	s.RedisUp = true
	open, err := p.journal.Index.Stages(ctx)
	if err != nil {
		return s, err
	}
	queue, err := p.queue.Stats()
	s.Kickoffs, s.OldestOverdue = open, queue.Overdue
	s.Jobs = map[string]int{"due": queue.Due, "scheduled": queue.Scheduled, "retrying": queue.Retrying}
	return s, err
}

// checkToken stops a bot that could not do its work for want of a right. A
// team that had taken the app away has it again when its token is good.
func (p *service) checkToken(ctx context.Context) error {
	who, err := p.settings.identify(ctx, p.settings.BotToken)
	if refused, is := errors.AsType[*tokenError](err); is {
		return p.stayUp(ctx, refused)
	}
	if err != nil {
		return err
	}
	if missing := who.lacks(manifest.NeededScopes()); len(missing) > 0 {
		return wrong(errors.New(lackOfScopes(missing)))
	}
	if p.team = who.teamID; p.team == "" {
		return nil
	}
	return p.bot.Teams.Resume(ctx, p.team)
}

// stayUp has a bot with a dead token do what does not need it: whoever takes the
// app away was promised that what they entered goes, and nobody restarts a program
// that ends for a wrong setting. A token that was never good is such a setting; so
// there must be a team here that is gone, or that can only be the one of a revoked
// token.
func (p *service) stayUp(ctx context.Context, dead *tokenError) error {
	gone, err := p.journal.Uninstalls.All(ctx)
	if err != nil {
		return err
	}
	if len(gone) == 0 {
		teams, err := p.journal.Index.Teams(ctx)
		if err != nil {
			return err
		}
		if len(teams) != 1 || !dead.revoked {
			return dead
		}
		if err := p.bot.Teams.Uninstall(ctx, teams[0], "its token is dead", time.Now()); err != nil {
			return err
		}
	}
	p.dead = dead
	p.log.Error(words.HarmlessLine(dead.Error())+"; until then nothing is served, and what a workplace left is purged in time", "purge_after", p.bot.Teams.PurgeAfter.String())
	return nil
}

func lackOfScopes(missing []string) string {
	return "the token in SLACK_BOT_TOKEN lacks what the bot cannot do without: " + strings.Join(missing, ", ") +
		"; add it on the page OAuth & Permissions of the app, and install the app again"
}

func (p *service) build() error {
	s := p.settings
	drafter, err := s.drafter()
	if err != nil {
		return err
	}
	grace, err := s.purgeAfter()
	if err != nil {
		return err
	}
	keep, err := s.keepEnded()
	if err != nil {
		return err
	}
	if p.installs, err = s.installStore(p.rdb); err != nil {
		return err
	}
	replicas, err := s.replicas()
	if err != nil {
		return err
	}
	p.journal = journal.New(p.rdb, journal.Options{Replicas: replicas})
	counts := metrics.New(p.metrics)
	p.queue = jobs.NewAsynq(p.rdb, jobs.Options{Logger: p.log, GivenUp: counts.GivenUp})
	config := bot.Config{
		Journal: p.journal, Queue: p.queue,
		Installs: p.installs, InstallPage: s.installPage(), PurgeAfter: grace, KeepEnded: keep,
		Logger: p.log, Secret: s.SigningSecret, Metrics: counts, Drafter: drafter,
	}
	client := &http.Client{Timeout: 10 * time.Second, Transport: counts.Transport(http.DefaultTransport)}
	chatWith := func(token string) *chat.Client { return chat.New(token, s.apiURL(), client) }
	if s.installing() {
		config.ChatWith = chatWith
	} else {
		config.Chat = chatWith(s.BotToken)
	}
	if p.bot, err = bot.New(config); err != nil {
		return err
	}
	if s.socket() {
		p.socket = p.bot.NewSocket(s.BotToken, s.AppToken, s.apiURL())
	}
	if s.installing() {
		p.pages, err = p.installPages()
	}
	return err
}

// installPages are those on which workplaces install the app.
func (p *service) installPages() (http.Handler, error) {
	s := p.settings
	var optional []string
	for _, scope := range manifest.OptionalScopes() {
		optional = append(optional, scope.Name)
	}
	flow, err := installs.NewFlow(installs.FlowConfig{
		Store: p.installs, ClientID: s.ClientID, Secret: s.ClientSecret, Public: s.PublicURL, API: s.apiURL(),
		Needed: manifest.NeededScopes(), Optional: optional, Save: p.bot.Teams.Install, Logger: p.log,
	})
	if err != nil {
		return nil, err
	}
	return flow.Handler(), nil
}

// rotateKeys seals anew what is not sealed under the keys as they are. What no
// key opens is told of, and everything else is served, the pages for installing
// the app foremost: where the key is lost, that is the only way back.
func (p *service) rotateKeys(ctx context.Context) error {
	usage, err := p.installs.Rotate(ctx)
	if err != nil {
		return err
	}
	if len(usage.Unreadable) > 0 {
		p.log.Error("SOUNDINGS_TOKEN_KEY "+sealedMend(usage)+" at "+p.settings.installPage(),
			"unreadable", len(usage.Unreadable), "teams", usage.Teams)
	}
	p.log.Info("installs", "teams", usage.Teams, "sealed_anew", usage.OldKey)
	return nil
}

// sealedMend says what to do about tokens that no key opens.
func sealedMend(t installs.KeyUsage) string {
	return fmt.Sprintf("does not open the tokens of %s: put the key with which they were sealed into SOUNDINGS_TOKEN_KEY_OLD, or let these workplaces install the app again",
		strings.Join(t.Unreadable, ", "))
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
	if p.dead == nil {
		working.Go(func() error {
			defer stop()
			return p.queue.Run(workers, p.bot.Work)
		})
	}
	p.log.Info("serving", "version", version().Release, "socket_mode", p.socket != nil, "listen", p.address(),
		"several_teams", p.settings.installing(), "redis", redisPlace(p.settings.RedisURL))
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
	receiving.Go(func() error { return p.watchStore(ctx) })
	receiving.Go(func() error { return p.tidy(ctx) })
	if p.dead == nil {
		receiving.Go(func() error { return p.compare(ctx) })
	}
	if p.socket != nil && p.dead == nil {
		receiving.Go(func() error { return p.socket.Run(ctx) })
	}
	if p.listener != nil {
		receiving.Go(func() error { return p.listen(ctx) })
	}
	return receiving.Wait()
}
