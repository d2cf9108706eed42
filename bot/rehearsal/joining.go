package rehearsal

import (
	"regexp"
	"strings"

	"soundings/bot/scenario"
	"soundings/flows/state"
)

// With a person among them the script no longer fits everywhere: the kickoff may be
// about a problem of their own, and what they add takes numbers of the script.

// joined is what a cast knows of a kickoff in which a person takes part.
type joined struct {
	room      bool               // a person takes part
	demo      *scenario.Scenario // the script as it was read
	own       bool               // the kickoff is about a problem that is not the script's
	among     bool               // of these, it is known who takes part
	brief     string             // the place of the brief by which that was seen
	unwritten map[int]bool       // wordings of the script that may never come, by their place in it
	numbers   map[string]string  // what the bot calls an assumption of the script, by its id there
}

// meet looks at a message of the channel: whether a kickoff has begun with it, about
// which problem, and what the bot calls the assumptions of the script.
func (c *cast) meet(m post) {
	if !c.joined.room || m.ts == "" {
		return
	}
	shown := c.textOf(m)
	if m.slot == "stage/brief" && c.joined.brief != m.place {
		c.joined.brief = m.place
		c.begun(!strings.Contains(shown, flat(beginning(flat(c.joined.demo.Brief.Problem), 100))))
	}
	c.learn(shown)
}

// begun turns to what people say in the kickoff that has begun.
func (c *cast) begun(own bool) {
	c.joined.own, c.joined.among, c.joined.numbers, c.joined.unwritten = own, false, map[string]string{}, nil
	c.script = c.joined.demo
	if own {
		c.script = scenario.AnyProblem(c.script.People, c.script.Starts)
	}
	for _, a := range c.actors {
		a.added, a.byHand = map[string]bool{}, map[string]bool{}
	}
}

// amongThose leaves what is said of a problem of somebody's own to those who take part in k.
func (c *cast) amongThose(k *state.Kickoff) {
	if !c.joined.own || c.joined.among || k.ID == "" {
		return
	}
	c.joined.among = true
	var people scenario.People
	for _, a := range c.actors {
		if k.Takes(state.UserID(a.id)) {
			people = append(people, a.Person)
		}
	}
	if len(people) > 0 {
		c.script = scenario.AnyProblem(people, c.script.Starts)
	}
}

// textOf is all that a message says, with single blanks.
func (c *cast) textOf(m post) string {
	message, _ := c.team.Message(m.channel, m.ts)
	return flat(allText(message.Blocks))
}

// numbered is a number that stands before the words of an assumption.
var numbered = regexp.MustCompile(`([A-Za-z0-9._-]{1,16}):? $`)

// learn reads in a text what the bot calls the assumptions of the script. People go
// by the words: a person may have taken their numbers.
func (c *cast) learn(shown string) {
	for _, a := range c.script.AllAssumptions() {
		if c.joined.numbers[a.ID] != "" {
			continue
		}
		before, _, found := strings.Cut(shown, flat(beginning(flat(a.Text), 60)))
		if at := numbered.FindStringSubmatch(before); found && at != nil && strings.ContainsAny(at[1], "0123456789") {
			c.joined.numbers[a.ID] = at[1]
		}
	}
}

// number is what the bot calls an assumption of the script.
func (c *cast) number(id string) string {
	if n := c.joined.numbers[id]; n != "" {
		return n
	}
	return id
}

// scripted is the assumption of the script that the bot calls so; ok is false for one
// that a person has added.
func (c *cast) scripted(number string) (id string, ok bool) {
	for id, n := range c.joined.numbers {
		if n == number {
			return id, true
		}
	}
	return number, !c.joined.room
}
