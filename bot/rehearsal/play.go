package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync/atomic"
	"time"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/engine"
)

// PlayConfig says what is played and where its journal is kept.
type PlayConfig struct {
	Scenario *Scenario
	Journal  *journal.Journal
	Logger   *slog.Logger // default: discards
	Trace    func(Call)   // sees every Web API call; may be nil

	// Transport carries the bot's calls; nil is a plain one. Tests lose
	// answers in it.
	Transport http.RoundTripper

	// Faults go wrong all along. What is slow takes the play's own time.
	Faults Faults

	// Drafter drafts wordings for the lead; nil is off, as in the demo.
	Drafter drafts.Drafter

	// Socket lets the bot listen by Socket Mode instead of over HTTP.
	Socket bool

	// Live says that the play is served to people and their tools: while its
	// clock stands still, real time counts for rates and redeliveries.
	Live bool

	// Guest says where a bot of somebody else comes in, instead of ours.
	Guest Guest
}

// A Play is a scenario being played: a workspace, a bot, and people who act.
// Its clock stands still while anything happens and leaps to whatever comes
// next, so days pass in milliseconds and every run is the same.
type Play struct {
	scenario  *Scenario
	workspace *Workspace
	bot       *bot.Bot
	clock     *jobs.Virtual
	actors    []*actor
	channel   string
	tasks     []task
	order     int
	changed   atomic.Bool // something was posted or updated since the last look
	doneAt    time.Time
	calls     atomic.Int64
	journal   *journal.Journal
	guest     bool // the bot is somebody else's, and so is its journal
	stop      []func()
}

// secret signs the deliveries within one process; it guards nothing.
const secret = "rehearsal"

