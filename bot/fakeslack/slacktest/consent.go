package slacktest

import (
	"net/http"
	"net/url"
)

// Consent is what a browser does at the authorize address: it reads the page,
// presses the button of a team, or Cancel for "", and returns where it is sent.
func Consent(client *http.Client, authorize, team string) (back *url.URL, err error) {
	page, err := client.Get(authorize)
	if err != nil {
		return nil, err
	}
	page.Body.Close()
	answer, err := client.PostForm(authorize, url.Values{"answer": {team}})
	if err != nil {
		return nil, err
	}
	answer.Body.Close()
	return answer.Location()
}
