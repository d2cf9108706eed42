package rehearsal

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"soundings/bot/fakeslack"
)

// troubleEvery is how often something goes wrong that is ticked on the page.
const troubleEvery = 3

// A drawnTrouble is one thing that can go wrong, for the templates.
type drawnTrouble struct {
	Name, Says string
	On         bool
	Struck     int // how often it has
}

func (p *Page) troubles() []drawnTrouble {
	now, struck := p.room.Workspace().Faults(), p.room.Workspace().Struck()
	var out []drawnTrouble
	for _, k := range fakeslack.FaultKinds() {
		out = append(out, drawnTrouble{Name: k.Name, Says: k.Says, On: now.Every(k.Name) > 0, Struck: struck[k.Name]})
	}
	return out
}

// trouble lets what is ticked go wrong, and nothing else.
func (p *Page) trouble(_ context.Context, _ fakeslack.User, form url.Values) error {
	var parts []string
	for _, name := range form["fault"] {
		parts = append(parts, fmt.Sprintf("%s=%d", name, troubleEvery))
	}
	f, err := fakeslack.ParseFaults(strings.Join(parts, ","))
	if err == nil {
		p.room.Workspace().SetFaults(f)
	}
	return err
}

// share lets another company into the kickoff's channel, or out of it.
func (p *Page) share(ctx context.Context, _ fakeslack.User, form url.Values) error {
	return p.room.Workspace().Share(ctx, p.room.Channel(), form.Get("do") == "share")
}
