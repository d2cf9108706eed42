package state

import (
	"cmp"
	"slices"

	"soundings/engine"
	"soundings/flows/lists"
)

// An Assumption is a belief on which the opportunity rests.
type Assumption struct {
	ID        string // A1, A2, …
	By        UserID // hidden until rating has closed
	Text      string
	Because   string
	JoinedTo  string   // another assumption that stands for this one
	Wordings  []string // wordings joined to this one
	Withdrawn bool
	Drafted   bool `json:",omitempty"` // its words are a machine's, unedited
	Since     int  `json:",omitempty"` // the check-in at which it is rated first; 0 for those of the kickoff
}

// A Scale is one of the two questions of a ballot.
type Scale string

// The scales.
const (
	Importance Scale = "importance"
	Evidence   Scale = "evidence"
)

// CantSay is the ballot entry of someone who cannot judge.
const CantSay = -1

// A Marking is one person's entry for one assumption: 1 to 9, CantSay, or 0
// for no answer yet.
type Marking struct {
	Importance int
	Evidence   int
	Because    string `json:",omitempty"` // what makes them think so, where the evidence is solid; see SolidEvidence
}

// SolidEvidence is the rating of evidence from which people are asked what it rests on.
const SolidEvidence = 7

// A Round is one blind pass of rating.
type Round struct {
	N       int
	IDs     []string                      // the assumptions asked
	Ballots map[UserID]map[string]Marking // what each person entered, until the last round has closed
	Camps   map[string]Camps              `json:",omitempty"` // how those rated who are apart, by assumption
	Result  *engine.Result                // set when the round closes
	Splits  []string                      // what was split at its close
	Rule    Rule                          // by which the result was made
	Partly  int                           `json:",omitempty"` // of its raters: who answered for less than half of their ballot
	Because map[string][]string           `json:",omitempty"` // on what those rest who rated the evidence as solid, by assumption, unsigned

	Sides Sides `json:",omitzero"` // where the map hangs on who rated

	Each   int                 `json:",omitempty"` // of a list that was dealt out: how many a person rates at most
	Second int                 `json:",omitempty"` // and how many contenders the second sitting has at most
	Dealt  map[UserID][]string `json:",omitempty"` // what each person was dealt, until the last round has closed
}

// A Deal is whether and how a lead wants the list dealt out.
type Deal struct {
	Chosen       bool
	Each, Second int // 0: everybody rates all
}

// Rates reports whether u is one of those who rate: everybody, but for a lead who chose
// that the others do.
func (k *Kickoff) Rates(u UserID) bool { return !slices.Contains(k.NotRating, u) }

// Raters lists those who take part now and rate.
func (k *Kickoff) Raters() []UserID { return lists.Keep(k.Participants(), k.Rates) }

// Share is what u is asked about in a round, in its order: all of it, or where it
// was dealt out what u was dealt, and whatever else they have rated.
func (r Round) Share(u UserID) []string {
	if r.Each == 0 || r.Result != nil {
		return r.IDs
	}
	return lists.Keep(r.IDs, func(id string) bool {
		return slices.Contains(r.Dealt[u], id) || lists.Has(r.Ballots[u], id)
	})
}

// Interim reports that the map of round n is that of a first sitting. Nobody is
// shown it: in the second, most rate for the first time.
func Interim(k *Kickoff, n int) bool { return n == 1 && len(k.Rounds) > 1 && k.Rounds[0].Each > 0 }

// A Rule says how a map was divided into its zones, or a result judged. The empty value of a map stands for
// the cuts at the medians alone, as maps were made at first: people decided upon
// those, so what moves on them moves by that rule.
type Rule string

// ByLean is the rule of today, see package engine.
const ByLean Rule = "lean"

// ByPlan is the rule by which results are judged today: what was planned
// beforehand decides, and before the planned number there is no verdict.
const ByPlan Rule = "plan"

// A Reason says why someone rated a split assumption as they did. By is
// empty when it was given unsigned.
type Reason struct {
	N          int
	Assumption string
	By         UserID
	Text       string
}

