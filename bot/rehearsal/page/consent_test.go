package page_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
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
	b := newBrowser(t, startChromium(t), readScenario(t, "ferry.yaml"), "ines", 400)
	ask := url.Values{"client_id": {"1.2"}, "scope": {"commands,chat:write"}, "state": {"mine"}, "redirect_uri": {app.URL + "/slack/oauth"}}
	b.run(chromedp.Navigate(b.url+"/oauth/v2/authorize?"+ask.Encode()), chromedp.WaitReady(chromedp.CSS("button.go")))
	if got := eval[string](b, `getComputedStyle(document.querySelector("button.go")).color`); got != "rgb(255, 255, 255)" {
		t.Errorf("the page of the platform is drawn without its style: the button's words are %s", got)
	}
	if got := eval[string](b, `document.body.innerText`); !strings.Contains(got, "chat:write") {
		t.Errorf("the page asks for: %s", got)
	}
	b.run(chromedp.Evaluate[chromedp.Void](`document.querySelector("button.go").click()`))
	b.run(chromedp.WaitReady(chromedp.CSS("#back")))
	if got := eval[string](b, `document.getElementById("back").textContent`); got != "mine" {
		t.Errorf("the app is handed the state %q, want mine", got)
	}
}
