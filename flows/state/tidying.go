package state

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/lists"
)

// Tidying is what stands out on the list of assumptions once it has closed, and what
// became of it before the list is rated.
type Tidying struct {
	Until   time.Time // when it ends, though a lead has not looked at everything
	Remarks []Remark
	Left    []LeftAsIs `json:",omitempty"` // what was left as it is, this time or before

	Asked map[UserID]time.Time  `json:",omitempty"` // who was asked which assumptions say the same, and until when
	Found map[UserID][][]string `json:",omitempty"` // what they found: pairs, or none
}

// OwesAlike reports whether u was asked which assumptions say the same, and has not said it.
func OwesAlike(k *Kickoff, u UserID) bool {
	tidied := k.Stage == StageTidying || k.Stage == StageAssumptions
	return tidied && lists.Has(k.Tidying.Asked, u) && !lists.Has(k.Tidying.Found, u) && k.Takes(u)
}

// OwingAlike lists them.
func OwingAlike(k *Kickoff) []UserID {
	return lists.Keep(k.Participants(), func(u UserID) bool { return OwesAlike(k, u) })
}

// FoundAlike lists the pairs that somebody found to say the same and that are both on the
// list still, each once and in the order of the list.
func FoundAlike(k *Kickoff) [][]string {
	listed := ListedIDs(k)
	var all [][]string
	for _, pairs := range k.Tidying.Found {
		for _, pair := range pairs {
			known := slices.ContainsFunc(all, func(o []string) bool { return slices.Equal(o, pair) })
			if !known && slices.Contains(listed, pair[0]) && slices.Contains(listed, pair[1]) {
				all = append(all, pair)
			}
		}
	}
	slices.SortFunc(all, func(a, b []string) int {
		return cmp.Or(cmp.Compare(slices.Index(listed, a[0]), slices.Index(listed, b[0])), cmp.Compare(slices.Index(listed, a[1]), slices.Index(listed, b[1])))
	})
	return all
}

// LeftAsIs is what a remark was about that was left as it is, in the words of then. It
// does not stand out again in the same words.
type LeftAsIs struct{ About, Texts []string }

// HasLeft reports whether a remark about these assumptions was left in the words that
// they have now.
func HasLeft(k *Kickoff, about []string) bool {
	texts := TextsOf(k, about)
	return slices.ContainsFunc(k.Tidying.Left, func(l LeftAsIs) bool { return slices.Equal(l.About, about) && slices.Equal(l.Texts, texts) })
}

// TextsOf are the words of assumptions.
func TextsOf(k *Kickoff, ids []string) []string {
	texts := make([]string, len(ids))
	for i, id := range ids {
		a, _ := k.Assumption(id)
		texts[i] = a.Text
	}
	return texts
}

// A Remark is about something on the list that may be hard to rate: one assumption, or two
// that look alike.
type Remark struct {
	About   []string
	Settled bool      // it was mended, or stays as it is
	Word    string    `json:",omitempty"` // a lead's, with which it went back to whoever wrote it
	Until   time.Time `json:",omitzero"`  // until when they may answer; zero: it did not go back
}

// Waits reports whether a remark waits for whoever wrote the assumption.
func (f Remark) Waits() bool { return !f.Settled && !f.Until.IsZero() }

// Unseen numbers the remarks, from 1, that a lead has done nothing about.
func (t Tidying) Unseen() []int {
	return t.which(func(f Remark) bool { return !f.Settled && f.Until.IsZero() })
}

// Standing numbers the remarks, from 1, of which nothing has come yet.
func (t Tidying) Standing() []int {
	return t.which(func(f Remark) bool { return !f.Settled })
}

func (t Tidying) which(is func(Remark) bool) []int {
	var all []int
	for i, f := range t.Remarks {
		if is(f) {
			all = append(all, i+1)
		}
	}
	return all
}

// SentBack is the remark about an assumption that waits for whoever wrote it.
func SentBack(k *Kickoff, id string) (Remark, bool) {
	if k.Stage != StageTidying {
		return Remark{}, false
	}
	at := slices.IndexFunc(k.Tidying.Remarks, func(f Remark) bool { return f.Waits() && slices.Contains(f.About, id) })
	if at < 0 {
		return Remark{}, false
	}
	return k.Tidying.Remarks[at], true
}
