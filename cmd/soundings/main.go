// The program soundings, as a command line: it parses, builds and waits. What
// it parses goes to engine, flows and bot; what it prints comes from them.
//
// [run] is the whole program, with its input and output handed in, so that
// tests call it in-process. There is one file for each command.
//
// The exit code is 0 for good, 1 when something failed, and 2 for wrong usage
// or bad input: then one sentence on standard error names what is wrong, the
// file and line where there is one, and what is allowed. Input is checked
// whole before anything is written, and every file appears whole or not at
// all.
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

	"github.com/caarlos0/env/v11"
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
	code := run(ctx, os.Args[1:], env.ToMap(os.Environ()), os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run does what args ask for, with the settings in environ, and returns the
// exit code. It returns soon after ctx has ended.
func run(ctx context.Context, args []string, environ map[string]string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot(readSettings(environ))
	root.SetArgs(append([]string{}, args...)) // given nil, cobra would look for arguments itself
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitGood
	}
	fmt.Fprintln(stderr, words.Harmless(err.Error()))
	if isWrong(err) {
		return exitWrong
	}
	return exitFailed
}

// A wrongError is a mistake of whoever called: usage or input. It shows as the
// error it wraps.
type wrongError struct{ error }

func (e *wrongError) Unwrap() error { return e.error }

// wrong marks an error, if it is one, as the caller's mistake.
func wrong(err error) error {
	if err == nil {
		return nil
	}
	return &wrongError{err}
}

func isWrong(err error) bool {
	_, is := errors.AsType[*wrongError](err)
	return is
}

func wrongf(format string, args ...any) error { return wrong(fmt.Errorf(format, args...)) }
