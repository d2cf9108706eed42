package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/block"
	"soundings/flows"
	"soundings/flows/state"
)

// Forms open for those who may send them, and for nobody else.
func TestWhoMayOpenWhatAndWhen(t *testing.T) {
	for _, c := range []struct {
		rule, form, moment string
		who                state.UserID
		opens              bool
	}{
		{"somebody outside cannot ask", "brief.ask", "brief", "U99", false},
		{"questions are welcome later", "brief.ask", "backlog", "U2", true},
		{"only a lead edits the brief", "brief.edit", "brief", "U2", false},
		{"the brief is edited while it is open", "brief.edit", "framing", "U1", false},
		{"a stage that has not opened yet", "roles.place", "brief", "U2", false},
		{"a stage that is open", "roles.place", "roles", "U2", true},
		{"a stage that waits for the lead", "roles.place", "roles/settling", "U2", false},
		{"a stage that has closed", "framing.vote", "roles", "U2", false},
		{"the lead settles what waits", "framing.settle", "framing/settling", "U1", true},
		{"the others do not", "framing.settle", "framing/settling", "U2", false},
		{"the lead settles nothing while people answer", "framing.settle", "framing", "U1", false},
		{"the lead settles nothing twice", "framing.settle", "roles", "U1", false},
		{"assumptions are welcome early", "assumptions.add", "brief", "U2", true},
		{"but not late", "assumptions.add", "rating", "U2", false},
		{"nor from outside", "assumptions.add", "brief", "U99", false},
		{"only a lead tidies", "assumptions.tidy", "assumptions", "U2", false},
		{"and only as long as the list is open", "assumptions.tidy", "rating", "U1", false},
		{"only a lead joins", "assumptions.join", "assumptions", "U2", false},
		{"only a lead extends", "lead.extend", "brief", "U2", false},
		{"nothing is extended while the lead settles", "lead.extend", "roles/settling", "U1", false},
		{"only a lead invites", "lead.invite", "brief", "U2", false},
		{"only a lead lets go", "lead.remove", "brief", "U2", false},
		{"hours are for those who take part", "me.hours", "brief", "U99", false},
	} {
		_, err := Open(c.form, pageFor(momentAt(t, c.moment), c.who))
		assert.Equal(t, c.opens, (err == nil), "%s: %s at %s for %s: %v, want it to open", c.rule, c.form, c.moment, c.who, err)
		assert.False(t, err != nil && !isRefusal(err), "%s: %s at %s for %s: %v, want it to open", c.rule, c.form, c.moment, c.who, err)
	}
}

// The gate is not the lock: flows refuses by itself whatever comes past it.
func TestFlowsRefusesWhatTheGateRefuses(t *testing.T) {
	for _, c := range []struct {
		form, moment string
		who          state.UserID
		fill         block.Values
	}{
		{"brief.ask", "brief", "U99", entries("ask", "Why?")},
		{"brief.edit", "brief", "U2", entries("title", "T", "problem", "P")},
		{"roles.place", "brief", "U2", entries("ring", "core", "days", "")},
		{"framing.vote", "roles", "U2", entries("level", "1")},
		{"framing.settle", "framing", "U1", entries("problem", "P", "level", "0")},
		{"assumptions.add", "rating", "U2", entries("text", "The pier has a signal.")},
		{"lead.extend", "brief", "U2", entries("days", "1")},
		{"me.hours", "brief", "U99", ticked(entries("zone", "UTC", "from", "540", "to", "600"), "days", "1")},
	} {
		m := momentAt(t, c.moment)
		answer, err := Submit(c.form, pageFor(m, c.who), c.fill)
		if !assert.False(t, err != nil || len(answer.Intents) != 1, "%s: answer = %+v, %v", c.form, answer, err) {
			continue
		}
		_, err = flows.Decide(m.K, answer.Intents[0], m.Now)
		assert.True(t, isRefusal(err), "%s at %s for %s: flows says %v, want a refusal", c.form, c.moment, c.who, err)
	}
}
