package page

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"soundings/bot/fakeslack"
	"soundings/bot/rehearsal"
)

// After each act a person is told what has happened, and for whom the kickoff waits.

// moveTime lets others act, or the clock move on, or says why nothing happens.
func (p *Page) moveTime(ctx context.Context, who fakeslack.User, form url.Values) (err error) {
	var h rehearsal.Happened
	var otherwise string
	switch do := form.Get("do"); do {
	case "others":
		otherwise = "Nobody else has anything to do now. Do it yourself, or go to the next deadline"
		if p.room.Guest() {
			otherwise = "Nobody else has anything to do now. Perhaps it is your turn, or the bot has not got that far: try again in a moment"
		}
		h, err = p.room.Others(ctx, who.ID)
	case "me":
		otherwise = "The script has nothing for " + who.RealName + " to do now"
		h, err = p.room.ForMe(ctx, who.ID)
	case "demo":
		otherwise = "A kickoff has been started already"
		h, err = p.room.Demo(ctx)
	case "deadline":
		otherwise = "no deadline is ahead: start a kickoff first, or this one has ended"
		h, err = p.room.Deadline(ctx)
	default:
		return fmt.Errorf("time does not move by %q", do)
	}
	if err != nil {
		return err
	}
	if !h.Any() {
		return errors.Join(p.seeWaiting(ctx), errors.New(otherwise))
	}
	p.tell(who, notice{Text: told(h, who.ID)})
	return nil
}

// tell sets what somebody is told beside the clock.
func (p *Page) tell(who fakeslack.User, n notice) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.notices[who.ID] = n
}

// seeWaiting notes for whom the kickoff waits, once the bot has done what follows.
func (p *Page) seeWaiting(ctx context.Context) error {
	if err := p.room.Settle(ctx); err != nil {
		return err
	}
	waits, err := p.room.Waiting(ctx)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.waits = waits
	return err
}

// waitsFor says to somebody for whom the kickoff waits.
func (p *Page) waitsFor(viewer fakeslack.User) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return waitingFor(p.waits, viewer)
}

// mostDeeds is how many kinds of things that were done are told, the last ones: there is little room on a phone.
const mostDeeds = 3

// told says what has happened, the same things together: Tui, Marek and 3 others read
// the brief.
func told(h rehearsal.Happened, me string) string {
	var did []string
	who := map[string][]string{}
	for _, d := range h.Deeds {
		name := d.Name
		if d.Who == me {
			name = "You"
		}
		if !slices.Contains(did, d.Did) {
			did = append(did, d.Did)
		}
		if !slices.Contains(who[d.Did], name) {
			who[d.Did] = append(who[d.Did], name)
		}
	}
	var sentences []string
	for _, d := range did[max(0, len(did)-mostDeeds):] {
		sentences = append(sentences, joined(who[d], 3)+" "+d+".")
	}
	if h.Moved != "" {
		sentences = append(sentences, h.Moved)
	}
	return strings.Join(sentences, " ")
}

// joined joins names as in a sentence: Ana, Tui and 3 others.
func joined(names []string, most int) string {
	last := len(names) - 1
	switch {
	case last == 0:
		return names[0]
	case len(names) <= most:
		return strings.Join(names[:last], ", ") + " and " + names[last]
	}
	return fmt.Sprintf("%s and %d others", strings.Join(names[:most-1], ", "), len(names)-most+1)
}

// waitingFor says for whom the kickoff waits, the viewer first. Who is not going to answer
// by themselves is said apart: for them one goes to the deadline, or answers in their place.
func waitingFor(w rehearsal.Waits, viewer fakeslack.User) string {
	var names, silent []string
	for _, a := range w.For {
		switch {
		case a.ID == viewer.ID:
			names = append([]string{"you"}, names...)
		case a.Silent:
			silent = append(silent, a.Name)
		default:
			names = append(names, a.Name)
		}
	}
	switch {
	case w.Ended:
		return "Nobody is waited for any more."
	case !w.Next.IsZero():
		return fmt.Sprintf("Nobody is waited for before the next check-in, on %s.", clockOf(w.Next, viewer.Zone).Day)
	case len(names) > 0 && len(silent) > 0:
		return fmt.Sprintf("Waiting for %s; %s will not answer on their own.", joined(names, 4), joined(silent, 4))
	case len(names) > 0:
		return "Waiting for " + joined(names, 4) + "."
	case len(silent) > 0:
		return fmt.Sprintf("Waiting for %s, who will not answer on their own: go to the next deadline, or answer as %s.", joined(silent, 4), one(silent))
	}
	return ""
}

func one(names []string) string {
	if len(names) == 1 {
		return names[0]
	}
	return "one of them"
}
