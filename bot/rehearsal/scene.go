package rehearsal

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

// An act is what an actor does with a button that they have noticed.
type act func(ctx context.Context, a *actor, b button) error

// A scene says who acts on a button, how and how soon.
type scene struct {
	action  string // id of the button
	leads   bool   // only the lead
	settles bool   // only the lead, also in a stage in which they do not answer
	atOnce  bool   // in whichever hours, so that a script in which nothing is tidied runs as if nothing were to tidy
	after   time.Duration
	what    string // completes "Ana tries to …"
	did     string // completes "Ana …", once it is done
	do      act

	stage string // from the table
}

// about is what a scene settles for a person: its button, or another by which the same
// is said.
func (s scene) about() string { return matterOf(s.action) }

// sameMatter names buttons that settle what another one does. A person who has pressed
// one has said it all.
var sameMatter = map[string]string{
	"open/roles.place":      "do/roles.place",
	"open/timebox.vote":     "do/timebox.vote",
	"open/framing.settle":   "do/framing.confirm",
	"open/tidying.look":     "do/tidying.leave",
	"open/tidying.alike":    "do/tidying.none",
	"do/framing.original":   "do/framing.confirm",
	"open/framing.confirm":  "do/framing.confirm",
	"open/framing.original": "do/framing.confirm",
	"do/roles.confirm":      "open/roles.settle",
	"open/decision.against": "do/decision.settle",
	"open/lead.steps":       "open/brief.whole",
	"open/lead.more":        "open/rating.deal", // behind it; looking there says nothing
	"open/rating.blank":     "open/rating.ballot",
	"open/rating.same":      "open/rating.ballot",
	"open/backlog.own":      "open/backlog.test",
	"open/backlog.plan":     "open/backlog.test",
	"open/checkin.correct":  "open/checkin.reports",
	"open/backlog.edit":     "open/backlog.list",
}

func matterOf(actionID string) string { return cmp.Or(sameMatter[actionID], actionID) }

// comesAnew are the matters of which each occasion is one of its own: what somebody has
// done by hand the last time does not keep the script from acting for them the next time.
var comesAnew = []string{"open/brief.answer", "open/checkin.report", "open/checkin.reports", "open/backlog.list", "do/decision.vote", "do/decision.settle",
	"do/tidying.stands", "do/lead.decide", "do/brief.read", "do/assumptions.done", "do/backlog.done"}

// isLeft reports whether a task is left to the script: nobody has done it by hand in
// the place of who would do it.
func (t task) isLeft() bool { return !t.who.byHand[t.matter] || slices.Contains(comesAnew, t.matter) }

