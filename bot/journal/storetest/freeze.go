package storetest

import (
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Freeze stops the redis-server at url, which this package has started: it keeps
// its connections, takes new ones and answers nothing, as a machine does that
// swaps or a disk that hangs. thaw lets it go on; so does the test's end.
func Freeze(t testing.TB, url string) (thaw func()) {
	t.Helper()
	pid := processOf(t, url)
	require.NoError(t, syscall.Kill(pid, syscall.SIGSTOP))
	thaw = func() { _ = syscall.Kill(pid, syscall.SIGCONT) } // it may be gone
	t.Cleanup(thaw)
	time.Sleep(50 * time.Millisecond) // until it has stopped
	return thaw
}

// Kill ends the redis-server at url, which this package has started, as a power
// cut does.
func Kill(t testing.TB, url string) {
	t.Helper()
	require.NoError(t, syscall.Kill(processOf(t, url), syscall.SIGKILL))
}

func processOf(t testing.TB, url string) (pid int) {
	t.Helper()
	about, err := Client(t, url).Info(t.Context(), "server").Result()
	require.NoError(t, err)
	_, rest, _ := strings.Cut(about, "process_id:")
	pid, err = strconv.Atoi(strings.Fields(rest)[0])
	require.NoError(t, err, "the process of the redis-server")
	return pid
}
