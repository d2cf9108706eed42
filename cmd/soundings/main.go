package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // so that every machine knows every time zone

	"github.com/redis/go-redis/v9/logging"

	"soundings/bot/words"
)

// The exit codes.
const (
	exitGood   = 0
	exitFailed = 1
	exitWrong  = 2 // wrong usage or bad input
)

func main() {
	logging.Disable() // the client's own: what it tells comes back as errors too
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run does what args ask for and returns the exit code. It returns soon after
// ctx has ended.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(append([]string{}, args...)) // given nil, cobra would look for arguments itself
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitGood
	}
	fmt.Fprintln(stderr, words.Harmless(err.Error()))
	if wrong := (*wrongError)(nil); errors.As(err, &wrong) {
		return exitWrong
	}
	return exitFailed
}

// A wrongError is a mistake of whoever called: usage or input. It shows as the
// error it wraps.
type wrongError struct{ error }

func (e *wrongError) Unwrap() error { return e.error }

// wrong marks an error as the caller's mistake.
func wrong(err error) error { return &wrongError{err} }

func wrongf(format string, args ...any) error { return wrong(fmt.Errorf(format, args...)) }
