package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/drafts"
	"soundings/bot/rehearsal/page"
)

// roomListen is where the page listens if nothing else is said.
const roomListen = "127.0.0.1:8090"

// A listening is where the page is to be reached.
type listening struct {
	address string
	anyone  bool // also from other machines
}

// check refuses to open the page to others unless that is what was asked for.
func (l listening) check() error {
	host, _, err := net.SplitHostPort(l.address)
	if err != nil {
		return wrongf("--listen takes an address and a port, such as %s", roomListen)
	}
	if ip := net.ParseIP(host); !l.anyone && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return wrongf("--listen %s would let other machines in, and anyone there can act as anyone: add --anyone if you want that, or listen on %s", l.address, roomListen)
	}
	return nil
}

// openRoom serves the rehearsal page until the command is interrupted.
func openRoom(c *cobra.Command, f rehearseFlags) error {
	at := f.listen
	if err := at.check(); err != nil {
		return err
	}
	own, err := guest(f.bot)
	if err != nil {
		return err
	}
	ctx := c.Context()
	drafter, err := modelOfTheRoom()
	if err != nil {
		return err
	}
	store, err := openStore(ctx, f.redis)
	if err != nil {
		return err
	}
	defer store.close()
	p, err := page.New(page.Config{Journal: store.journal, Faults: f.faults, Drafter: drafter, Guest: own})
	if err != nil {
		return fmt.Errorf("rehearse: %w", err)
	}
	l, err := net.Listen("tcp", at.address)
	if err != nil {
		p.Close()
		return fmt.Errorf("listen on --listen: %w; choose another port, or 0 for any free one", err)
	}
	if at.anyone {
		fmt.Fprintln(c.ErrOrStderr(), "Warning: whoever reaches this address can act as anyone in the rehearsal, and sees all of it.")
	}
	address := "http://" + l.Addr().String() + "/"
	err = errors.Join(printText(c.OutOrStdout(), "The rehearsal is at "+address+"\n"+invitation(address, p.Team().TeamID(), own)+"Stop it with Ctrl-C.\n"), serveRoom(ctx, p, l))
	return errors.Join(err, store.purge(ctx, p.Team().TeamID()))
}

// modelOfTheRoom is the model that is set up as for serve, or nil. A script
// has none: it plays the same everywhere.
func modelOfTheRoom() (drafts.Drafter, error) {
	s, err := parseSettings(environment(os.Environ()))
	if err != nil {
		return nil, err
	}
	if err := s.checkModel(); err != nil {
		return nil, wrong(err)
	}
	return s.drafter()
}

// serveRoom serves until ctx ends; being interrupted is how it is stopped.
func serveRoom(ctx context.Context, p *page.Page, l net.Listener) error {
	server := &http.Server{Handler: p.Handler(), ReadHeaderTimeout: 5 * time.Second}
	stopped := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(stopped)
		p.Close() // first, since it ends the streams that Shutdown would wait for
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		_ = server.Shutdown(grace) // whoever still waits for an answer has had one that the page is closed
	})
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		if stop() {
			p.Close()
		}
		return fmt.Errorf("serve the rehearsal: %w", err)
	}
	<-stopped
	return nil
}
