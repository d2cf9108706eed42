//go:build !race

package bot_test

// Without the race detector, everything is tried.
const (
	crashEvery   = 1
	wrongEvery   = 1
	scenesPlayed = 9
)
