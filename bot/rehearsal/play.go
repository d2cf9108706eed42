package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"soundings/bot"
	"soundings/bot/drafts"
	"soundings/bot/fakeslack"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/report"
	"soundings/bot/scenario"
)

// PlayConfig says what is played and where its journal is kept.
type PlayConfig struct {
	Scenario *scenario.Scenario
	Journal  *journal.Journal
	Logger   *slog.Logger         // default: discards
	Trace    func(fakeslack.Call) // sees every Web API call; may be nil

	// Transport carries the bot's calls; nil is a plain one. Tests lose
	// answers in it.
	Transport http.RoundTripper

	// Faults go wrong all along. What is slow takes the play's own time.
	Faults fakeslack.Faults

	// Drafter drafts wordings for the lead; nil is off, as in the demo.
	Drafter drafts.Drafter

	// Socket lets the bot listen by Socket Mode instead of over HTTP.
	Socket bool

	// live says that the play is served to people and their tools: while its
	// clock stands still, real time counts for rates and redeliveries.
	live bool

	// Guest says where a bot of somebody else comes in, instead of ours.
	Guest Guest
}

// A Guest is a bot that somebody serves by themselves and lets into a
// rehearsal instead of ours, to see whether it is set up as it should be. Its
// clock is the machine's, so the team's is too. The zero value is none.
type Guest struct {
	Socket bool   // it comes by Socket Mode
	URL    string // it waits at this base address for signed requests, without /slack/…
}

// Expected reports whether there is to be a guest.
func (g Guest) Expected() bool { return g.Socket || g.URL != "" }

// What a guest is set up with. Any tokens will do, if they begin as they
// should; the secret is the one that signs every delivery, and guards nothing.
const (
	GuestBotToken      = "xoxb-rehearsal"
	GuestAppToken      = "xapp-rehearsal"
	GuestSigningSecret = "rehearsal"
)

// A Play is a scenario being played: a team, a bot, and people who act.
// Its clock stands still while anything happens and leaps to whatever comes
// next, so days pass in milliseconds and every run is the same.
type Play struct {
	plans
	bot     *bot.Bot
	journal *journal.Journal
	guest   bool // the bot is somebody else's, and so is its journal
	stop    []func()
}

// NewPlay prepares a play: team and bot listen on loopback, the people
// are in the channel. Close it when done.
func NewPlay(c PlayConfig) (*Play, error) {
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	p := &Play{journal: c.Journal, guest: c.Guest.Expected()}
	p.cast = &cast{script: c.Scenario, clock: jobs.NewVirtual(c.Scenario.Starts)}
	settings := fakeslack.Config{
		Clock: p.clock.Now, SigningSecret: GuestSigningSecret, Logger: c.Logger, EnforceRates: true,
		Faults: c.Faults, Pause: p.wait, AckWithin: c.ackWithin(), Patience: p.patience(c.live),
	}
	if p.guest {
		p.clock = jobs.NewVirtual(time.Now())
		settings.Clock, settings.Pause, settings.Patience = time.Now, nil, nil
		settings.EnforceRates = false // twelve people act in one second here
	}
	p.team = fakeslack.NewTeam(settings)
	p.stop = append(p.stop, p.team.Close)
	if c.live {
		p.untilClose(p.team.Outbox.KeepRedelivering) // in real time
	}
	p.team.OnCall(func(call fakeslack.Call) {
		p.stale.Store(true)
		if c.Trace != nil {
			c.Trace(call)
		}
	})
	if err := p.connect(c); err != nil {
		p.Close()
		return nil, err
	}
	p.gather()
	return p, nil
}

// Close stops both servers.
func (p *Play) Close() {
	for i := len(p.stop) - 1; i >= 0; i-- {
		p.stop[i]()
	}
	p.stop = nil
}

// Team is where the play happens, for whoever wants to look.
func (p *Play) Team() *fakeslack.Team { return p.team }

// Transcript is the channel as text, with the times of the lead.
func (p *Play) Transcript() string {
	return Transcript(p.team, p.channel, p.actors[0].hours.Zone)
}

// Bounds of a play. A kickoff takes some weeks and a few thousand steps.
const (
	longestPlay = 400 * 24 * time.Hour
	mostSteps   = 500_000
)

// Run plays the script to its end.
func (p *Play) Run(ctx context.Context) error {
	p.addStart(p.script.Starts)
	for range mostSteps {
		if err := ctx.Err(); err != nil {
			return err
		}
		if p.stale.Swap(false) {
			p.look()
		}
		over, err := p.step(ctx)
		if err != nil || over {
			return err
		}
	}
	return errors.New("the play did not come to an end")
}

// lastJobsWithin is how long after the last scene a job of the bot may be due
// and still be waited for.
const lastJobsWithin = 5 * time.Minute

// step does whatever comes next: a job of the bot, or something a person
// does. It is over when the script is done and the bot has caught up.
func (p *Play) step(ctx context.Context) (over bool, err error) {
	job, waiting := p.clock.Next()
	next, planned := p.next(func(task) bool { return true }, time.Time{})
	if !p.doneAt.IsZero() && (!waiting || job.After(p.doneAt.Add(lastJobsWithin))) && !planned {
		return true, p.failed()
	}
	switch {
	case !waiting && !planned:
		return true, errors.Join(p.failed(), errors.New("the script came to a halt: nobody has anything left to do, and the kickoff is not finished"))
	case planned && (!waiting || !job.Before(p.tasks[next].at)):
		t := p.take(next)
		if err := t.do(ctx); err != nil {
			return true, fmt.Errorf("%s, %s tries to %s: %w", t.at.Format(time.RFC3339), t.who.Name, t.what, err)
		}
		return false, nil
	}
	if job.Sub(p.script.Starts) > longestPlay {
		return true, errors.New("the play did not come to an end within a year")
	}
	return false, p.work(ctx)
}

// work runs the bot's next job.
func (p *Play) work(ctx context.Context) error {
	_, err := p.clock.Step(ctx, p.bot.Work)
	return err
}

// failed reports the jobs that the bot gave up.
func (p *Play) failed() error {
	var errs []error
	for _, f := range p.clock.Failed() {
		errs = append(errs, fmt.Errorf("the bot gave up a job: %w", f.Err))
	}
	return errors.Join(errs...)
}

// Files draws the files of the kickoff as it stands now.
func (p *Play) Files(ctx context.Context) ([]report.File, error) {
	k, ok, err := p.newest(ctx)
	if err == nil && !ok {
		err = errors.New("there is none")
	}
	if err != nil {
		return nil, fmt.Errorf("find the kickoff of the play: %w", err)
	}
	return report.Files(k)
}
