package main

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"soundings/bot/installs"
)

// httpGrace is how long requests in hand may take once the service stops. The
// platform gives each of them three seconds.
const httpGrace = 5 * time.Second

// listen serves HTTP until ctx ends, and returns when the last request in
// hand is answered.
func (p *service) listen(ctx context.Context) error {
	server := &http.Server{
		Handler: p.handler(), ErrorLog: slog.NewLogLogger(p.log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: time.Minute,
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(p.listener) }()
	select {
	case err := <-served:
		return fmt.Errorf("serve HTTP: %w", err)
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), httpGrace)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		p.log.Warn("requests were cut off at the end", "error", err)
		_ = server.Close() // they had their time
	}
	<-served // ended with Shutdown
	return nil
}

// handler serves what the platform sends, where it sends over HTTP, and what
// an operator asks.
func (p *service) handler() http.Handler {
	mux := http.NewServeMux()
	if p.socket == nil {
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
