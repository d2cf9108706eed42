//go:build !race

package rehearsal_test

const raced = false
