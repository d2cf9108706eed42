package engine

// A Rating is a whole number from 1 to 9. Zero means "can't say" or no answer.
type Rating int8

// A Table holds the ratings of one round. Importance and Evidence are indexed
// by rater, then by assumption.
type Table struct {
	Raters     []string
	IDs        []string
	Statements []string
	Importance [][]Rating
	Evidence   [][]Rating
}

// Options steer Score. The zero value is ready to use.
type Options struct {
	Asked int    // people asked to rate; 0 means the raters in the table
	Seed  uint64 // seed of the resampling
	Draws int    // resamples; 0 means 2,000
}
