package screens

import (
	"fmt"
	"strconv"

	"soundings/flows"
)

// shutDeeds are what a lead can do while the channel is out of reach.
func shutDeeds() map[string]deed {
	return map[string]deed{
		"lead.go-on": func(p Page) (flows.Intent, string) {
			return flows.GoOn{ByLead: byLead(p)}, "I try again. You hear from me if I still cannot get in."
		},
		"lead.abandon": func(p Page) (flows.Intent, string) {
			return flows.Abandon{ByLead: byLead(p)}, "This kickoff has ended."
		},
	}
}

// shutWords say what happened to the channel, and the mend.
func shutWords(why flows.UnreachableReason) (title, mend string) {
	switch why {
	case flows.ChannelArchived:
		return "The channel was archived", "Unarchive it, and the kickoff goes on by itself. To go on elsewhere, end it here and start one in another channel."
	case flows.ChannelDeleted:
		return "The channel was deleted", "So the kickoff has ended. To go on, start one in another channel."
	}
	return "I am not in the channel any more", "Add me there again with /invite, and the kickoff goes on by itself. To go on elsewhere, end it here and start one in another channel."
}

// shutMessage tells a lead, once, that the channel is out of reach.
func shutMessage(p Page, arg string) (Posting, error) {
	k := p.Kickoff
	n, err := strconv.Atoi(arg)
	if err != nil || n < 1 || n > k.Unreachable.N {
		return Posting{}, fmt.Errorf("the channel was not out of reach for time %q", arg)
	}
	if n < k.Unreachable.N || k.Unreachable.Why == "" {
		return line(p, "The channel is there again", "The kickoff goes on. Whoever owes an answer has a working day for it, or more."), nil
	}
	title, mend := shutWords(k.Unreachable.Why)
	if k.Stage == flows.StageEnded {
		if k.Unreachable.Why != flows.ChannelDeleted {
			mend = "The kickoff has ended without a decision."
		}
		return line(p, title, mend+" All that people gave is kept: whoever runs me can write it out."), nil
	}
	const still = "The kickoff stands still: nothing is sent, and no step closes. All that people gave is kept."
	out := line(p, title, still+" "+mend)
	out.Blocks = append(out.Blocks, buttons(
		button("Try Again", "do/lead.go-on", Args{Kickoff: k.ID}),
		confirming(button("End the Kickoff", "do/lead.abandon", Args{Kickoff: k.ID}), "End the kickoff?",
			"Nothing more is asked of anybody, and it cannot be taken up again. All that people gave is kept.", "End It").WithStyle("danger")))
	return out, nil
}
