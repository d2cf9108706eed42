//go:build race

package bot_test

// Under the race detector everything is several times slower, drawing the
// pictures above all, and most of this is done by one goroutine after the
// other, where it finds nothing: so only some is tried.
const (
	crashEvery   = 7 // steps
	wrongEvery   = 5 // presses
	scenesPlayed = 4 // the pictures come after these
)
