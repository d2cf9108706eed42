package screens

import (
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// nudgeFor is what the viewer still owes, and until when; owes is false when
// they owe nothing.
func nudgeFor(p Page) (n nudge, closes time.Time, owes bool) {
	k := p.Kickoff
	if !k.Takes(p.Viewer) {
		return nudge{}, time.Time{}, false
	}
	if k.Stage == flows.StageUnderway {
		return underwayNudge(p)
	}
	w := k.Window
	if _, done := w.Done[p.Viewer]; done || w.Phase != flows.PhaseOpen || !slices.Contains(w.Asked, p.Viewer) {
		return nudge{}, time.Time{}, false
	}
	return stageNudge(p), w.Closes, true
}

// underwayNudge is about an open check-in, or the open decision.
func underwayNudge(p Page) (n nudge, closes time.Time, owes bool) {
	k := p.Kickoff
	if at := len(k.Underway.Checkins); at > 0 && k.Underway.Checkins[at-1].Closed.IsZero() {
		c := k.Underway.Checkins[at-1]
		_, voted := c.Confidence[p.Viewer]
		n = nudge{"A check-in is open: say how your tests went and how confident you are.", 3,
			[]*slack.ButtonBlockElement{button("Report", "open/checkin.report", checkinArgs(p, c.N))}}
		return n, c.Closes, !voted && slices.Contains(k.InRing(flows.Core), p.Viewer)
	}
	d := k.Underway.Decision
	_, voted := d.Votes[p.Viewer]
	n = nudge{open: "Build, stop, or another time box? The vote is in the channel, beside what was written down beforehand.", minutes: 1}
	return n, d.Closes, !voted && d.Phase == flows.PhaseOpen
}
