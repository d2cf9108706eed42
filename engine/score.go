package engine

import "encoding/json"

// An Agreement says in one word how far apart the ratings of one assumption
// on one scale are.
type Agreement string

// The agreements, from near to far. The empty value stands for no ratings.
const (
	Close Agreement = "close"
	Mixed Agreement = "mixed"
	Split Agreement = "split"
)

// A Zone says what an assumption's place on the map asks for.
type Zone string

// The zones, in test order. The empty value stands for an assumption that
// could not be ranked.
const (
	TestFirst Zone = "test-first" // important, little evidence
	Next      Zone = "next"       // important, better known than the first group
	Watch     Zone = "watch"      // less important, little evidence
	Later     Zone = "later"      // all others
)

// The zones of maps that were cut at their medians alone, see [Cut.Zone]. Such
// maps stay as people saw them; none is made any more.
const (
	RelyOn Zone = "rely-on"
	Leave  Zone = "leave"
)

// A Spread summarises the ratings of one assumption on one scale. Its figures
// are on the scale of the ratings, 1 to 9, and undefined without ratings.
type Spread struct {
	N      int    `json:"n"` // ratings, without those who could not say
	Median Figure `json:"median"`
	Q1     Figure `json:"q1"`   // lower quartile; all quantiles are of type 7
	Q3     Figure `json:"q3"`   // upper quartile
	Lean   Figure `json:"lean"` // share of ratings above the median less the share below, -1 to 1
	IQR    Figure `json:"iqr"`

	// The disagreement index of the RAND/UCLA manual: the 30th and the 70th
	// percentile, and how far apart they may lie, 2.35 + 1.5·|5 - their mean|.
	IPRLow       Figure `json:"ipr_low"`
	IPRHigh      Figure `json:"ipr_high"`
	IPRAS        Figure `json:"ipras"`
	Disagreement bool   `json:"disagreement"` // they lie further apart

	// Agreement is split on disagreement or when IQR > 4, close when
	// IQR <= 2, else mixed.
	Agreement Agreement `json:"agreement"`
}

// An AssumptionScore is everything that the ratings say of one assumption. One
// without any rating on one of the scales is off the map: it has no zone and no
// rank, and stands last in the order.
type AssumptionScore struct {
	ID         string `json:"id"`
	Statement  string `json:"statement"`
	Importance Spread `json:"importance"`
	Evidence   Spread `json:"evidence"`
	Zone       Zone   `json:"zone"`
	Known      bool   `json:"known"` // the evidence median is 6.5 or more, neither split nor thin
	Layer      Place  `json:"layer"` // the non-dominated layer within its zone
	Rank       Place  `json:"rank"`  // the place in the test order

	// What resampling the raters says of the rank: the share of resamples in
	// which it is 1, 2 or 3, and its 5% and 95% points. It is a share of
	// resamples, never a confidence: where assumptions nearly tie, resampling
	// says little of their true order.
	Top3     Figure `json:"top3"`
	RankLow  Place  `json:"rank_low"`
	RankHigh Place  `json:"rank_high"`

	// The same without generous and strict raters, by median polish.
	LevelledImportance Figure `json:"levelled_importance"`
	LevelledEvidence   Figure `json:"levelled_evidence"`
	LevelledRank       Place  `json:"levelled_rank"`

	// Thin marks figures not to lean on: on either scale there are fewer than
	// 3 ratings, or fewer than half of those asked about it.
	Thin bool `json:"thin"`

	// Dealt is how many of the raters were asked about it, where ballots were
	// dealt out; 0 where all were.
	Dealt int `json:"dealt,omitempty"`
}

// A Cut holds the medians of the medians of the rated assumptions: where the
// lines of the map are drawn. They are not all that tells its zones apart: see
// the package's comment.
type Cut struct {
	Importance Figure `json:"importance"`
	Evidence   Figure `json:"evidence"`
}

// A Concordance is Kendall's W of a group on one scale, over the ballots that
// rate every assumption. See [Kendall].
type Concordance struct {
	W       Figure `json:"w"`        // 0 (no common order) to 1 (the same order)
	Chi2    Figure `json:"chi2"`     // Friedman's statistic
	DF      int    `json:"df"`       // degrees of freedom: assumptions - 1
	P       Figure `json:"p"`        // the chance of such a W, or a higher one, without any common order
	Ballots int    `json:"ballots"`  // complete ones
	LeftOut int    `json:"left_out"` // incomplete ones

	// WAll is W over ballots with gaps as well: W itself where none has a gap,
	// else a published extension of it, see concordGaps. BallotsAll is 0 in
	// rounds that were counted before there was such a figure.
	WAll       Figure `json:"w_all"`
	BallotsAll int    `json:"ballots_all"` // with two ratings or more
}

// UnmarshalJSON leaves what is not there undefined: rounds are kept for ever.
func (c *Concordance) UnmarshalJSON(data []byte) error {
	type plain Concordance
	read := plain{WAll: Undefined()}
	err := json.Unmarshal(data, &read)
	*c = Concordance(read)
	return err
}

// Concordances holds the concordance on each scale.
type Concordances struct {
	Importance Concordance `json:"importance"`
	Evidence   Concordance `json:"evidence"`
}

// A Result is the map of one round of rating: its figures, its zones and its
// test order.
type Result struct {
	Raters      int               `json:"raters"`
	Assumptions []AssumptionScore `json:"assumptions"`
	Cut         Cut               `json:"cut"`
	Concordance Concordances      `json:"concordance"`
	Order       []string          `json:"order"`
}
