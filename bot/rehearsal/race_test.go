//go:build race

package rehearsal_test

// raced says that the race detector is on, and everything several times
// slower: what one goroutine does after the other is played less often then.
const raced = true
