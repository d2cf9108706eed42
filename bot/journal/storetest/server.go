package storetest

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// startWithin is how long a server may take to start; a busy machine needs a
// few hundred milliseconds.
const startWithin = 20 * time.Second

// Server starts a redis-server that keeps nothing on disk, and returns its
// URL. It skips the test where there is none.
func Server(t testing.TB) string {
	t.Helper()
	port := start(t, "Ready to accept connections")
	return fmt.Sprintf("redis://127.0.0.1:%d/0", port)
}

// Durable starts a redis-server that has written each command to disk before
// it answers, as where nothing acknowledged may be lost, and returns its URL.
// It skips the test where there is none.
func Durable(t testing.TB) string {
	t.Helper()
	port := start(t, "Ready to accept connections", "appendonly yes", "appendfsync always")
	return fmt.Sprintf("redis://127.0.0.1:%d/0", port)
}

// On is Durable on a folder that holds what another server left.
func On(t testing.TB, folder string) string {
	t.Helper()
	port := start(t, "Ready to accept connections", "appendonly yes", "appendfsync always", fmt.Sprintf("dir %q", folder))
	return fmt.Sprintf("redis://127.0.0.1:%d/0", port)
}

// Version names the redis-server on PATH, as "redis-server 7.0.15".
func Version(t testing.TB) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), program(t), "--version").Output()
	require.NoError(t, err, "ask redis-server for its version")
	_, rest, _ := strings.Cut(string(out), "v=")
	version, _, _ := strings.Cut(rest, " ")
	return "redis-server " + version
}

// program finds redis-server, or skips the test, or fails it where Redis is
// required.
func program(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("redis-server")
	if err == nil {
		return path
	}
	if os.Getenv("SOUNDINGS_REQUIRE_REDIS") == "1" {
		t.Fatal("redis-server is not on PATH, and SOUNDINGS_REQUIRE_REDIS=1 asks for it: install it, or unset the variable")
	}
	t.Skip("store: none, redis-server is not on PATH")
	return ""
}

// start runs redis-server on a free port until the test ends, and returns the
// port once the server has printed ready. settings add to its configuration.
func start(t testing.TB, ready string, settings ...string) int {
	t.Helper()
	path := program(t)
	var err error
	for range 5 { // somebody else may have the port
		port := 20000 + rand.IntN(30000) // with room above it for the bus that a cluster opens at port+10000
		if err = launch(t, path, port, ready, settings); err == nil {
			return port
		}
	}
	require.NoError(t, err, "start redis-server")
	return 0
}

// launch starts the server and waits for it; the test's end stops it.
func launch(t testing.TB, path string, port int, ready string, settings []string) error {
	t.Helper()
	dir, args := t.TempDir(), []string{"redis.conf"}
	config := append([]string{"bind 127.0.0.1", fmt.Sprintf("port %d", port), "daemonize no", `logfile ""`, `save ""`, "appendonly no"}, settings...)
	require.NoError(t, os.WriteFile(filepath.Join(dir, args[0]), []byte(strings.Join(config, "\n")+"\n"), 0o600))
	if len(settings) > 0 && strings.HasPrefix(settings[0], "sentinel ") {
		args = append(args, "--sentinel")
	}
	cmd := exec.Command(path, args...)
	cmd.Dir = dir
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	kill := func() { _ = cmd.Process.Signal(syscall.SIGKILL) } // nothing is to be kept
	late := time.AfterFunc(startWithin, kill)
	defer late.Stop()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if !strings.Contains(lines.Text(), ready) {
			continue
		}
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			_, _ = io.Copy(io.Discard, out) // so that it never blocks on a full pipe
		}()
		t.Cleanup(func() {
			kill()
			select {
			case <-ended: // also what it forked, which may have been writing a file
			case <-time.After(startWithin):
			}
			_ = cmd.Wait() // killed, as asked
		})
		return nil
	}
	kill()
	_ = cmd.Wait()
	return fmt.Errorf("it stopped, or was not ready within %v; is the port taken?", startWithin)
}
