package journal

import (
	"fmt"

	"github.com/alicebob/miniredis/v2"
)

// StartEmbedded starts a store inside this process, on a free port of the
// loopback interface, for rehearsals and tests. It keeps everything in memory
// and forgets it at stop. Its URL is for Open.
func StartEmbedded() (url string, stop func(), err error) {
	server, err := miniredis.Run()
	if err != nil {
		return "", nil, fmt.Errorf("start the embedded store: %w", err)
	}
	return "redis://" + server.Addr() + "/0", server.Close, nil
}