// NewPlay sets the stage: workspace and bot listen on loopback, the people
// are in the channel. Close it when done.
func NewPlay(c PlayConfig) (*Play, error) {
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	p := &Play{scenario: c.Scenario, journal: c.Journal, clock: jobs.NewVirtual(c.Scenario.Starts)}
	settings := Config{
		Clock: p.clock.Now, SigningSecret: secret, Logger: c.Logger, EnforceRates: true,
		Faults: c.Faults, Pause: p.letPass, AckWithin: c.ackWithin(), Patience: p.patience(c.Live),
	}
	if c.Guest.Expected() {
		p.clock = jobs.NewVirtual(time.Now())
		settings.Clock, settings.Pause, settings.Patience = time.Now, nil, nil
		settings.EnforceRates = false // twelve people act in one second here
	}
	p.workspace = NewWorkspace(settings)
	p.stop = append(p.stop, p.workspace.Close)
	if c.Live {
		p.redeliver()
	}
	p.workspace.OnCall(func(call Call) {
		p.changed.Store(true)
		if call.Method != ResponseURL {
			p.calls.Add(1)
		}
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

// connect starts the two servers and the bot between them.
func (p *Play) connect(c PlayConfig) error {
	api, err := p.serve(p.workspace.Handler())
	if err != nil {
		return fmt.Errorf("start the workspace: %w", err)
	}
	if !c.Guest.Expected() { // a guest calls at an address of its own
		p.workspace.SetURL(api)
	}
	p.bot, err = bot.New(bot.Config{
		Journal: c.Journal, Queue: p.clock, Chat: chat.New("xoxb-rehearsal", api+"/api/", &http.Client{Transport: c.Transport, Timeout: 10 * time.Second}),
		Clock: p.clock.Now, Logger: c.Logger, Secret: secret, Drafter: c.Drafter,
		Lookups: 1, // so that every run makes its calls in the same order
	})
	if err != nil {
		return err
	}
	switch {
	case c.Guest.Expected():
		p.guest = true
		p.workspace.SetBotURL(c.Guest.URL)
		return nil
	case c.Socket:
		return p.plugIn(api)
	}
	address, err := p.serve(p.bot.Handler())
	if err != nil {
		return fmt.Errorf("start the bot: %w", err)
	}
	p.workspace.SetBotURL(address)
	return nil
}

// serve answers on a free port of loopback until Close.
func (p *Play) serve(h http.Handler) (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	server := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second}
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(l) // ends with Close below, and only so
	}()
	p.stop = append(p.stop, func() {
		_ = server.Close()
		<-done
	})
	return "http://" + l.Addr().String(), nil
}

// Close stops both servers.
func (p *Play) Close() {
	for i := len(p.stop) - 1; i >= 0; i-- {
		p.stop[i]()
	}
	p.stop = nil
}

// gather puts everybody into the channel, the bot among them.
func (p *Play) gather() {
	members := []string{p.workspace.BotUser()}
	for i, person := range p.scenario.People {
		id := p.workspace.AddUser(User{Name: person.Key, RealName: person.Name, Zone: person.Zone})
		zone, err := time.LoadLocation(person.Zone)
		if err != nil {
			panic(fmt.Sprintf("rehearsal: zone %s of a checked scenario: %v", person.Zone, err))
		}
		p.actors = append(p.actors, &actor{ScenarioPerson: person, id: id, index: i, lead: i == 0,
			hours: engine.WorkingHours(zone), seen: map[string]bool{}, added: map[string]bool{}})
		members = append(members, id)
	}
	p.channel = p.workspace.AddChannel(Channel{Name: "kickoff", Members: members})
}

// Workspace is where the play happens, for whoever wants to look.
func (p *Play) Workspace() *Workspace { return p.workspace }

// Channel is the channel in which it happens.
func (p *Play) Channel() string { return p.channel }

// Transcript is the channel as text, with the times of the lead.
func (p *Play) Transcript() string {
	return Transcript(p.workspace, p.channel, p.actors[0].hours.Zone)
}

// Calls counts the Web API calls so far.
func (p *Play) Calls() int { return int(p.calls.Load()) }

// Bounds of a play. A kickoff takes some weeks and a few thousand steps.
const (
	longestPlay = 400 * 24 * time.Hour
	mostSteps   = 500_000
)

// Run plays the script to its end.
func (p *Play) Run(ctx context.Context) error {
	lead := p.actors[0]
	p.plan(lead, lead.at(p.scenario.Starts, time.Minute, time.Time{}), "start the kickoff", func(ctx context.Context) error { return p.start(ctx, lead) })
	for range mostSteps {
		if err := ctx.Err(); err != nil {
			return err
		}
		p.lookAround()
		over, err := p.step(ctx)
		if err != nil || over {
			return err
		}
	}
	return errors.New("the play did not come to an end")
}

// lookAround lets everybody see what is new.
func (p *Play) lookAround() {
	if !p.changed.Swap(false) {
		return
	}
	channel := scanned(p.workspace.Messages(p.channel))
	for _, a := range p.actors {
		p.look(a, channel)
		if dm := p.workspace.DM(a.id); dm != "" {
			p.look(a, scanned(p.workspace.Messages(dm)))
		}
	}
}

// step does whatever comes next: a job of the bot, or something a person
// does. It is over when the script is done and the bot has caught up.
func (p *Play) step(ctx context.Context) (over bool, err error) {
	job, waiting := p.clock.Next()
	next, planned := p.nextTask()
	if !p.doneAt.IsZero() && (!waiting || job.After(p.doneAt.Add(aftermath))) && !planned {
		return true, p.failed()
	}
	switch {
	case !waiting && !planned:
		return true, errors.Join(p.failed(), errors.New("the script came to a halt: nobody has anything left to do, and the kickoff is not finished"))
	case planned && (!waiting || !job.Before(p.tasks[next].at)):
		t := p.tasks[next]
		p.tasks = append(p.tasks[:next], p.tasks[next+1:]...)
		p.clock.Advance(t.at)
		if err := t.do(ctx); err != nil {
			return true, fmt.Errorf("%s, %s tries to %s: %w", t.at.Format(time.RFC3339), t.who.Name, t.what, err)
		}
		return false, nil
	}
	if job.Sub(p.scenario.Starts) > longestPlay {
		return true, errors.New("the play did not come to an end within a year")
	}
	_, err = p.clock.Step(ctx, p.bot.Work)
	return false, err
}

// aftermath is how long the bot may tidy up after the last scene.
const aftermath = 5 * time.Minute

// failed reports the jobs that the bot gave up.
func (p *Play) failed() error {
	var errs []error
	for _, f := range p.clock.Failed() {
		errs = append(errs, fmt.Errorf("the bot gave up a job: %w", f.Err))
	}
	return errors.Join(errs...)
}

func (p *Play) nextTask() (int, bool) {
	best := -1
	for i, t := range p.tasks {
		if best < 0 || t.at.Before(p.tasks[best].at) || t.at.Equal(p.tasks[best].at) && t.order < p.tasks[best].order {
			best = i
		}
	}
	return best, best >= 0
}

// finish notes that the script is done.
func (p *Play) finish() {
	if p.doneAt.IsZero() {
		p.doneAt = p.clock.Now()
	}
}

// person finds an actor by key.
func (p *Play) person(key string) *actor {
	for _, a := range p.actors {
		if a.Key == key {
			return a
		}
	}
	return nil
}

// Files draws the files of the kickoff as it stands now.
func (p *Play) Files(ctx context.Context) ([]screens.File, error) {
	keys, err := p.journal.All(ctx, p.workspace.TeamID())
	if err != nil {
		return nil, fmt.Errorf("find the kickoff of the play: %w", err)
	}
	if len(keys) != 1 {
		return nil, fmt.Errorf("find the kickoff of the play: there are %d", len(keys))
	}
	k, err := p.bot.Kickoff(ctx, keys[0])
	if err != nil {
		return nil, err
	}
	return screens.Files(k)
}
