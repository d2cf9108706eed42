package page

import (
	"context"
	"fmt"
	"net/url"
	"strings"

	"soundings/bot/fakeslack"
)

// faultEvery is how often something goes wrong that is ticked on the page.
const faultEvery = 3

// A drawnFault is one thing that can go wrong, for the templates.
type drawnFault struct {
	Name, Says string
	On         bool
	Struck     int // how often it has
}

func (p *Page) faults() []drawnFault {
	now, struck := p.room.Team().Faults.Now(), p.room.Team().Faults.Struck()
	var out []drawnFault
	for _, k := range fakeslack.FaultKinds {
		out = append(out, drawnFault{Name: k.Name, Says: k.Says, On: now.Every(k) > 0, Struck: struck[k.Name]})
	}
	return out
}

// setFaults lets what is ticked go wrong, and nothing else.
func (p *Page) setFaults(_ context.Context, _ fakeslack.User, form url.Values) error {
	var parts []string
	for _, name := range form["fault"] {
		parts = append(parts, fmt.Sprintf("%s=%d", name, faultEvery))
	}
	f, err := fakeslack.ParseFaults(strings.Join(parts, ","))
	if err == nil {
		p.room.Team().Faults.Set(f)
	}
	return err
}

// share lets another company into the kickoff's channel, or out of it.
func (p *Page) share(ctx context.Context, _ fakeslack.User, form url.Values) error {
	return p.room.Team().Share(ctx, p.room.Channel(), form.Get("do") == "share")
}
