package main

import (
	"context"
	"fmt"
	"strings"

	"soundings/bot/installs"
	"soundings/bot/manifest"
)

// flow makes the pages on which workplaces install the app.
func (p *service) flow() (*installs.Flow, error) {
	s := p.settings
	var optional []string
	for _, scope := range manifest.OptionalScopes() {
		optional = append(optional, scope.Name)
	}
	return installs.NewFlow(installs.FlowConfig{
		Store: p.installs, ClientID: s.ClientID, Secret: s.ClientSecret, Public: s.PublicURL, API: s.apiURL(),
		Needed: manifest.NeededScopes(), Optional: optional, Save: p.bot.Teams.Install, Logger: p.log,
	})
}

// turnKeys sees that the keys open what is stored, and seals under the first
// one what only the old one opens. Keys that open nothing are wrong ones; a
// record or two that do not open are told of, and the others are served.
func (p *service) turnKeys(ctx context.Context) error {
	usage, err := p.installs.Rotate(ctx)
	if err != nil {
		return err
	}
	if n := len(usage.Unreadable); n > 0 && n == usage.Teams {
		return wrongf("SOUNDINGS_TOKEN_KEY %s", sealedMend(usage))
	}
	if len(usage.Unreadable) > 0 {
		p.log.Error("the tokens of some teams cannot be opened: put the former key into SOUNDINGS_TOKEN_KEY_OLD, or let them install the app again", "teams", usage.Unreadable)
	}
	p.log.Info("installs", "teams", usage.Teams, "sealed_anew", usage.OldKey)
	return nil
}

// sealedMend says what to do about tokens that no key opens.
func sealedMend(t installs.KeyUsage) string {
	return fmt.Sprintf("does not open the tokens of %s: put the key with which they were sealed into SOUNDINGS_TOKEN_KEY_OLD, or let these workplaces install the app again",
		strings.Join(t.Unreadable, ", "))
}
