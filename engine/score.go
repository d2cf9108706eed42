package engine

// An Agreement says in one word how far apart the ratings of one assumption
// on one scale are.
type Agreement string

// The agreements, from near to far. The empty value stands for no ratings.
const (
	Close Agreement = "close"
	Mixed Agreement = "mixed"
	Split Agreement = "split"
)

// A Zone is the quarter of the map in which an assumption lies.
type Zone string

// The zones, in test order. The empty value stands for an assumption that
// could not be ranked.
const (
	TestFirst Zone = "test-first" // important, little evidence
	RelyOn    Zone = "rely-on"    // important, much evidence
	Watch     Zone = "watch"      // less important, little evidence
	Leave     Zone = "leave"      // less important, much evidence
)

// A Spread summarises the ratings of one assumption on one scale.
type Spread struct {
	N            int       `json:"n"`
	Median       Figure    `json:"median"`
	Q1           Figure    `json:"q1"`
	Q3           Figure    `json:"q3"`
	IQR          Figure    `json:"iqr"`
	IPRLow       Figure    `json:"ipr_low"`
	IPRHigh      Figure    `json:"ipr_high"`
	IPRAS        Figure    `json:"ipras"`
	Disagreement bool      `json:"disagreement"`
	Agreement    Agreement `json:"agreement"`
}

// An AssumptionScore is everything that the ratings say of one assumption.
type AssumptionScore struct {
	ID                 string `json:"id"`
	Statement          string `json:"statement"`
	Importance         Spread `json:"importance"`
	Evidence           Spread `json:"evidence"`
	Zone               Zone   `json:"zone"`
	Layer              Place  `json:"layer"`
	Rank               Place  `json:"rank"`
	Top3               Figure `json:"top3"`
	RankLow            Place  `json:"rank_low"`
	RankHigh           Place  `json:"rank_high"`
	LevelledImportance Figure `json:"levelled_importance"`
	LevelledEvidence   Figure `json:"levelled_evidence"`
	LevelledRank       Place  `json:"levelled_rank"`
	Thin               bool   `json:"thin"`
}

// A Cut holds the two values that divide the map into its zones.
type Cut struct {
	Importance Figure `json:"importance"`
	Evidence   Figure `json:"evidence"`
}

// A Concordance is Kendall's W of a group on one scale, over the ballots that
// rate every assumption.
type Concordance struct {
	W       Figure `json:"w"`
	Chi2    Figure `json:"chi2"`
	DF      int    `json:"df"`
	P       Figure `json:"p"`
	Ballots int    `json:"ballots"`
	LeftOut int    `json:"left_out"`
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
