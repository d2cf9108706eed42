package engine

import "sync"

// Score is the map of one round of rating: the figures of every assumption on
// both scales, its zone and its place in the test order, how far that place
// hangs on who rated, and what levelling the raters would change.
//
// A table without raters or without assumptions is fine; a table whose parts
// do not fit together, or that has more than 16,383 raters, is a fault in the
// program, and panics. A large table is counted on all processors. Neither the order
// of raters nor that of assumptions changes any figure, and a rater who rated
// nothing changes only the counts. The same table, options and seed give the
// same result always.
func Score(t Table, o Options) Result {
	w := newScoring(t, o)
	w.spreads()
	w.ranks()
	w.resample()
	w.level()
	return w.result()
}

// A scoring is the work on one table. Its slices follow the natural order of
// the ids, as its sheet does.
type scoring struct {
	table  Table
	asked  int
	dealt  []Dealt
	draws  int
	seed   uint64
	sheet  *sheet
	scores []AssumptionScore
	order  []int32 // places in scores, in test order
	cut    Cut
}

func newScoring(t Table, o Options) *scoring {
	w := &scoring{table: t, asked: o.Asked, dealt: o.Dealt, draws: o.Draws, seed: o.Seed, sheet: newSheet(t)}
	if w.asked <= 0 {
		w.asked = len(t.Raters)
	}
	if w.draws <= 0 {
		w.draws = defaultDraws
	}
	for _, c := range w.sheet.columns {
		w.scores = append(w.scores, AssumptionScore{
			ID: t.IDs[c], Statement: t.statement(c),
			Top3: Undefined(), LevelledImportance: Undefined(), LevelledEvidence: Undefined(),
		})
	}
	return w
}

// spreads summarises the ratings of each assumption.
func (w *scoring) spreads() {
	importance, evidence := w.sheet.counts(0), w.sheet.counts(1)
	for i := range w.scores {
		a := &w.scores[i]
		a.Importance, a.Evidence = importance[i].Spread(), evidence[i].Spread()
		asked := w.asked
		if w.dealt != nil {
			asked, a.Dealt = w.dealt[w.sheet.columns[i]].Asked, w.dealt[w.sheet.columns[i]].Raters
		}
		a.Thin = thin(min(a.Importance.N, a.Evidence.N), asked)
	}
}

// ranks cuts the map and orders it.
func (w *scoring) ranks() {
	importance, evidence := medianReading(len(w.scores)), medianReading(len(w.scores))
	for i := range w.scores {
		importance.set(i, &w.scores[i].Importance)
		evidence.set(i, &w.scores[i].Evidence)
	}
	m := newArranger(importance, evidence, w.doubtful())
	m.arrange()
	w.order = m.order
	for rank, i := range m.order[:m.rated] {
		a := &w.scores[i]
		a.Rank, a.Layer, a.Zone = Place(rank+1), Place(m.layer(i)+1), zones[m.zone(i)]
		a.Known = a.Evidence.Median >= upperThird && m.doubt[i] == 0
	}
	w.cut = w.middle(m.order[:m.rated])
}

// set reads an item off the spread of its ratings.
func (r *reading) set(item int, s *Spread) {
	if s.N > 0 {
		r.level[item] = int32(2 * s.Median)
		r.fine[item] = fineLevel(r.level[item], float64(s.Lean))
	}
}

// doubtful tells whose evidence nobody can lean on.
func (w *scoring) doubtful() []bool {
	doubtful := make([]bool, len(w.scores))
	for i := range w.scores {
		a := &w.scores[i]
		doubtful[i] = a.Thin || a.Evidence.Agreement == Split
	}
	return doubtful
}

// middle is the median of the medians of the given assumptions.
func (w *scoring) middle(ranked []int32) Cut {
	var importance, evidence []float64
	for _, i := range ranked {
		importance = append(importance, float64(w.scores[i].Importance.Median))
		evidence = append(evidence, float64(w.scores[i].Evidence.Median))
	}
	return Cut{Importance: median(importance), Evidence: median(evidence)}
}

// drawn resamples the raters, and gives the places of those assumptions that are
// on the map: no draw could rate the others.
func (w *scoring) drawn() (shares *rankShares, ranked []int) {
	var doubtful []bool
	for i, doubt := range w.doubtful() {
		if w.scores[i].Rank != 0 {
			ranked, doubtful = append(ranked, i), append(doubtful, doubt)
		}
	}
	if len(ranked) == 0 {
		return nil, nil
	}
	return newResampler(w.sheet, ranked, doubtful, w.seed).resample(w.draws), ranked
}

// resample finds how far each rank hangs on who rated.
func (w *scoring) resample() {
	shares, ranked := w.drawn()
	for item, i := range ranked {
		a := &w.scores[i]
		a.Top3 = shares.top(3, item)
		a.RankLow, a.RankHigh = shares.point(5, item), shares.point(95, item)
	}
}

// level orders the assumptions again by their values without generous and
// strict raters.
func (w *scoring) level() {
	var polished [2]Polish
	eachScale(func(scale int) { polished[scale] = MedianPolish(w.sheet.values(scale)) })
	importance, evidence := &polished[0], &polished[1]
	x, y := undefined(len(w.scores)), undefined(len(w.scores))
	for c := range importance.Columns {
		x[c], y[c] = importance.Levelled(c), evidence.Levelled(c)
		w.scores[c].LevelledImportance, w.scores[c].LevelledEvidence = x[c], y[c]
	}
	m := newArranger(readingOf(x), readingOf(y), w.doubtful())
	m.arrange()
	for rank, i := range m.order[:m.rated] {
		w.scores[i].LevelledRank = Place(rank + 1)
	}
}

// eachScale works on both scales at the same time.
func eachScale(work func(scale int)) {
	var both sync.WaitGroup
	both.Go(func() { work(1) })
	work(0)
	both.Wait()
}

func undefined(n int) []Figure {
	values := make([]Figure, n)
	for i := range values {
		values[i] = Undefined()
	}
	return values
}

// concord is Kendall's W on one scale. Raters who are not on the sheet turned
// in an incomplete ballot too.
func (w *scoring) concord(scale int) Concordance {
	c := Kendall(w.sheet.values(scale))
	if c.LeftOut > 0 {
		all, ballots := concordGaps(w.sheet.scales[scale])
		c.WAll, c.BallotsAll = Figure(all), ballots
	}
	c.LeftOut += len(w.table.Raters) - w.sheet.raters()
	return c
}

// result gives the assumptions back in the order of the table.
func (w *scoring) result() Result {
	var concordance [2]Concordance
	eachScale(func(scale int) { concordance[scale] = w.concord(scale) })
	r := Result{
		Raters:      len(w.table.Raters),
		Assumptions: make([]AssumptionScore, len(w.scores)),
		Cut:         w.cut,
		Concordance: Concordances{Importance: concordance[0], Evidence: concordance[1]},
		Order:       make([]string, len(w.scores)),
		Flat:        Flat{Importance: w.sheet.flat(0), Evidence: w.sheet.flat(1)},
	}
	for i, c := range w.sheet.columns {
		r.Assumptions[c] = w.scores[i]
	}
	for rank, i := range w.order {
		r.Order[rank] = w.scores[i].ID
	}
	return r
}
