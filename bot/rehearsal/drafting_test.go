package rehearsal_test

import (
	"bytes"
	"errors"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/rehearsal"
	"soundings/prompts"
	"soundings/prompts/modeltest"
)

// A draftAsker is a lead who asks for drafts as soon as there is a button for it, while
// the play goes on.
type draftAsker struct {
	t     *testing.T
	play  *rehearsal.Play
	asked bool
	got   string // the title of the form, once the model was asked
}

// RoundTrip lets the lead look at what the bot has just changed.
func (c *draftAsker) RoundTrip(r *http.Request) (*http.Response, error) {
	answer, err := http.DefaultTransport.RoundTrip(r)
	switch {
	case err != nil || c.play == nil:
	case !c.asked && strings.HasSuffix(r.URL.Path, "/chat.update"):
		err = errors.Join(err, c.look(r))
	case c.asked && c.got == "" && strings.HasSuffix(r.URL.Path, "/views.update"):
		for _, p := range c.play.Team().Users() {
			if v, open := c.play.Team().Client.TopView(p.ID); open {
				c.got = v.Title
			}
		}
	}
	return answer, err
}

func (c *draftAsker) look(r *http.Request) error {
	team := c.play.Team()
	for _, place := range team.Channels() {
		if !place.IM {
			continue
		}
		for _, m := range team.Messages(place.ID) {
			for _, e := range blockkit.Elements(m.Blocks) {
				if e.ActionID != "draft/ladder" {
					continue
				}
				c.asked = true
				if err := team.Client.Press(r.Context(), place.User, fakeslack.Where{Channel: place.ID, TS: m.TS}, e.ActionID, e.BlockID, blockkit.Value{}); err != nil {
					return err
				}
				v, _ := team.Client.TopView(place.User)
				_, err := team.Client.Submit(r.Context(), place.User, v.ID)
				return err
			}
		}
	}
	return nil
}

// The demo leaves the same files behind whether drafting is off, on and not
// used, or on with a server that is gone and a lead who asks it in vain.
func TestDemoIsTheSameWithDrafting(t *testing.T) {
	t.Parallel()
	off := playedOnce(t, "five.yaml").files
	model := modeltest.New(modeltest.Says("{}"))
	alive, dead := httptest.NewServer(model), httptest.NewServer(model)
	t.Cleanup(alive.Close)
	dead.Close()
	unused := playDrafting(t, alive.URL, nil)
	sameFiles(t, "unused", unused, off)
	assert.LessOrEqual(t, len(model.Requests()), 0, "requests were sent, and nobody asked")
	lead := &draftAsker{t: t}
	sameFiles(t, "dead", playDrafting(t, dead.URL, lead), off)
	assert.Equal(t, "No drafts this time", lead.got, "the lead saw the form “%s”, want to hear that there are no drafts", lead.got)
}

func playDrafting(t *testing.T, model string, lead *draftAsker) map[string][]byte {
	t.Helper()
	client, err := prompts.New(prompts.Config{URL: model + "/v1", Model: "second-pen"})
	require.NoError(t, err)
	config := rehearsal.PlayConfig{Scenario: readScenario(t, "five.yaml"), Drafter: client}
	if lead == nil {
		return filesOf(t, run(t, config))
	}
	config.Transport = lead
	return filesOf(t, run(t, config, func(p *rehearsal.Play) { lead.play = p }))
}

func sameFiles(t *testing.T, rule string, got, want map[string][]byte) {
	t.Helper()
	assert.Equal(t, slices.Sorted(maps.Keys(want)), slices.Sorted(maps.Keys(got)), "%s: the files", rule)
	for name, data := range want {
		if !bytes.Equal(got[name], data) {
			t.Errorf("%s: %s differs: %s", rule, name, firstDifference(got[name], data))
		}
	}
}
