//go:build race

package rehearsal_test

// longPlay is what is played several times over. Under the race detector
// drawing pictures takes many times longer, and one goroutine after the other
// does it, so the small scenario has to do.
const longPlay = "five.yaml"