// byStage holds the scenes of every stage in which a script has answers.
var byStage = []struct {
	stage  string
	scenes []scene
}{
	{"brief", []scene{
		{action: "open/brief.ask", what: "ask about the brief", did: "asked about the brief", do: askQuestions},
		{action: "open/brief.whole", leads: true, what: "leave steps out", did: "left steps out", do: leaveOut},
		{action: "do/brief.read", after: 10 * time.Minute, what: "mark the brief as read", did: "read the brief", do: markRead},
		{action: "open/brief.answer", leads: true, what: "answer a question", did: "answered a question", do: answerQuestion},
	}},
	{"framing", []scene{
		{action: "open/framing.add", what: "add wordings", did: "put the problem in other words", do: addWordings},
		{action: "open/framing.vote", after: time.Hour, what: "choose level and wordings", did: "chose a level and wordings", do: voteFraming},
		{action: "do/framing.confirm", settles: true, what: "confirm the problem", did: "settled the problem", do: press},
	}},
	{"roles", []scene{
		{action: "open/roles.place", after: 10 * time.Minute, what: "join the core team", did: "joined the core team", do: placeInCore},
		{action: "do/roles.place", after: 10 * time.Minute, what: "say where they stand", did: "said where they stand", do: placeSelf},
		{action: "open/roles.name", what: "name who is missing", did: "named who is missing", do: namePeople},
		{action: "open/roles.settle", settles: true, what: "settle the roles", did: "settled the roles", do: settleRoles},
	}},
	{"assumptions", []scene{
		{action: "open/assumptions.add", what: "add assumptions", did: "added assumptions", do: addAssumptions},
		{action: "open/lead.more", settles: true, what: "say who rates what", did: "said who rates what", do: chooseDeal},
		{action: "do/assumptions.done", after: 20 * time.Minute, what: "say that this is all", did: "finished", do: press},
		{action: "do/tidying.leave", settles: true, atOnce: true, what: "tidy the list", did: "looked through the list", do: tidyList},
		{action: "do/tidying.none", after: 20 * time.Minute, what: "look for what says the same", did: "read the list", do: press},
		{action: "do/tidying.stands", after: 10 * time.Minute, what: "look at their words again", did: "looked at their words again", do: answerBack},
	}},
	{"rating", []scene{
		{action: "open/rating.ballot", what: "fill in the ballot", did: "rated", do: fillBallot},
	}},
	{"backlog", []scene{
		{action: "open/backlog.kinds", what: "vote on kinds of risk", did: "named risks", do: voteKinds},
		{action: "open/backlog.test", after: 10 * time.Minute, what: "plan tests", did: "planned tests", do: addTests},
		{action: "do/backlog.done", after: 25 * time.Minute, what: "say that this is all", did: "finished", do: backlogDone},
	}},
	{"timebox", []scene{
		{action: "do/foresight.say", after: 5 * time.Minute, what: "say what to expect of the tests", did: "said what to expect of the tests", do: sayForesight},
		{action: "do/timebox.vote", what: "vote on the weeks", did: "voted on the weeks", do: voteWeeks},
		{action: "open/timebox.settle", settles: true, what: "set the time box", did: "set the time box", do: setTimebox},
	}},
	{"close", []scene{
		{action: "open/close.action", leads: true, what: "note actions", did: "noted next steps", do: addActions},
		{action: "do/close.post", leads: true, after: 30 * time.Minute, what: "post the summary", did: "posted the summary", do: press},
	}},
	{"underway", []scene{
		{action: "open/checkin.report", what: "report at the check-in", did: "reported at the check-in", do: reportCheckin},
		{action: "open/checkin.reports", after: time.Hour, what: "correct a report", did: "corrected a report", do: correctReport},
		{action: "open/backlog.list", after: 90 * time.Minute, what: "drop a test", did: "dropped a test", do: dropTests},
		{action: "do/decision.vote", what: "vote on how to go on", did: "voted on how to go on", do: voteDecision},
		{action: "do/decision.settle", settles: true, what: "settle the decision", did: "settled the decision", do: settleDecision},
		{action: "open/decision.against", settles: true, what: "settle the decision", did: "settled the decision", do: settleDecision},
	}},
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
	if s.action == "open/rating.ballot" && a.leftOut() {
		return false
	}
	return !a.SilentIn(s.stage) && (!s.leads || a.lead)
}

// errNotYet says that an actor waits for what somebody else has still to do.
var errNotYet = errors.New("not yet")

// press is the scene of a button that needs nothing from the script.
func press(ctx context.Context, a *actor, b button) error { return a.press(ctx, b) }

// start types the command, has the form ask for everything, and fills it in.
func start(ctx context.Context, a *actor) error {
	c := a.cast
	err := a.retry(func() error { return c.team.Client.Command(ctx, a.id, c.channel, "/soundings", "start") })
	if err != nil {
		return err
	}
	if err := a.pressOnTop(ctx, "turn/brief.start"); err != nil {
		return err
	}
	b := c.script.Brief
	var people []string
	for _, other := range c.actors {
		people = append(people, other.id)
	}
	return a.fill(ctx, typed("title", c.script.Title), typed("why", b.Why), typed("outcome", b.Outcome),
		typed("out_of_bounds", b.OutOfBounds), typed("links", strings.Join(b.Links, "\n")), typed("problem", b.Problem),
		field{"people", blockkit.Value{IDs: people}}, chosen("pace", strconv.Itoa(c.script.PaceDays)))
}
