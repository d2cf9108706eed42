package event

import (
	"time"

	"soundings/flows/state"
)

// PartChanged says that a lead changed a part of the summary that people may
// have read.
type PartChanged struct{ Part string }

func (e PartChanged) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	state.Put(k, &k.Summary.Changed, e.Part, state.Change{By: by, At: at})
}

// WordGiven is a lead's word about a part of the summary.
type WordGiven struct {
	Part string
	Text string `json:",omitempty"`
}

func (e WordGiven) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	if e.Text == "" {
		state.Drop(k, &k.Summary.Words, e.Part)
		return
	}
	state.Put(k, &k.Summary.Words, e.Part, state.LeadWord{Text: e.Text, By: by})
}

// MarksChanged changes the marks by which the time box will be judged.
type MarksChanged struct {
	StopIf  string `json:",omitempty"`
	BuildIf string `json:",omitempty"`
}

func (e MarksChanged) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Timebox.StopIf, k.Timebox.BuildIf = e.StopIf, e.BuildIf
}
