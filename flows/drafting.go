package flows

import "time"

// How often drafts may be asked for. It bounds what a model costs, and what
// anybody has to read.
const (
	MostDrafts       = 10 // for the ladder, by the leads of one kickoff
	MostBeliefDrafts = 20 // of assumptions in other words, by everybody together
	MostOwnDrafts    = 5  // of these, by one person who does not lead
	MostGistDrafts   = 10 // of unsigned reasons
)

// What drafts can be of.
const (
	DraftLadder  = "ladder"  // wordings above and below the problem statement
	DraftPlainer = "plainer" // one assumption in plainer words
	DraftSplit   = "split"   // the beliefs in one assumption, each by itself
	DraftGist    = "gist"    // what the unsigned reasons under a split say
)

// AskDrafts asks for a machine's drafts for the ladder. Nothing is added to
// the kickoff by it but the count: what comes is shown to the lead who asked,
// and to nobody else.
type AskDrafts struct {
	ByLead
	What string // DraftLadder
}

func (i AskDrafts) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := canAnswer(k, StageFraming); err != nil {
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

// AskBeliefDraft asks a machine for one assumption in plainer words, or taken
// apart. Whoever may change it may ask, and is the only one to see what comes.
type AskBeliefDraft struct {
	By
	What       string // DraftPlainer or DraftSplit
	Assumption string
}

func (i AskBeliefDraft) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if i.What != DraftPlainer && i.What != DraftSplit {
		return nil, refuse("An assumption can be put more plainly or taken apart, and nothing else.")
	}
	if err := mayChange(k, i.Assumption, i.Who); err != nil {
		return nil, err
	}
	if k.BeliefDraftsLeft(i.Who) == 0 {
		return nil, refuse("You cannot ask for more drafts of assumptions in this kickoff. Changing the words by hand works as before.")
	}
	return []Event{DraftsAsked{What: i.What, Assumption: i.Assumption}}, nil
}

// BeliefDraftsLeft is how often u may still ask for an assumption in other
// words. One person alone cannot use up what others may need.
func (k *Kickoff) BeliefDraftsLeft(u UserID) int {
	all := 0
	for _, n := range k.BeliefDrafts {
		all += n
	}
	left := MostBeliefDrafts - all
	if !k.IsLead(u) {
		left = min(left, MostOwnDrafts-k.BeliefDrafts[u])
	}
	return max(left, 0)
}

// AskGist asks a machine what the unsigned reasons under a split say.
type AskGist struct {
	ByLead
	Assumption string
}

func (i AskGist) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := canSumUp(k, i.Assumption); err != nil {
		return nil, err
	}
	if k.GistDrafts >= MostGistDrafts {
		return nil, refuse("Reasons were summed up %d times in this kickoff, which is the most. You can still reply in the thread yourself.", MostGistDrafts)
	}
	return []Event{DraftsAsked{What: DraftGist, Assumption: i.Assumption}}, nil
}

// DraftsAsked counts one request for drafts, whether or not any came.
type DraftsAsked struct {
	What       string
	Assumption string `json:",omitempty"` // that they are about
}

func (DraftsAsked) kind() string { return "drafts-asked" }
func (e DraftsAsked) apply(k *Kickoff, _ time.Time, by UserID) {
	switch e.What {
	case DraftPlainer, DraftSplit:
		put(&k.BeliefDrafts, by, k.BeliefDrafts[by]+1)
	case DraftGist:
		k.GistDrafts++
	default:
		k.Framing.Drafts++
	}
}
