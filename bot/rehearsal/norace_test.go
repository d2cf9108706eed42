//go:build !race

package rehearsal_test

// longPlay is what is played several times over.
const longPlay = "ferry.yaml"