// A Gist says in a few words, without taking sides, what the unsigned reasons
// about a split assumption say.
type Gist struct {
	By      UserID // the lead who let it stand
	Text    string
	Drafted bool // it is a machine's draft, unedited
}

// Assumption finds an assumption by its id.
func (k *Kickoff) Assumption(id string) (Assumption, bool) {
	return lists.Find(k.Assumptions, func(a Assumption) bool { return a.ID == id })
}

// Listed are the assumptions that stand: not withdrawn, not joined to
// another.
func (k *Kickoff) Listed() []Assumption {
	return lists.Keep(k.Assumptions, func(a Assumption) bool { return !a.Withdrawn && a.JoinedTo == "" })
}

// Camps count how many rated something low, in the middle and high, on each
// scale: 1 to 3, 4 to 6, 7 to 9. Thirds show the camps, and nobody's ballot.
type Camps struct{ Importance, Evidence [3]int }

// UnsignedReasons are the texts of those reasons about an assumption that
// nobody put a name to, in the order in which they came.
func (k *Kickoff) UnsignedReasons(id string) []string {
	var out []string
	for _, r := range k.Reasons {
		if r.Assumption == id && r.By == "" {
			out = append(out, r.Text)
		}
	}
	return out
}

// ListedIDs are the ids of the assumptions that stand, in the order in which they
// were added.
func ListedIDs(k *Kickoff) []string {
	var ids []string
	for _, a := range k.Listed() {
		ids = append(ids, a.ID)
	}
	return ids
}

// Ballot is what u has entered in round n so far. In a later round it is
// only what they entered in that round.
func (k *Kickoff) Ballot(n int, u UserID) map[string]Marking {
	if n < 1 || n > len(k.Rounds) {
		return nil
	}
	return k.Rounds[n-1].Ballots[u]
}

// Map is the result of the last round that was counted, or nil.
func (k *Kickoff) Map() *engine.Result {
	if r := MappedRound(k); r != nil {
		return r.Result
	}
	return nil
}

// LatestRound is the open round, or the last one. There must be one.
func LatestRound(k *Kickoff) *Round { return &k.Rounds[len(k.Rounds)-1] }

// MappedRound is the last round that was counted, or nil.
func MappedRound(k *Kickoff) *Round {
	for i := len(k.Rounds) - 1; i >= 0; i-- {
		if k.Rounds[i].Result != nil {
			return &k.Rounds[i]
		}
	}
	return nil
}

// Scored is the figure of assumption id in the last map.
func (k *Kickoff) Scored(id string) (engine.AssumptionScore, bool) {
	m := k.Map()
	if m == nil {
		return engine.AssumptionScore{}, false
	}
	is := func(a engine.AssumptionScore) bool { return a.ID == id }
	if a, rated := lists.Find(m.Assumptions, is); rated {
		return a, true
	}
	return lists.Find(Placed(k), is)
}

// Placed are the assumptions that were laid on the map at a check-in, oldest first.
func Placed(k *Kickoff) []engine.AssumptionScore {
	var out []engine.AssumptionScore
	for _, c := range k.Underway.Checkins {
		out = append(out, c.Placed...)
	}
	return out
}

// Order lists the assumptions in test order, or as listed before any map. What
// came later stands behind the rest of its zone, and at the end before it is rated.
func (k *Kickoff) Order() []string {
	m := k.Map()
	if m == nil {
		return ListedIDs(k)
	}
	late := lists.Keep(k.Assumptions, func(a Assumption) bool { return a.Since > 0 && !a.Withdrawn })
	if len(late) == 0 {
		return m.Order
	}
	order := slices.Clone(m.Order)
	for _, a := range late {
		order = append(order, a.ID)
	}
	zones := append(m.Zones(), "")
	slices.SortStableFunc(order, func(a, b string) int {
		return cmp.Compare(slices.Index(zones, zoneOf(k, a)), slices.Index(zones, zoneOf(k, b)))
	})
	return order
}

func zoneOf(k *Kickoff, id string) engine.Zone {
	a, _ := k.Scored(id)
	return a.Zone
}
