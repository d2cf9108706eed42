package state

// What drafts can be of.
const (
	DraftLadder  = "ladder"  // wordings above and below the problem statement
	DraftPlainer = "plainer" // one assumption in plainer words
	DraftSplit   = "split"   // the beliefs in one assumption, each by itself
	DraftGist    = "gist"    // what the unsigned reasons under a split say
)
