package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// waiting is an output that tells when an address has been printed.
type waiting struct{ address chan string }

func (w waiting) Write(p []byte) (int, error) {
	if found := regexp.MustCompile(`http://\S+`).Find(p); found != nil {
		w.address <- string(found)
	}
	return len(p), nil
}

// The page is there until it is interrupted, which is a good end.
func TestRoomOpensAndCloses(t *testing.T) {
	t.Parallel()
	ctx, interrupt := context.WithCancel(t.Context())
	defer interrupt()
	out, code := waiting{make(chan string, 1)}, make(chan int, 1)
	var errors bytes.Buffer
	go func() { code <- run(ctx, []string{"rehearse", "--listen", "127.0.0.1:0"}, nil, nil, out, &errors) }()
	resp, err := http.Get(<-out.address)
	require.NoError(t, err)
	body, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	_ = resp.Body.Close()
	assert.Contains(t, string(body), "Let the others act", "the page shows:\n%s", body)
	interrupt()
	got := <-code
	assert.Equal(t, exitGood, got, "got exit %d, stderr %q; want 0 and nothing", got, errors.String())
	assert.LessOrEqual(t, errors.Len(), 0, "got exit %d, stderr %q; want 0 and nothing", got, errors.String())
}
