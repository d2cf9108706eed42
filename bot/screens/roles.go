package screens

import (
	"cmp"
	"maps"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/views"
)

func rolesForms() map[string]Form {
	return map[string]Form{
		"roles.place":  {May: answering(flows.StageRoles), Fill: placed},
		"roles.name":   {May: answering(flows.StageRoles), Fill: namedPerson},
		"roles.settle": {May: settles(flows.StageRoles), Fill: settledRoles},
	}
}

var rolesActions = map[string]action{
	"roles.confirm": func(p Page) (flows.Intent, string) {
		return flows.SettleRoles{ByLead: byLead(p), Rings: settledRings(p.Kickoff)}, "Settled. The channel sees it now."
	},
	"roles.place": func(p Page) (flows.Intent, string) {
		ring := flows.Ring(p.Args.Choice)
		return flows.PlaceSelf{By: by(p), Ring: ring}, "You are placed: " + words.RingText(ring) + ". Press another if you change your mind."
	},
}

// settledRings is what a lead settled before, of those who still take part:
// it stands until the lead says otherwise.
func settledRings(k flows.Kickoff) map[flows.UserID]flows.Ring {
	rings := maps.Clone(k.Roles.Settled)
	maps.DeleteFunc(rings, func(u flows.UserID, _ flows.Ring) bool { return !k.Takes(u) })
	return rings
}

// rings are what people choose among, each with what it asks of somebody.
var rings = []block.Option{
	{Value: string(flows.Core), Text: "Core team", About: "Does the work: some days every week, until the time box ends."},
	{Value: string(flows.Consulted), Text: "Consulted", About: "Is asked before decisions: an hour now and then."},
	{Value: string(flows.Informed), Text: "Informed", About: "Hears how it goes: a short note after each check-in."},
}

// rolesAsks asks everyone to place themselves.
func rolesAsks(p Page) (asking, error) {
	return asking{
		ask:     "Place yourself: core team, consulted or informed. And name who is missing.",
		why:     "The plan counts on the days that the core team can give. In the ratings everyone counts the same, wherever they stand.",
		minutes: 1,
		body:    append(ringButtons(p), missingSoFar(p.Kickoff)...),
		buttons: []*slack.ButtonBlockElement{button("Name Somebody", "open/roles.name", stageArgs(p, flows.StageRoles))},
		neutral: true,
	}, nil
}

// ringButtons explain each ring beside its button. One press is enough, but
// for the core team, who are asked for their days as well.
func ringButtons(p Page) []slack.Block {
	var blocks []slack.Block
	for _, r := range rings {
		args := stageArgs(p, flows.StageRoles)
		args.Choice = r.Value
		name, action := r.Text, "do/roles.place"
		if r.Value == string(flows.Core) {
			name, action = "Core Team", "open/roles.place"
		}
		blocks = append(blocks, block.Beside(r.About, button(name, action, args)))
	}
	return blocks
}

// missingSoFar lists who was named as missing, so that nobody is named twice.
func missingSoFar(k flows.Kickoff) []slack.Block {
	missing := views.Missing(k)
	if len(missing) == 0 {
		return nil
	}
	runs := block.InARow(missing, 12, func(m flows.NamedPerson) block.Run {
		if m.Name == "" && m.User != "" {
			m.Name = k.Name(m.User)
		}
		return block.Typed(m.Name, 60)
	})
	return []slack.Block{block.Para(append([]block.Run{block.Bold("Named as missing: ")}, runs...)...)}
}

// rolesResult is the stakeholder map as settled.
func rolesResult(p Page) (Posting, error) {
	k := p.Kickoff
	if !k.Roles.Done {
		return line(p, stageName(flows.StageRoles), "It is being sorted out again."), nil
	}
	return Posting{
		Text:   aloud(k, "who does what is settled. Core team: %s.", names(k, k.InRing(flows.Core), 8)),
		Blocks: append([]slack.Block{block.Heading(stageName(flows.StageRoles)), block.Text("%s", rolesBy(k))}, block.Drawn(report.Roles(k))...),
	}, nil
}

// names joins names, the first few of many.
func names(k flows.Kickoff, who []flows.UserID, most int) string {
	all := make([]string, len(who))
	for i, u := range who {
		all[i] = words.Clip(k.Name(u), 40)
	}
	return words.Listed(all, most)
}

func rolesBy(k flows.Kickoff) string {
	text := "Settled by " + words.Clip(k.Name(k.Roles.DoneBy), 60) + "."
	if k.Roles.DoneBy == "" {
		text = "The lead did not settle it in time, so everyone stands where they placed themselves."
	}
	if !slices.ContainsFunc(k.Participants(), func(u flows.UserID) bool { return k.RingOf(u) == flows.Core }) {
		text += " Nobody is in the core team, so the lead does the work for now."
	}
	return text
}

