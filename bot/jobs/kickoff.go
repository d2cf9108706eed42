package jobs

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// ForKickoff makes a job about a kickoff. Its id is the same in every replay,
// as which is, and names the team first, so that the jobs of a team are found.
// payload is plain data.
func ForKickoff(kind, team, kickoff, which string, at time.Time, payload any) Job {
	data, err := json.Marshal(payload)
	if err != nil {
		panic(fmt.Sprintf("jobs: a payload does not encode: %v", err)) // plain data always does
	}
	return Job{ID: fmt.Sprintf("%s/%s/%s/%s", kind, team, kickoff, which), Kind: kind, Payload: data, At: at}
}

// OfTeam picks the jobs of a team that ForKickoff made, by their ids.
func OfTeam(team string) func(id string) bool {
	return func(id string) bool {
		_, rest, _ := strings.Cut(id, "/")
		of, _, _ := strings.Cut(rest, "/")
		return of == team
	}
}
