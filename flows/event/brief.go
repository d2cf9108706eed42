package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// Started begins the journal of a kickoff.
type Started struct {
	ID, Team, Channel string
	Brief             state.Brief
	People            []state.Person
	Pace              int
}

func (e Started) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	k.ID, k.Team, k.Channel = e.ID, e.Team, e.Channel
	k.Started, k.Brief, k.People, k.Pace = at, e.Brief, slices.Clone(e.People), e.Pace
	k.Leads = []state.UserID{by}
}

// BriefEdited replaces the lead's texts; what people asked stays.
type BriefEdited struct{ Brief state.Brief }

func (e BriefEdited) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	read, questions := k.Brief.Read, k.Brief.Questions
	k.Brief = e.Brief
	k.Brief.Read, k.Brief.Questions = read, questions
}

// BriefRead notes that somebody has read the brief.
type BriefRead struct{}

func (BriefRead) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Brief.Read, by, true)
}

// QuestionAsked adds an open question.
type QuestionAsked struct {
	N   int
	Ask string
}

func (e QuestionAsked) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Add(k, &k.Brief.Questions, state.Question{N: e.N, By: by, Ask: e.Ask})
}

// QuestionAnswered gives a question its answer.
type QuestionAnswered struct {
	N      int
	Answer string
}

func (e QuestionAnswered) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	q := &state.Own(k, &k.Brief.Questions)[e.N-1]
	if q.Answer, q.Answered = e.Answer, by; e.Answer == "" {
		q.Answered = "" // a lead has left it open again
	}
}
