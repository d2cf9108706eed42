package flows

import "time"

// MostDrafts is how often the leads of one kickoff may ask for drafts. It
// bounds what a model costs; the ladder has five levels, and ten times four
// wordings are more than anybody reads.
const MostDrafts = 10

// DraftLadder asks for wordings above and below the problem statement.
const DraftLadder = "ladder"

// AskDrafts asks for a machine's drafts. Nothing is added to the kickoff by
// it but the count: what comes is shown to the lead who asked, and to nobody
// else.
type AskDrafts struct {
	ByLead
	What string // DraftLadder
}

func (i AskDrafts) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := k.takes(StageFraming); err != nil {
		return nil, err
	}
	if i.What != DraftLadder {
		return nil, refuse("Drafts are made of the problem statement only.")
	}
	if k.Framing.Drafts >= MostDrafts {
		return nil, refuse("Drafts were asked for %d times in this kickoff, which is the most. You can still add wordings by hand.", MostDrafts)
	}
	return []Event{DraftsAsked{What: i.What}}, nil
}

// DraftsAsked counts one request for drafts, whether or not any came.
type DraftsAsked struct{ What string }

func (DraftsAsked) kind() string { return "drafts-asked" }
func (DraftsAsked) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Framing.Drafts++
}
