package bot

import (
	"errors"
	"sync"
	"time"
)

// stopped holds the teams that took the app away, as far as this process has
// heard. It spares calls that can only fail, and keeps what was to be sent for
// a while: an app is sometimes put back within the hour.
type stopped struct {
	mu    sync.Mutex
	teams map[string]bool
}

func newStopped() *stopped { return &stopped{teams: map[string]bool{}} }

func (s *stopped) has(team string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.teams[team]
}

func (s *stopped) set(team string, on bool) (changed bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	changed = s.teams[team] != on
	if on {
		s.teams[team] = true
	} else {
		delete(s.teams, team)
	}
	return changed
}

// stoppedPause is how long a job waits for a team to put the app back. Policy
// of the queue says how often.
const stoppedPause = time.Hour

var errStopped = errors.New("the team has taken the app away")

// stop ends what is sent to a team. What its kickoffs hold stays where it is.
func (b *Bot) stop(team, why string) {
	if b.stopped.set(team, true) {
		b.Logger.Warn("a team has taken the app away; nothing is sent there", "team", team, "event", why)
	}
}

// heard notes that somebody in a team uses the app: it is there.
func (b *Bot) heard(team string) {
	if b.stopped.set(team, false) {
		b.Logger.Info("a team has the app again", "team", team)
	}
}
