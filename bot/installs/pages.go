package installs

import (
	"bytes"
	"cmp"
	_ "embed"
	"html/template"
	"net/http"
)

// A page is what a person reads at the end of their way: what is so, and what
// to do now.
type page struct {
	Status int
	Kind   string // names it, in tests and for tools
	Title  string
	Lines  []string
	Again  bool // offers to begin again
}

// A pageError is why an install ended on one of the pages.
type pageError struct {
	page
	reason string
}

func (e *pageError) Error() string { return e.reason }

func pageDone(team string) page {
	return page{http.StatusOK, "done", "Soundings is in " + cmp.Or(team, "your workplace"), []string{
		"You can close this page.",
		"Go to the channel of a team, invite Soundings there with /invite, and type /soundings start.",
	}, false}
}

// The other pages. They change nothing, whoever asks for them.
var (
	pageDenied = page{http.StatusOK, "denied", "Nothing was installed", []string{
		"You said no, and that is fine: nothing was changed.",
		"If it was a slip, begin again. If your workplace asks for an approval first, ask whoever looks after it.",
	}, true}
	pageExpired = page{http.StatusBadRequest, "stale", "This page is too old", []string{
		"An install has to be finished within ten minutes, once, and in the browser in which it began.",
		"If you have read before that Soundings is in, all is well. If not, please begin again, and let your browser keep cookies for this page.",
	}, true}
	pageFailed = page{http.StatusBadGateway, "failed", "That did not work", []string{
		"Something between us and your workplace went wrong, so the install is not complete.",
		"Please begin again in a minute. If it fails again, tell whoever runs Soundings; their log says why.",
	}, true}
	pageAppConfig = page{http.StatusInternalServerError, "setup", "Soundings is not set up yet", []string{
		"Your workplace does not know this app by the name that Soundings gave. It is not your mistake, and nothing was changed.",
		"Please tell whoever runs Soundings: SLACK_CLIENT_ID, SLACK_CLIENT_SECRET and SOUNDINGS_PUBLIC_URL have to fit the page Basic Information of the app, and its redirect URL.",
	}, false}
	pageEnterprise = page{http.StatusBadRequest, "whole", "Please choose one workspace", []string{
		"Soundings was offered to a whole organisation, and it works in one workspace at a time. Nothing was kept.",
		"Begin again, and choose the workspace at the top of the page that opens.",
	}, true}
	pageMissingScopes = page{http.StatusBadRequest, "scant", "Something is missing", []string{
		"Your workplace did not give everything that Soundings cannot do without, so nothing was kept.",
		"Begin again and leave the ticks as they are. If there were none, tell whoever runs Soundings that the app lacks scopes.",
	}, true}
)

// pageHTML draws a page: readable on a phone, with nothing loaded from
// anywhere.
//
//go:embed page.html
var pageHTML string

var pages = template.Must(template.New("page").Parse(pageHTML))

func (f *Flow) show(w http.ResponseWriter, p page) {
	var body bytes.Buffer
	err := pages.Execute(&body, struct {
		page
		Install string
	}{p, f.Public + InstallPath})
	if err != nil {
		f.Logger.Error("a page was not drawn", "page", p.Kind, "error", err)
		http.Error(w, p.Title, p.Status)
		return
	}
	noStore(w)
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(p.Status)
	_, _ = w.Write(body.Bytes()) // whoever has gone reads nothing
}

// noStore keeps an address with a code in it out of caches and other sites'
// logs.
func noStore(w http.ResponseWriter) {
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Referrer-Policy", "no-referrer")
}
