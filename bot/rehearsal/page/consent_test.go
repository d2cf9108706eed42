package page_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
)

// Whoever lets the app in comes back to it, by a real browser: the page's
// rules for where its forms may lead end where the platform's part begins.
func TestBrowserComesBackFromConsent(t *testing.T) {
	t.Parallel()
	app := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = w.Write([]byte("<p id=back>" + r.URL.Query().Get("state") + "</p>"))
	}))
	t.Cleanup(app.Close)
	b := newBrowser(t, readScenario(t, "ferry.yaml"), "ines", 400)
	ask := url.Values{"client_id": {"1.2"}, "scope": {"commands,chat:write"}, "state": {"mine"}, "redirect_uri": {app.URL + "/slack/oauth"}}
	b.run(chromedp.Navigate(b.url+"/oauth/v2/authorize?"+ask.Encode()), chromedp.WaitReady(chromedp.CSS("button.go")))
	assert.Equal(t, "rgb(255, 255, 255)", eval[string](b, `getComputedStyle(document.querySelector("button.go")).color`), "the page of the platform is drawn without its style: the button's words")
	assert.Contains(t, eval[string](b, `document.body.innerText`), "chat:write", "the page asks for")
	b.run(chromedp.Evaluate[chromedp.Void](`document.querySelector("button.go").click()`))
	b.run(chromedp.WaitReady(chromedp.CSS("#back")))
	assert.Equal(t, "mine", eval[string](b, `document.getElementById("back").textContent`), "the app is handed the state")
}
