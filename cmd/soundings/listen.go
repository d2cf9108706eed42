package main

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"soundings/bot/installs"
	"soundings/bot/journal"
)

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

// httpGrace is how long requests in hand may take once the service stops. The
// platform gives each of them three seconds.
const httpGrace = 5 * time.Second

// listen serves HTTP until ctx ends.
func (p *service) listen(ctx context.Context) error {
	server := &http.Server{
		Handler: p.handler(), ErrorLog: slog.NewLogLogger(p.log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: time.Minute,
	}
	return serveUntil(ctx, server, p.listener, func() {}, func(err error) { p.log.Warn("requests were cut off at the end", "error", err) })
}

// serveUntil serves until ctx ends, and returns when the last request in hand is
// answered, or has had its time and was cut off. ending is called first, and
// ends streams that would be waited for.
func serveUntil(ctx context.Context, server *http.Server, l net.Listener, ending func(), cutOff func(error)) error {
	served := make(chan error, 1)
	go func() { served <- server.Serve(l) }()
	select {
	case err := <-served:
		ending()
		return fmt.Errorf("serve HTTP: %w", err)
	case <-ctx.Done():
	}
	ending()
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), httpGrace)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		cutOff(err)
		_ = server.Close() // they had their time
	}
	<-served // ended with Shutdown
	return nil
}

// handler serves what the platform sends, where it sends over HTTP, and what
// an operator asks.
func (p *service) handler() http.Handler {
	mux := http.NewServeMux()
	if p.socket == nil && p.dead == nil {
		mux.Handle("/slack/", p.bot.Handler())
	}
	if p.pages != nil {
		mux.Handle(installs.InstallPath, p.pages)
		mux.Handle(installs.ReturnPath, p.pages)
	}
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", p.ready)
	mux.Handle("GET /metrics", promhttp.HandlerFor(p.metrics, promhttp.HandlerOpts{}))
	return mux
}

// ready answers 200 when requests can be taken: Redis takes a write, the one token
// is good, and the socket, where there is one, is up.
func (p *service) ready(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), time.Second)
	defer cancel()
	if err := p.journal.Writable(ctx); err != nil {
		http.Error(w, cmp.Or(journal.Refusal(err), "Redis does not answer"), http.StatusServiceUnavailable)
		return
	}
	if p.dead != nil {
		http.Error(w, p.dead.Error(), http.StatusServiceUnavailable)
		return
	}
	if _, gone, err := p.journal.Uninstalls.Get(ctx, p.team); p.team != "" && (gone || err != nil) {
		http.Error(w, "the workplace has taken the app away: install it again, and restart with its new token", http.StatusServiceUnavailable)
		return
	}
	if p.socket != nil && !p.socket.Up() {
		http.Error(w, "the socket is not connected", http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintln(w, "ready")
}
