package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

// A scene is what an actor does when they notice a button.
type scene struct {
	action  string // id of the button
	leads   bool   // only the lead
	settles bool   // only the lead, also in a stage in which they do not answer
	after   time.Duration
	what    string // completes "Ana tries to …"
	do      func(ctx context.Context, a *actor, b button) error

	stage string // from the table
}

// byStage holds the scenes of every stage in which a script has answers. What
// a stage needs of the script stands in a file of its name.
var byStage = []struct {
	stage  string
	scenes []scene
}{
	{"brief", briefScenes},
	{"framing", framingScenes},
	{"roles", rolesScenes},
	{"assumptions", assumptionsScenes},
	{"rating", ratingScenes},
	{"backlog", backlogScenes},
	{"timebox", timeboxScenes},
	{"close", closeScenes},
	{"underway", underwayScenes},
}

// scenes are all of them by the id of their button.
var scenes = func() map[string]scene {
	out := map[string]scene{}
	for _, row := range byStage {
		for _, s := range row.scenes {
			s.stage = row.stage
			out[s.action] = s
		}
	}
	return out
}()

// isFor reports whether a scene falls to an actor.
func (s scene) isFor(a *actor) bool {
	if s.settles {
		return a.lead
	}
	return !a.SilentIn(s.stage) && (!s.leads || a.lead)
}

// errNotYet says that an actor waits for what somebody else has still to do.
var errNotYet = errors.New("not yet")

// press is the scene of a button that needs nothing from the script.
func press(ctx context.Context, a *actor, b button) error { return a.press(ctx, b) }

// start types the command and fills in the brief.
func start(ctx context.Context, a *actor) error {
	c := a.cast
	err := a.retry(func() error { return c.team.Client.Command(ctx, a.id, c.channel, "/soundings", "start") })
	if err != nil {
		return err
	}
	b := c.script.Brief
	var people []string
	for _, other := range c.actors {
		people = append(people, other.id)
	}
	return a.fill(ctx,
		field{"title", blockkit.Value{Text: c.script.Title}}, field{"why", blockkit.Value{Text: b.Why}}, field{"outcome", blockkit.Value{Text: b.Outcome}},
		field{"out_of_bounds", blockkit.Value{Text: b.OutOfBounds}}, field{"links", blockkit.Value{Text: strings.Join(b.Links, "\n")}},
		field{"problem", blockkit.Value{Text: b.Problem}}, field{"people", blockkit.Value{IDs: people}},
		field{"pace", blockkit.Value{Option: strconv.Itoa(c.script.PaceDays)}})
}

// decimal writes a number of days as people type it.
func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// once runs what an actor enters a single time, however often they come back.
func (a *actor) once(name string, enter func() error) error {
	if a.added[name] {
		return nil
	}
	a.added[name] = true
	return enter()
}

// entryName names an entry of a list in the script for once.
func entryName(list string, i int) string { return fmt.Sprintf("%s/%d", list, i+1) }
