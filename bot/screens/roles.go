package screens

import (
	"cmp"
	"maps"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

func rolesForms() map[string]screen.Form {
	return map[string]screen.Form{
		"roles.place":  {May: screen.Answering(state.StageRoles), Fill: placed},
		"roles.name":   {May: screen.Answering(state.StageRoles), Fill: namedPerson},
		"roles.settle": {May: screen.Settles(state.StageRoles), Fill: settledRoles},
	}
}

var rolesActions = map[string]screen.Action{
	"roles.confirm": func(p screen.Page) (flows.Intent, string) {
		return flows.SettleRoles{ByLead: screen.ByLead(p), Rings: settledRings(p.Kickoff)}, "Settled. The channel sees it now."
	},
	"roles.place": func(p screen.Page) (flows.Intent, string) {
		ring := state.Ring(p.Args.Choice)
		return flows.PlaceSelf{By: screen.By(p), Ring: ring}, "You are placed: " + words.RingText(ring) + ". Press another if you change your mind."
	},
}

// settledRings is what a lead settled before, of those who still take part:
// it stands until the lead says otherwise.
func settledRings(k state.Kickoff) map[state.UserID]state.Ring {
	rings := maps.Clone(k.Roles.Settled)
	maps.DeleteFunc(rings, func(u state.UserID, _ state.Ring) bool { return !k.Takes(u) })
	return rings
}

// rolesAsks asks everyone to place themselves.
func rolesAsks(p screen.Page) (screen.Asking, error) {
	return screen.Asking{
		Ask:     "Where do you stand? Press one, and name who is missing.",
		Why:     "Everybody sees where you stand. In the ratings all count the same.",
		Minutes: 1,
		Body:    ringButtons(p),
		Buttons: []*slack.ButtonBlockElement{screen.Button("Name Somebody", "open/roles.name", screen.StageArgs(p, state.StageRoles))},
		Neutral: true,
		Chosen:  []block.Run{block.Plain("%s in the core team, %d consulted, %d informed.", words.Count(len(p.Kickoff.InRing(state.Core)), "person", "people"), len(p.Kickoff.InRing(state.Consulted)), len(p.Kickoff.InRing(state.Informed)))},
	}, nil
}

// ringButtons explain each ring beside its button. One press is enough, but
// for the core team, who are asked for their days as well.
func ringButtons(p screen.Page) []slack.Block {
	var blocks []slack.Block
	for _, r := range screen.Rings {
		args := screen.StageArgs(p, state.StageRoles)
		args.Choice = r.Value
		name, action := r.Text, "do/roles.place"
		if r.Value == string(state.Core) {
			name, action = "Core Team", "open/roles.place"
		}
		blocks = append(blocks, block.Beside(r.About, screen.Button(name, action, args)))
	}
	return blocks
}

// missingSoFar lists who was named as missing, so that nobody is named twice.
func missingSoFar(k state.Kickoff) []slack.Block {
	missing := views.Missing(k)
	if len(missing) == 0 {
		return nil
	}
	runs := block.InARow(missing, 12, func(m state.NamedPerson) block.Run {
		if m.Name == "" && m.User != "" {
			m.Name = k.Name(m.User)
		}
		return block.Typed(m.Name, 60)
	})
	return []slack.Block{block.Para(append([]block.Run{block.Bold("Named as missing: ")}, runs...)...)}
}

// rolesResult is the stakeholder map as settled.
func rolesResult(p screen.Page) (screen.Posting, error) {
	k := p.Kickoff
	if !k.Roles.Done {
		return screen.Line(p, flows.TitleOf(state.StageRoles), "It is being sorted out again."), nil
	}
	return screen.Posting{
		Text:   screen.Aloud(k, "who does what is settled. Core team: %s.", screen.Names(k, k.InRing(state.Core), 8)),
		Blocks: append([]slack.Block{block.Heading(flows.TitleOf(state.StageRoles)), block.Text("%s", rolesBy(k))}, block.Drawn(report.Roles(k))...),
	}, nil
}

func rolesBy(k state.Kickoff) string {
	text := "Settled by " + words.Clip(k.Name(k.Roles.DoneBy), 60) + "."
	if k.Roles.DoneBy == "" {
		text = "The lead did not settle it in time, so everyone stands where they placed themselves."
	}
	if !slices.ContainsFunc(k.Participants(), func(u state.UserID) bool { return k.RingOf(u) == state.Core }) {
		text += " Nobody is in the core team, so the lead does the work for now."
	}
	return text
}

// rolesSettles shows the lead where views differ.
func rolesSettles(p screen.Page) (screen.Settling, error) {
	k := p.Kickoff
	until, waits := screen.SettlingIn(k, state.StageRoles)
	out := screen.Settling{Title: "Settle who does what"}
	switch {
	case k.LeavesOut(state.StageRoles):
		return out.Done("It is left out.")
	case k.Roles.Done:
		return out.Done("Done. The result is in the channel.")
	case !waits:
		return out.Done("People are placing themselves again.")
	}
	args := screen.StageArgs(p, state.StageRoles)
	out.Acts = []*slack.ButtonBlockElement{
		block.Primary(screen.Button("Leave It as It Is", "do/roles.confirm", args)), screen.Button("Change Places", "open/roles.settle", args)}
	out.Ask = "please settle who does what. " + gapsText(k)
	out.Without, out.Until = "Without you it stands from", until
	out.Body = append(append(block.Drawn(report.Roles(k)), gapList(k)...),
		block.Para(block.Plain("If you do nothing, it stands as it is from "), block.When(until), block.Plain(" your time.")),
		block.Buttons(append(slices.Clip(out.Acts), screen.Button("Invite People", "open/lead.invite", args))...))
	out.Home = []block.Run{block.Plain("Please settle who does what. %s", gapsText(k))}
	return out, nil
}

func gapsText(k state.Kickoff) string {
	if n := len(views.RoleGaps(k)); n > 0 {
		return words.Count(n, "point is open.", "points are open.")
	}
	return "Nobody sees it differently."
}

// gapList says where self-placement and expectation differ.
func gapList(k state.Kickoff) []slack.Block {
	gaps := views.RoleGaps(k)
	if len(gaps) == 0 {
		return []slack.Block{block.Text("Nobody sees it differently.")}
	}
	return append([]slack.Block{block.Para(block.Bold("Please look at this"))},
		block.List(gaps, 12, func(g views.RoleGap) []block.Run { return gapWords(k, g) })...)
}

// toPlace says what a lead may want to change: where views differ, and who has no place.
func toPlace(k state.Kickoff) (blocks []slack.Block) {
	if len(views.RoleGaps(k)) > 0 {
		blocks = gapList(k)
	}
	var unplaced []string
	for _, u := range k.Participants() {
		if k.RingOf(u) == "" {
			unplaced = append(unplaced, words.Clip(k.Name(u), 60))
		}
	}
	if len(unplaced) > 0 {
		blocks = append(blocks, block.Para(block.Bold("Not placed: "), block.Typed(words.And(unplaced, 12), 400)))
	}
	return blocks
}

func gapWords(k state.Kickoff, g views.RoleGap) []block.Run {
	if g.Person == "" {
		return []block.Run{block.Plain("Nobody placed themselves in the core team. Until somebody is there, you are.")}
	}
	said := "did not say"
	if g.Self != "" {
		said = "said " + words.RingText(g.Self)
	}
	return []block.Run{block.Typed(k.Name(g.Person), 60), block.Plain(" %s; ", said), block.Typed(k.Name(g.By), 60), block.Plain(" expects %s.", words.RingText(g.Expected))}
}

func placed(p screen.Page, f *block.Form) flows.Intent {
	given := ""
	if d, ok := p.Kickoff.Roles.Days[p.Viewer]; ok {
		given = strconv.FormatFloat(d, 'f', -1, 64)
	}
	f.Title, f.Submit = "Place yourself", "Place Me"
	in := flows.PlaceSelf{By: screen.By(p), Ring: state.Ring(f.Radio("ring", "Where do you stand in this discovery?",
		cmp.Or(p.Args.Choice, string(p.Kickoff.Roles.Self[p.Viewer])), screen.Rings))}
	days := f.Select("days", "Core team: how many days a week can you give?", given, screen.DaysOptions(given), block.Optional,
		block.Hint("Left empty, the plan counts on 2. Everybody sees where you stand, and your days."))
	if days != "" {
		in.Days, in.Said = screen.Decimal(f, "days", days, "Choose how many days a week."), true
	}
	return in
}

func namedPerson(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Name somebody", "Name Them"
	f.Add(block.Text("Who is missing, or where do you expect somebody? Nobody is invited by this: the lead sees it and decides."))
	f.Add(missingSoFar(p.Kickoff)...)
	named := flows.NamePerson{
		By: screen.By(p), User: f.Person("user", "Somebody in this workplace", "", block.Optional),
		Name: screen.TitleEntry(f, "name", "Or a name, or a role", "", block.Optional, block.Hint("Such as: somebody from the harbour office.")),
		Ring: state.Ring(f.Select("ring", "Where do you expect them?", "", screen.Rings)),
	}
	if named.User == "" && named.Name == "" {
		f.Fault("name", "Choose somebody above, or write a name here.")
	}
	return named
}

// settledRoles keeps a place as settled where it differs from what the person
// said, or was settled before.
func settledRoles(p screen.Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	settled := settledRings(k)
	if settled == nil {
		settled = map[state.UserID]state.Ring{}
	}
	f.Title, f.Submit = "Settle who does what", "Settle"
	f.Add(toPlace(k)...)
	for u, ring := range screen.RingLists(f, k) {
		if _, before := settled[u]; before || ring != k.Roles.Self[u] {
			settled[u] = ring
		}
	}
	return flows.SettleRoles{ByLead: screen.ByLead(p), Rings: settled}
}
