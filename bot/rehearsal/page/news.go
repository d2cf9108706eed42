package page

import (
	"fmt"
	"net/http"
	"sync"
	"time"
)

// news tells every open page that something has changed. A page that is busy
// hears of many changes as one.
type news struct {
	mu   sync.Mutex
	to   map[chan struct{}]bool
	told int
}

func newNews() *news { return &news{to: map[chan struct{}]bool{}} }

func (n *news) tell() {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.told++
	for c := range n.to {
		select {
		case c <- struct{}{}:
		default: // it has not looked yet at what it was told before
		}
	}
}

func (n *news) follow() (c chan struct{}, leave func()) {
	c = make(chan struct{}, 1)
	n.mu.Lock()
	defer n.mu.Unlock()
	n.to[c] = true
	return c, func() {
		n.mu.Lock()
		defer n.mu.Unlock()
		delete(n.to, c)
	}
}

// keepAlive is how often a quiet stream says that it is still there.
const keepAlive = 20 * time.Second

// serveNews is a stream of server-sent events without content: the page asks
// for itself again at each.
func (p *Page) serveNews(w http.ResponseWriter, r *http.Request) {
	flush, ok := w.(http.Flusher)
	if !ok {
		http.Error(w, "this server cannot stream", http.StatusInternalServerError)
		return
	}
	changed, leave := p.news.follow()
	defer leave()
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	line := "retry: 2000\n\n"
	quiet := time.NewTicker(keepAlive)
	defer quiet.Stop()
	for {
		if _, err := fmt.Fprint(w, line); err != nil {
			return
		}
		flush.Flush()
		select {
		case <-changed:
			line = "data: changed\n\n"
		case <-quiet.C:
			line = ": still here\n\n"
		case <-r.Context().Done():
			return
		case <-p.life.Done():
			return
		}
	}
}
