package bot_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
)

// A rule says who may press a button or send a form, and until when.
type rule struct {
	lead  bool   // only leads
	own   bool   // besides leads, only whoever wrote it or owns it
	any   bool   // anyone at all may
	look  bool   // shows something and takes nothing
	until string // the scene with which it ends; empty: the one in which it was seen
}

const always = "ended"

// rules is the specification: every button and every form, by its action
// without the verb. A button on a screen that has no row here is a fault.
func rules() map[string]rule {
	lead, leadAlways, own := rule{lead: true}, rule{lead: true, until: always}, rule{own: true}
	look, answer := rule{look: true, until: always}, rule{}
	return map[string]rule{
		"brief.start": {any: true}, "brief.read": answer, "brief.ask": {until: always}, "brief.answer": {until: always},
		"brief.whole": look, "brief.edit": lead,
		"framing.whole": look, "framing.add": answer, "framing.questions": {look: true}, "framing.edit": own, "framing.vote": answer,
		"draft.ladder": lead, "draft.gist": leadAlways, "draft.gist.use": leadAlways, "rating.gist": leadAlways,
		"draft.plainer": own, "draft.plainer.use": own, "draft.split": own, "draft.split.use": own, "draft.others": {own: true, until: always},
		"draft.halves": answer, "draft.typed": answer, "assumptions.halves": answer, "assumptions.split": own,
		"framing.settle": lead, "framing.confirm": lead, "framing.original": lead, "framing.rung": lead, "framing.level": lead,
		"roles.place": answer, "roles.name": answer, "roles.settle": lead, "roles.confirm": lead,
		"assumptions.add": {until: always}, "assumptions.list": answer, "assumptions.all": look, "assumptions.edit": own, "assumptions.import": answer,
		"assumptions.tidy": {lead: true, look: true}, "assumptions.join": lead, "assumptions.done": answer,
		"tidying.look": lead, "tidying.leave": lead, "tidying.open": lead, "tidying.stands": own,
		"tidying.ask": lead, "tidying.alike": own, "tidying.none": own,
		"rating.deal": {lead: true, until: "assumptions"}, "rating.ballot": answer, "rating.blank": answer, "rating.same": answer, "rating.because": answer, "rating.reason": {until: always}, "importance": answer, "evidence": answer,
		"backlog.kinds": answer, "backlog.test": {until: always}, "backlog.own": {until: always}, "backlog.guide": look, "backlog.edit": {own: true, until: always}, "backlog.list": look, "backlog.plan": {own: true, until: always}, "backlog.counted": look, "backlog.done": answer,
		"timebox.vote": answer, "timebox.worth": answer, "timebox.cost": answer, "foresight.say": {until: always}, "timebox.why": look, "timebox.settle": lead,
		"close.action": {until: always}, "close.list": look, "close.edit": {own: true, until: always}, "close.post": lead, "close.done": {own: true, until: always}, "close.outside": lead,
		"close.preview": leadAlways, "close.part": leadAlways, "close.change": leadAlways,
		"checkin.report": answer, "checkin.reports": look, "checkin.correct": own, "decision.vote": answer, "decision.settle": lead, "decision.against": lead,
		"lead.more": {lead: true, look: true, until: always}, "lead.missing": lead, "lead.remind": lead, "lead.reopen": lead, "lead.extend": lead, "lead.steps": {lead: true, until: "timebox"},
		"lead.day": {any: true, until: always}, "lead.admit": leadAlways, "lead.decide": lead, "lead.outside": leadAlways,
		"lead.go-on": leadAlways, "lead.abandon": lead,
		"lead.invite": leadAlways, "lead.remove": leadAlways, "lead.add": leadAlways, "lead.handover": leadAlways, "lead.call-off": leadAlways,
		"me.hours": {until: always}, "me.join": {any: true, until: always}, "me.mute": {until: always}, "me.unmute": {until: always},
	}
}

// named is an action without its verb; of a choice on a ballot, its scale.
func named(action string) string {
	verb, name, _ := strings.Cut(action, "/")
	switch verb {
	case "rate":
		name, _, _ = strings.Cut(name, "/")
	case "draft":
		name, _, _ = strings.Cut(name, "/")
		name = "draft." + name
	}
	return name
}

// nothingForgotten compares what was tried with what screens can draw.
func (g *guard) nothingForgotten() {
	g.t.Helper()
	pressed, sent := map[string]bool{}, map[string]bool{}
	for _, d := range g.attempts {
		if d.sent {
			sent[d.name] = true
		} else {
			pressed[d.element.ActionID] = true
		}
		if d.form != nil && d.form.Submit == "" {
			sent[d.form.CallbackID] = true // there is nothing to send
		}
	}
	drawn := append(actionsOf(g.t), g.shown...)
	for _, action := range slices.Compact(slices.Sorted(slices.Values(drawn))) {
		if action == "draft/gist" {
			action += "/1" // of several, the first
		}
		assert.False(g.t, action != block.InputAction && !pressed[action], "nobody has tried to press %s", action)
		name, ok := strings.CutPrefix(action, "open/")
		assert.False(g.t, ok && !sent[name] && !rules()[name].look, "nobody has tried to send the form %s", name)
	}
}

var actionPattern = regexp.MustCompile(`"((?:open|do|turn)/[a-z]+\.[a-z-]+|draft/[a-z]+)"`)

// actionsOf finds every action that the source of screens names.
func actionsOf(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("screens/*.go")
	require.NoError(t, err, "found %d files of screens", len(files))
	require.GreaterOrEqual(t, len(files), 10, "found %d files of screens", len(files))
	var all []string
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, found := range actionPattern.FindAllStringSubmatch(string(source), -1) {
			all = append(all, found[1])
		}
	}
	return all
}

// isSentence holds what people are told to plain words: whole sentences,
// without gaps, codes or the machine's own words.
func isSentence(said string) bool {
	return sentencePattern.MatchString(said) && len(said) < 300 && !machinePattern.MatchString(said)
}

var (
	sentencePattern = regexp.MustCompile(`^[A-Z“].*[.!?]$`)
	machinePattern  = regexp.MustCompile(`  | \.|%!|\bU0|\bT0|\bnil\b|error|invalid|flows|\{|_`)
)
