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
	told chan struct{} // closed at the next change
}

func newNews() *news { return &news{told: make(chan struct{})} }

func (n *news) tell() {
	n.mu.Lock()
	defer n.mu.Unlock()
	close(n.told)
	n.told = make(chan struct{})
}

// next is closed at the next change.
func (n *news) next() <-chan struct{} {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.told
}

// keepAlive is how often a quiet stream says that it is still there.
const keepAlive = 20 * time.Second

// serveNews is a stream of server-sent events without content: the page asks
// for itself again at each.
func (p *Page) serveNews(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	line, stream := "retry: 2000\n\n", http.NewResponseController(w)
	quiet := time.NewTicker(keepAlive)
	defer quiet.Stop()
	changed := p.news.next()
	for {
		if _, err := fmt.Fprint(w, line); err != nil || stream.Flush() != nil {
			return
		}
		select {
		case <-changed:
			changed, line = p.news.next(), "data: changed\n\n"
		case <-quiet.C:
			line = ": still here\n\n"
		case <-r.Context().Done():
			return
		case <-p.life.Done():
			return
		}
	}
}
