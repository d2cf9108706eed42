package flows

import (
	"fmt"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// How often drafts may be asked for. It bounds what a model costs, and what
// anybody has to read.
const (
	MostDrafts       = 10 // for the ladder, by the leads of one kickoff
	MostBeliefDrafts = 20 // of assumptions in other words, by everybody together
	MostOwnDrafts    = 5  // of these, by one person who does not lead
	MostGistDrafts   = 10 // of unsigned reasons
)

// A draftKind is when drafts of a kind are of use, and how often they were and
// may be asked for.
type draftKind struct {
	takes       func(about string, who state.UserID) error // why a draft would not be of use
	taken, left int
	spent       string // why nobody may ask any more
}

// draftsOf are those that who may ask for; the zero draftKind is of no kind.
func draftsOf(k *state.Kickoff, what string, who state.UserID) draftKind {
	switch what {
	case state.DraftLadder:
		takes := func(string, state.UserID) error { return canAnswer(k, state.StageFraming) }
		return draftKind{takes, k.Framing.Drafts, MostDrafts - k.Framing.Drafts,
			fmt.Sprintf("Drafts were asked for %d times in this kickoff, which is the most. You can still add wordings by hand.", MostDrafts)}
	case state.DraftPlainer, state.DraftSplit:
		return draftKind{func(about string, who state.UserID) error { return mayChange(k, about, who) }, k.BeliefDrafts[who], BeliefDraftsLeft(k, who),
			"You cannot ask for more drafts of assumptions in this kickoff. Changing the words by hand works as before."}
	case state.DraftGist:
		takes := func(about string, _ state.UserID) error { return canSumUp(k, about) }
		return draftKind{takes, k.GistDrafts, MostGistDrafts - k.GistDrafts,
			fmt.Sprintf("Reasons were summed up %d times in this kickoff, which is the most. You can still reply in the thread yourself.", MostGistDrafts)}
	}
	return draftKind{}
}

// DraftsLeft is how often u may still ask for drafts of a kind.
func DraftsLeft(k *state.Kickoff, what string, u state.UserID) int {
	return max(0, draftsOf(k, what, u).left)
}

// DraftsTaken is how often drafts of a kind were asked for: of assumptions by
// u, and else by anybody.
func DraftsTaken(k *state.Kickoff, what string, u state.UserID) int {
	return draftsOf(k, what, u).taken
}

// DraftUseful reports whether u could still use a draft.
func DraftUseful(k *state.Kickoff, what, about string, u state.UserID) bool {
	kind := draftsOf(k, what, u)
	return kind.takes != nil && k.Stage != state.StageEnded && kind.takes(about, u) == nil
}

// AskDraft asks a machine for drafts. Only leads may ask, but for an assumption
// whoever may change it. Nothing is added to the kickoff by it but the count:
// what comes is shown to whoever asked, and to nobody else.
type AskDraft struct {
	By
	What       string
	Assumption string // that it is about; none for the ladder
}

func (i AskDraft) needs() access {
	if i.What == state.DraftLadder || i.What == state.DraftGist {
		return forLeads
	}
	return forParticipants
}

func (i AskDraft) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	kind := draftsOf(k, i.What, i.Who)
	if kind.takes == nil {
		return nil, refuse("An assumption can be put more plainly or taken apart, and nothing else.")
	}
	if err := kind.takes(i.Assumption, i.Who); err != nil {
		return nil, err
	}
	if kind.left <= 0 {
		return nil, refuse("%s", kind.spent)
	}
	return []event.Event{event.DraftsAsked{What: i.What, Assumption: i.Assumption}}, nil
}

// BeliefDraftsLeft is how often u may still ask for an assumption in other
// words. One person alone cannot use up what others may need.
func BeliefDraftsLeft(k *state.Kickoff, u state.UserID) int {
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
