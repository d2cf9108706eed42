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
	"strings"
	"syscall"
	_ "time/tzdata" // so that every machine knows every time zone

	"github.com/caarlos0/env/v11"
	"github.com/redis/go-redis/v9/logging"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

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
	if _, told := errors.AsType[*toldError](err); !told {
		fmt.Fprintln(stderr, words.Harmless(err.Error()))
	}
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

// A toldError is one that was told already.
type toldError struct{ error }

func (e *toldError) Unwrap() error { return e.error }

func isWrong(err error) bool {
	_, is := errors.AsType[*wrongError](err)
	return is
}

func wrongf(format string, args ...any) error { return wrong(fmt.Errorf(format, args...)) }

// newRoot builds the command line.
func newRoot(s settings) *cobra.Command {
	root := group(&cobra.Command{
		Use:   "soundings",
		Short: "Start a product discovery with a distributed team, without a meeting",
		Long: "Soundings runs the kickoff of a product discovery in a team channel, over a few\n" +
			"working days, and keeps the discovery in sight until its time box ends.\n\n" +
			"Exit codes: 0 good, 1 failed, 2 wrong usage or bad input.",
	}, newRehearse(s), newServe(s), newExport(s), newPurge(s), newRedraw(s), newCheck(s), newManifest(), newScore(), newSize(), newWindow(), newVersion(), newMan())
	root.SilenceErrors, root.SilenceUsage = true, true
	root.PersistentFlags().Bool("quiet", false, "print nothing on standard error but errors: neither progress nor notes")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpCommand(newHelp(root))
	return root
}

// group makes a command out of its subcommands: by itself it does nothing.
func group(c *cobra.Command, children ...*cobra.Command) *cobra.Command {
	c.AddCommand(children...)
	c.Args = cobra.ArbitraryArgs // so that a wrong name gets our message
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) > 0 {
			return wrongf("there is no command %q; %s", args[0], choice(c))
		}
		return wrongf("a command is missing; %s", choice(c))
	}
	return c
}

// choice lists the commands that there are.
func choice(c *cobra.Command) string {
	var names []string
	for _, child := range c.Commands() {
		if child.IsAvailableCommand() {
			names = append(names, child.Name())
		}
	}
	return c.CommandPath() + " takes one of " + strings.Join(names, ", ") + ", each with --help"
}

func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return wrongf("there is no command %q; %s", strings.Join(args, " "), choice(root))
			}
			return c.Help()
		},
	}
}

// oneFile is for commands that take one file.
func oneFile(c *cobra.Command, args []string) error {
	if len(args) == 1 {
		return nil
	}
	return wrongf("%s takes one file, or - for standard input, and got %d; see %s --help", c.Name(), len(args), c.CommandPath())
}

// noArguments is for commands that take flags only.
func noArguments(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return wrongf("%q is one word too many; %s takes flags only, see %s --help", args[0], c.Name(), c.CommandPath())
}

// needs refuses a call without one of the flags, or with nothing in it.
func needs(c *cobra.Command, flags ...string) error {
	for _, name := range flags {
		if flag := c.Flags().Lookup(name); !flag.Changed || flag.Value.String() == "" {
			_, usage := pflag.UnquoteUsage(flag)
			return wrongf("--%s is missing: %s", name, usage)
		}
	}
	return nil
}

// flagError words the mistakes that the flag library finds.
func flagError(c *cobra.Command, err error) error {
	if value, is := errors.AsType[*pflag.InvalidValueError](err); is {
		return wrongf("--%s takes %s, and %q is none; see %s --help",
			value.GetFlag().Name, kindsOfValue[value.GetFlag().Value.Type()], value.GetValue(), c.CommandPath())
	}
	return wrongf("%s; see %s --help", words.HarmlessLine(err.Error()), c.CommandPath())
}

// kindsOfValue say what flags take, by their type. A text is never refused.
var kindsOfValue = map[string]string{
	"int":      "a whole number",
	"uint64":   "a whole number from 0 up",
	"float64":  "a number",
	"duration": "a length of time, such as 90s or 5m",
	"bool":     "true or false",
}
