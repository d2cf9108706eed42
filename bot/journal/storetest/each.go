package storetest

import (
	"fmt"
	"os"
	"os/exec"
	"sync"
	"testing"

	"soundings/bot/journal"

	"github.com/redis/go-redis/v9"
)

// Each runs fn as a subtest on every store there is, with a client of an
// empty store. The log says which store it is.
func Each(t *testing.T, fn func(t *testing.T, name string, rdb redis.UniversalClient)) {
	t.Helper()
	EachURL(t, func(t *testing.T, name, url string) {
		fn(t, name, Client(t, url))
	})
}

// EachURL runs fn as a subtest on every store there is, with the URL of an
// empty store, in a form that journal.Open takes.
func EachURL(t *testing.T, fn func(t *testing.T, name, url string)) {
	t.Helper()
	t.Run("embedded", func(t *testing.T) {
		url := Embedded(t)
		tell(t, "store: embedded")
		fn(t, "embedded", url)
	})
	t.Run("redis", func(t *testing.T) {
		url := Server(t)
		tell(t, "store: "+Version(t))
		fn(t, "redis", url)
	})
}

// told holds what this process has printed already. It changes nothing but
// what is printed.
var told sync.Map

// tell logs a line, and prints it once in a process: the log of a test that
// passes is shown with -v only.
func tell(t testing.TB, line string) {
	t.Helper()
	t.Log(line)
	if _, again := told.LoadOrStore(line, true); !again {
		fmt.Println(line)
	}
}

// Embedded starts the embedded store and returns its URL.
func Embedded(t testing.TB) string {
	t.Helper()
	url, stop, err := journal.StartEmbedded()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	return url
}

// Client connects to a store by its URL.
func Client(t testing.TB, url string) redis.UniversalClient {
	t.Helper()
	rdb, err := journal.Open(t.Context(), "the store under test", url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := rdb.Close(); err != nil {
			t.Errorf("close the client: %v", err)
		}
	})
	return rdb
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
