package bot_test

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"

	"soundings/bot/fakeslack"
)

// A sharedAddress is several teams behind one address, as an app meets them that is
// installed in more than one: which team a call is for shows by its token. Where
// they are to share the sockets of the app, the first is the SameApp of all
// others.
//
// Ids are counted in each team from one, so people and channels of different
// teams have the same ids. On the platform itself that is rare, and it is what
// an app that keeps teams apart must not mind.
type sharedAddress struct{ teams []*fakeslack.Team }

// newSharedAddress puts teams behind one address. Their ids must differ.
func newSharedAddress(teams ...*fakeslack.Team) *sharedAddress { return &sharedAddress{teams} }

// below begins the addresses that a team hands out.
func below(t *fakeslack.Team) string { return "/team/" + t.TeamID() }

// SetURL says under which address Handler is served.
func (s *sharedAddress) SetURL(base string) {
	for _, t := range s.teams {
		t.SetURL(base + below(t))
	}
}

// Handler serves what Team.Handler does, and below /team/ID/ what belongs to
// one team.
func (s *sharedAddress) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, t := range s.teams {
		mux.Handle(below(t)+"/", http.StripPrefix(below(t), t.Handler()))
	}
	mux.HandleFunc("/", func(rw http.ResponseWriter, r *http.Request) { s.of(r).Handler().ServeHTTP(rw, r) })
	return mux
}

// of is the team that a request is for: the one named in its token or code, or
// the one that a person has chosen. All else goes to the first.
func (s *sharedAddress) of(r *http.Request) *fakeslack.Team {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return s.teams[0]
	}
	again := httptest.NewRequest(r.Method, r.URL.String(), bytes.NewReader(body))
	again.Header = r.Header.Clone()
	r.Body = io.NopCloser(bytes.NewReader(body))
	named := []string{r.Header.Get("Authorization"), again.FormValue("token"), again.FormValue("code")}
	for _, t := range s.teams {
		if again.PostFormValue("answer") == t.TeamID() || strings.Contains(strings.Join(named, " "), "-"+t.TeamID()+"-") {
			return t
		}
	}
	return s.teams[0]
}
