package words

import (
	"fmt"
	"strings"

	"soundings/engine"
)

// How sure a map is, in words; the figures behind them stand in the files.

// A place among the first three is safe when nearly all draws of the raters
// agree on it, and open to others when more than a few do not (common practice,
// no source).
const (
	safeShare = 0.9
	openShare = 0.1
)

// FirmNote says what FirmText rests on.
const FirmNote = "That is a hint and no promise: we tried many times what the order would be if chance chose whose ratings count."

// FirmText says how firmly the first three stand at the top: "A1 is safely
// among the first three; A4 and A6 could change places." It is empty where three
// are all there is.
func FirmText(r engine.Result) string {
	const top = 3
	var safe, open []string
	ranked := 0
	scores := map[string]engine.AssumptionScore{}
	for _, a := range r.Assumptions {
		scores[a.ID] = a
	}
	for _, id := range r.Order {
		a := scores[id]
		if a.Rank == 0 || !a.Top3.Defined() {
			continue
		}
		ranked++
		switch {
		case a.Rank <= top && a.Top3 >= safeShare:
			safe = append(safe, id)
		case a.Rank <= top || a.Top3 > openShare:
			open = append(open, id)
		}
	}
	switch {
	case ranked <= top:
		return ""
	case len(safe) == top:
		return fmt.Sprintf("%s are safely the first three.", And(safe, top))
	case len(safe) == 0:
		return fmt.Sprintf("None of the first three is safe: %s could change places.", And(open, 8))
	case len(safe) == 1:
		return fmt.Sprintf("%s is safely among the first three; %s could change places.", safe[0], And(open, 8))
	}
	return fmt.Sprintf("%s are safely among the first three; %s could change places.", And(safe, top), And(open, 8))
}

// And joins words as a sentence does: "A1, A2 and A3".
func And(words []string, most int) string {
	if len(words) < 2 || len(words) > most {
		return Listed(words, most)
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// StrictText says what would join those that come first if nobody rated more
// strictly or generously than the others. It is empty where nothing would.
func StrictText(r engine.Result) string {
	first := engine.Place(min(max(1, len(InZone(r, engine.TestFirst))), firstAtOnce))
	var joining []string
	for _, a := range r.Assumptions {
		if a.Rank > first && a.LevelledRank > 0 && a.LevelledRank <= first {
			joining = append(joining, a.ID)
		}
	}
	among := "comes first"
	switch {
	case len(joining) == 0:
		return ""
	case len(joining) > 1:
		among = fmt.Sprintf("join the first %d", first)
	case first > 1:
		among = fmt.Sprintf("joins the first %d", first)
	}
	return fmt.Sprintf("If we allow for strict and generous raters, %s %s: talk about it.", And(joining, 8), among)
}

// FlatText counts the ballots that put hardly anything before anything else, and
// names nobody. It is empty where there is none.
func FlatText(r engine.Result) string {
	var parts []string
	for _, s := range []struct {
		scale string
		n     int
	}{{"importance", r.Flat.Importance}, {"evidence", r.Flat.Evidence}} {
		if s.n > 0 {
			parts = append(parts, fmt.Sprintf("%d of %d on %s", s.n, r.Raters, s.scale))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Some gave nearly everything the same number: " + And(parts, 2) + ". Such ballots count, and say little of the order."
}

// AgreementText says how far the group as a whole agrees on the order. The
// figure behind it, Kendall's W, stands in kickoff.json. The words follow Schmidt R.C. (1997), Decision
// Sciences 28(3), 763-774, from memory: 0.3 weak, 0.5 moderate, 0.7 strong. It is
// empty where there is no figure.
func AgreementText(c engine.Concordances) string {
	var parts []string
	for _, s := range []struct {
		name string
		c    engine.Concordance
	}{{"importance", c.Importance}, {"evidence", c.Evidence}} {
		w, ballots := concordText(s.c)
		if !w.Defined() {
			continue
		}
		parts = append(parts, fmt.Sprintf("%s on %s (%s)", Agreeing(w), s.name, ballots))
	}
	if len(parts) == 0 {
		return ""
	}
	return "On the order of all of them people " + strings.Join(parts, ", and ") + "."
}

// concordText is the W that is told, and over which ballots: those with gaps
// count, except in rounds that were counted without them.
func concordText(c engine.Concordance) (engine.Figure, string) {
	if c.BallotsAll <= c.Ballots {
		ballots := Count(c.Ballots, "complete ballot", "complete ballots")
		if c.LeftOut > 0 {
			ballots += fmt.Sprintf(", %d left out", c.LeftOut)
		}
		return c.W, ballots
	}
	return c.WAll, fmt.Sprintf("%s, %d with gaps", Count(c.BallotsAll, "ballot", "ballots"), c.BallotsAll-c.Ballots)
}

// Agreeing is the word for a W.
func Agreeing(w engine.Figure) string {
	switch {
	case w >= 0.7:
		return "largely agree"
	case w >= 0.5:
		return "agree in part"
	case w >= 0.3:
		return "agree a little"
	}
	return "hardly agree"
}

// doubts say why evidence does not count, whatever its median.
var doubts = map[engine.Doubt]string{
	engine.DoubtSplit: "people are split on the evidence",
	engine.DoubtThin:  "too few have rated it",
}

// DoubtText says what alone makes a stand where it does: "“test first” since people
// are split on the evidence." It is empty where the medians do.
func DoubtText(r engine.Result, a engine.AssumptionScore) string {
	doubt := r.DoubtAlone(a, a.Evidence)
	if doubt == "" {
		return ""
	}
	return fmt.Sprintf("“%s” since %s.", SentenceCase(ZoneText(a.Zone)), doubts[doubt])
}

// CantSayText says how many of the raters could not judge an assumption: "4 of
// 9 can't say." It is empty where all could.
func CantSayText(a engine.AssumptionScore, raters int) string {
	if a.Dealt > 0 { // nobody else was asked
		raters = a.Dealt
	}
	importance, evidence := raters-a.Importance.N, raters-a.Evidence.N
	switch {
	case importance <= 0 && evidence <= 0:
		return ""
	case importance == evidence:
		return fmt.Sprintf("%d of %d can't say.", evidence, raters)
	case importance <= 0:
		return fmt.Sprintf("On evidence %d of %d can't say.", evidence, raters)
	case evidence <= 0:
		return fmt.Sprintf("On importance %d of %d can't say.", importance, raters)
	}
	return fmt.Sprintf("On importance %d of %d can't say, on evidence %d.", importance, raters, evidence)
}
