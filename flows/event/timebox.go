package event

import (
	"time"

	"soundings/engine"
	"soundings/flows/state"
)

// WeeksProposed is the bot's proposal, with its reason.
type WeeksProposed struct{ Proposal engine.Proposal }

func (e WeeksProposed) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Timebox.Proposal = e.Proposal
}

// WeeksVoted is one person's vote; the last one counts.
type WeeksVoted struct{ Weeks int }

func (e WeeksVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Timebox.Votes, by, e.Weeks)
}

// WeeksCounted is the result of the vote, before the lead sets the weeks.
type WeeksCounted struct {
	Median, IQR engine.Figure
	Voters      int `json:",omitempty"`
}

func (e WeeksCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Timebox.Median, k.Timebox.IQR, k.Timebox.Voters = e.Median, e.IQR, e.Voters
}

// TimeboxSet is the length of the discovery and the marks by which it will
// be judged.
type TimeboxSet struct {
	Weeks   int
	Checkin time.Weekday
	StopIf  string `json:",omitempty"`
	BuildIf string `json:",omitempty"`
	StopOn  string `json:",omitempty"`
	BuildOn string `json:",omitempty"`
}

func (e TimeboxSet) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	t := &k.Timebox
	t.Weeks, t.Checkin, t.StopIf, t.BuildIf, t.SetBy = e.Weeks, e.Checkin, e.StopIf, e.BuildIf, by
	t.StopOn, t.BuildOn = e.StopOn, e.BuildOn
}
