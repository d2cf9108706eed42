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

// OutlookVoted is what one person thinks before the first test. What is left out
// stays as it was.
type OutlookVoted struct {
	Worth int         `json:",omitempty"` // 1 surely not worth building, 9 surely
	Cost  engine.Cost `json:",omitempty"` // what being wrong would cost
}

func (e OutlookVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	if e.Worth > 0 {
		state.Put(k, &k.Timebox.Worth, by, e.Worth)
	}
	if e.Cost != "" {
		state.Put(k, &k.Timebox.Cost, by, e.Cost)
	}
}

// WeeksCounted is the result of the vote, before the lead sets the weeks. What it
// makes of the proposal follows as one more WeeksProposed.
type WeeksCounted struct {
	Median, IQR engine.Figure
	Voters      int            `json:",omitempty"`
	Than        int            `json:",omitempty"` // as in state.Timebox
	Outlook     *state.Outlook `json:",omitempty"`
}

func (e WeeksCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Timebox.Median, k.Timebox.IQR, k.Timebox.Voters, k.Timebox.Than = e.Median, e.IQR, e.Voters, e.Than
	k.Timebox.Outlook = e.Outlook
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
