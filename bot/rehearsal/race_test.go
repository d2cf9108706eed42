//go:build race

package rehearsal_test

// raced says that everything is several times slower: the race detector is on.
const raced = true
