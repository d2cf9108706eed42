package state

import (
	"time"

	"soundings/flows/workdays"
)

// A Kickoff is the state of one kickoff: the fold of its journal. It is a
// plain value; whoever holds one may read it for ever, since Apply changes
// only a copy.
type Kickoff struct {
	ID      string
	Team    string
	Channel string
	Version int64 // entries applied so far

	Started time.Time
	Brief   Brief
	Leads   []UserID
	People  []Person // in the order in which they came
	Pace    int      // working days per stage
	LeftOut []Stage  `json:",omitempty"` // stages that this kickoff passes over, in their order

	NotRating []UserID `json:",omitempty"` // leads who chose beforehand that the others rate alone

	Stage  Stage
	Window Window   // the open stage, or the last one that was open
	Past   []Window // closed windows, oldest first

	Framing     Framing
	Roles       Roles
	Assumptions []Assumption
	Tidying     Tidying `json:",omitzero"`
	Deal        Deal    `json:",omitzero"`
	Rounds      []Round
	Reasons     []Reason
	Gists       map[string]Gist `json:",omitempty"` // by assumption
	Backlog     Backlog
	Foresight   map[int]Foresight `json:",omitempty"` // by test
	Timebox     Timebox
	Actions     []Action
	Summary     Summary `json:",omitzero"`
	Underway    Underway
	Extras      Extras `json:",omitzero"`
	Seen        Seen   `json:",omitzero"`

	Posted   map[string]Posting  // slot name -> the message that shows it
	Reminded map[UserID]LocalDay // the day after which someone may next be reminded
	Asking   []JoinRequest       // people who asked to join

	BeliefDrafts map[UserID]int `json:",omitempty"` // how often each asked for other words for an assumption
	GistDrafts   int            `json:",omitempty"` // how often a gist was asked for
	Loss         Loss           `json:",omitzero"`  // what the store has lost, if it has lost anything
	Emptied      map[string]int `json:",omitempty"` // boxes of ballots that were emptied, by kind
	Unreachable  Unreachable    `json:"Shut"`       // why the channel is out of reach, if it is
	CalledOff    CalledOff      `json:",omitzero"`  // who called it off, if anybody did
	Deserted     time.Time      // when the last one left; zero while anybody takes part

	zones  workdays.Zones
	made   made // since this fold or decision began
	cached cached
}

// CalledOff is a lead's word that a kickoff ends before its time.
type CalledOff struct {
	Why string // one sentence; empty: nobody called it off
	By  UserID
	At  time.Time
}

// A UserID names a person in the chat platform; opaque.
type UserID string

// A LocalDay is a date in somebody's own time zone, as 2006-01-02.
type LocalDay = workdays.Day

// A Posting is where a message of ours stands.
type Posting struct {
	Channel string
	TS      string // the platform's message id; a string, since a float would lose digits
	Picture string `json:",omitempty"` // the platform's id of the file that it shows in itself
}

// A Stage names one stage of a kickoff.
type Stage string

// The stages.
const (
	StageBrief       Stage = "brief"
	StageFraming     Stage = "framing"
	StageRoles       Stage = "roles"
	StageAssumptions Stage = "assumptions"
	StageTidying     Stage = "tidying" // only where something on the list stands out; it asks nobody but the lead
	StageRating      Stage = "rating"
	StageBacklog     Stage = "backlog"
	StageTimebox     Stage = "timebox"
	StageClose       Stage = "close"
	StageUnderway    Stage = "underway"
	StageEnded       Stage = "ended"
)

// Stages lists the stages in the order in which a kickoff comes to them.
func Stages() []Stage {
	return []Stage{StageBrief, StageFraming, StageRoles, StageAssumptions, StageTidying, StageRating, StageBacklog, StageTimebox, StageClose, StageUnderway, StageEnded}
}