// rolesSettles shows the lead where views differ.
func rolesSettles(p Page) (settling, error) {
	k := p.Kickoff
	until, waits := settlingIn(k, flows.StageRoles)
	out := settling{title: "Settle who does what"}
	switch {
	case k.Roles.Done:
		return out.done("Done. The result is in the channel.")
	case !waits:
		return out.done("People are placing themselves again.")
	}
	args := stageArgs(p, flows.StageRoles)
	out.acts = []*slack.ButtonBlockElement{
		block.Primary(button("Leave It as It Is", "do/roles.confirm", args)), button("Change Places", "open/roles.settle", args)}
	out.ask = "please settle who does what. " + gapsText(k)
	out.without, out.until = "Without you it stands from", until
	out.body = append(append(block.Drawn(report.Roles(k)), gapList(k)...),
		block.Para(block.Plain("If you do nothing, it stands as it is from "), block.When(until), block.Plain(" your time.")),
		block.Buttons(append(slices.Clip(out.acts), button("Invite People", "open/lead.invite", args))...))
	out.home = []block.Run{block.Plain("Please settle who does what. %s", gapsText(k))}
	return out, nil
}

func gapsText(k flows.Kickoff) string {
	if n := len(views.RoleGaps(k)); n > 0 {
		return words.Count(n, "point is open.", "points are open.")
	}
	return "Nobody sees it differently."
}

// gapList says where self-placement and expectation differ.
func gapList(k flows.Kickoff) []slack.Block {
	gaps := views.RoleGaps(k)
	if len(gaps) == 0 {
		return []slack.Block{block.Text("Nobody sees it differently.")}
	}
	return append([]slack.Block{block.Para(block.Bold("Please look at this"))},
		block.List(gaps, 12, func(g views.RoleGap) []block.Run { return gapWords(k, g) })...)
}

func gapWords(k flows.Kickoff, g views.RoleGap) []block.Run {
	if g.Person == "" {
		return []block.Run{block.Plain("Nobody placed themselves in the core team. Until somebody is there, you are.")}
	}
	said := "did not say"
	if g.Self != "" {
		said = "said " + words.RingText(g.Self)
	}
	return []block.Run{block.Typed(k.Name(g.Person), 60), block.Plain(" %s; ", said), block.Typed(k.Name(g.By), 60), block.Plain(" expects %s.", words.RingText(g.Expected))}
}

func placed(p Page, f *block.Form) flows.Intent {
	given := ""
	if d, ok := p.Kickoff.Roles.Days[p.Viewer]; ok {
		given = strconv.FormatFloat(d, 'f', -1, 64)
	}
	f.Title, f.Submit = "Place yourself", "Place Me"
	in := flows.PlaceSelf{By: by(p), Ring: flows.Ring(f.Radio("ring", "Where do you stand in this discovery?",
		cmp.Or(p.Args.Choice, string(p.Kickoff.Roles.Self[p.Viewer])), rings))}
	days := f.Figure("days", "Core team: how many days a week can you give?", given, true, "0", "5", block.Optional,
		block.Hint("Such as 2 or 2.5. Left empty, the plan counts on 2."))
	if days != "" {
		in.Days, in.Said = decimal(f, "days", days, "Days a week are a number, such as 2 or 2.5."), true
	}
	return in
}

func namedPerson(p Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Name somebody", "Name Them"
	f.Add(block.Text("Who is missing, or where do you expect somebody? Nobody is invited by this: the lead sees it and decides."))
	named := flows.NamePerson{
		By: by(p), User: f.Person("user", "Somebody in this workplace", "", block.Optional),
		Name: titleEntry(f, "name", "Or a name, or a role", "", block.Optional, block.Hint("Such as: somebody from the harbour office.")),
		Ring: flows.Ring(f.Select("ring", "Where do you expect them?", "", rings)),
	}
	if named.User == "" && named.Name == "" {
		f.Fault("name", "Choose somebody above, or write a name here.")
	}
	return named
}

// mostPlaced is how many people the form shows; a view holds 100 blocks.
const mostPlaced = 95

// settledRoles keeps a place as settled where it differs from what the person
// said, or was settled before.
func settledRoles(p Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	settled := settledRings(k)
	if settled == nil {
		settled = map[flows.UserID]flows.Ring{}
	}
	f.Title, f.Submit = "Settle who does what", "Settle"
	f.Add(gapList(k)...)
	for _, u := range words.FirstOf(k.Participants(), mostPlaced) {
		ring := flows.Ring(f.Select("ring/"+string(u), words.Clip(k.Name(u), 100), string(k.RingOf(u)), rings, block.Optional))
		_, before := settled[u]
		if ring != "" && (before || ring != k.Roles.Self[u]) {
			settled[u] = ring
		}
	}
	return flows.SettleRoles{ByLead: byLead(p), Rings: settled}
}
