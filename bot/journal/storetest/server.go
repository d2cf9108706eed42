package storetest

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
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

// Version names the redis-server on PATH, as "redis-server 7.0.15".
func Version(t testing.TB) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), program(t), "--version").Output()
	if err != nil {
		t.Fatalf("ask redis-server for its version: %v", err)
	}
	_, rest, _ := strings.Cut(string(out), "v=")
	version, _, _ := strings.Cut(rest, " ")
	return "redis-server " + version
}

// start runs redis-server on a free port until the test ends, and returns the
// port once the server has printed ready. settings are its configuration,
// where PORT stands for the port; a first one of "--sentinel" is a flag.
func start(t testing.TB, ready string, settings ...string) int {
	t.Helper()
	path := program(t)
	var err error
	// Between choosing a port and binding it, somebody else may take it.
	for range 5 {
		port := freePort(t)
		if err = launch(t, path, port, ready, settings); err == nil {
			return port
		}
	}
	t.Fatalf("start redis-server: %v", err)
	return 0
}

// freePort returns a port that nobody uses, with room above it for the bus
// that a cluster opens at port+10000.
func freePort(t testing.TB) int {
	t.Helper()
	for range 50 {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		port := l.Addr().(*net.TCPAddr).Port
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		if port < 55536 {
			return port
		}
	}
	t.Fatal("no free port below 55536")
	return 0
}

// launch starts the server and waits for it; the test's end stops it.
func launch(t testing.TB, path string, port int, ready string, settings []string) error {
	t.Helper()
	dir := t.TempDir()
	config := filepath.Join(dir, "redis.conf")
	text := configuration(port, settings)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{config}
	if len(settings) > 0 && settings[0] == "--sentinel" {
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
		go io.Copy(io.Discard, out) // so that it never blocks on a full pipe
		t.Cleanup(func() {
			kill()
			_ = cmd.Wait() // killed, as asked
		})
		return nil
	}
	kill()
	_ = cmd.Wait()
	return fmt.Errorf("it stopped, or was not ready within %v; is the port taken?", startWithin)
}

// configuration writes the file that the server reads.
func configuration(port int, settings []string) string {
	lines := []string{"bind 127.0.0.1", "port PORT", "daemonize no", `logfile ""`}
	if len(settings) > 0 && settings[0] == "--sentinel" {
		settings = settings[1:]
	} else {
		lines = append(lines, `save ""`, "appendonly no")
	}
	text := strings.Join(append(lines, settings...), "\n") + "\n"
	return strings.ReplaceAll(text, "PORT", strconv.Itoa(port))
}
