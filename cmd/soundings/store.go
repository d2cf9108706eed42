package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"time"

	"soundings/bot/journal"
)

// A store is where a rehearsal keeps its journal.
type store struct {
	journal *journal.Journal
	close   func()
}

// openStore opens Redis at url, or an embedded store without one. Each run has
// keys of its own: a rehearsal may share the server with anything.
func openStore(ctx context.Context, url string) (*store, error) {
	stop := func() {}
	if url == "" {
		var err error
		if url, stop, err = journal.StartEmbedded(); err != nil {
			return nil, err
		}
	}
	client, err := journal.Open(ctx, "--redis", url)
	if err != nil {
		stop()
		if errors.Is(err, journal.ErrAddress) {
			return nil, wrong(err)
		}
		return nil, err
	}
	prefix := "rehearsal-" + strings.ToLower(rand.Text())
	return &store{
		journal: journal.New(client, journal.Options{Prefix: prefix}),
		close: func() {
			_ = client.Close() // nothing is waiting to be written
			stop()
		},
	}, nil
}

// purge removes what the rehearsal has written, also when it was interrupted.
func (s *store) purge(ctx context.Context, team string) error {
	const within = 10 * time.Second
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), within)
	defer cancel()
	if err := s.journal.PurgeTeam(ctx, team); err != nil {
		return fmt.Errorf("clean up after the rehearsal: %w", err)
	}
	return nil
}
