package screens

import (
	"fmt"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// The forms in which a lead gives time and changes who takes part.

func openExtend(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	if !stillOf(p) {
		return slack.ModalViewRequest{}, refusal("%s", closedMeanwhile(p))
	}
	if p.Kickoff.Window.Phase != flows.PhaseOpen {
		return slack.ModalViewRequest{}, refusal("No step is open just now, so there is nothing to extend.")
	}
	var options []option
	for n := 1; n <= 10; n++ {
		options = append(options, option{Value: strconv.Itoa(n), Text: count(n, "working day", "working days")})
	}
	return form("Give more time", "Give It",
		para(plain("“%s” closes ", stageName(p.Kickoff.Stage)), when(p.Kickoff.Window.Closes), plain(" your time.")),
		selectInput("days", "How much longer?", "1", options, hint("Working days of each person, from that moment on.")),
	), nil
}

func submitExtend(p Page, v Values) (Answer, error) {
	days, ok := v.Number("days")
	if !ok {
		return faulty("days", "Choose how many working days.")
	}
	if !stillOf(p) {
		return faulty("days", closedMeanwhile(p))
	}
	return wants(flows.Extend{ByLead: byLead(p), Days: days})
}

func closedMeanwhile(p Page) string {
	return fmt.Sprintf("“%s” has closed meanwhile, so nothing was changed.", stageName(flows.Stage(p.Args.Stage)))
}

// participantOptions lists who takes part, but for some.
func participantOptions(k flows.Kickoff, but func(flows.UserID) bool) []option {
	var options []option
	for _, u := range k.Participants() {
		if !but(u) && len(options) < mostOptions {
			options = append(options, option{Value: string(u), Text: oneLine(k.Name(u))})
		}
	}
	return options
}

// choosePerson is a form that chooses one of those who take part.
func choosePerson(p Page, but func(flows.UserID) bool, build func([]option) slack.ModalViewRequest) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	options := participantOptions(p.Kickoff, but)
	if len(options) == 0 {
		return slack.ModalViewRequest{}, refusal("There is nobody to choose yet. Invite people first.")
	}
	return build(options), nil
}

func openHandOver(p Page) (slack.ModalViewRequest, error) {
	self := func(u flows.UserID) bool { return u == p.Viewer }
	return choosePerson(p, self, func(options []option) slack.ModalViewRequest {
		return form("Hand over", "Hand Over",
			para(plain("Somebody else leads in your place from now on. You still take part. Only a lead can make you one again.")),
			selectInput("to", "Who leads from now on?", "", options))
	})
}

func submitHandOver(p Page, v Values) (Answer, error) {
	return wants(flows.HandOver{ByLead: byLead(p), To: flows.UserID(v.Choice("to"))})
}

func openAddLead(p Page) (slack.ModalViewRequest, error) {
	return choosePerson(p, p.Kickoff.IsLead, func(options []option) slack.ModalViewRequest {
		return form("Add a lead", "Add",
			para(plain("All leads can do the same things. When fewer than half have answered, a step closes early only if all of them wish it.")),
			selectInput("to", "Who leads with you?", "", options))
	})
}

func submitAddLead(p Page, v Values) (Answer, error) {
	return wants(flows.AddLead{ByLead: byLead(p), Person: flows.UserID(v.Choice("to"))})
}

func openInvite(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	return form("Invite people", "Invite",
		para(plain("They are asked from the present step on. Make sure they are in the channel, too.")),
		peopleInput("people", "Who takes part from now on?", nil)), nil
}

func submitInvite(p Page, v Values) (Answer, error) {
	invite := flows.Invite{ByLead: byLead(p)}
	for _, u := range v.People("people") {
		invite.People = append(invite.People, flows.Person{ID: u})
	}
	return wants(invite)
}

func openRemove(p Page) (slack.ModalViewRequest, error) {
	self := func(u flows.UserID) bool { return u == p.Viewer }
	return choosePerson(p, self, func(options []option) slack.ModalViewRequest {
		return form("Let somebody go", "Let Them Go",
			para(plain("Nothing is asked of them any more. What they gave stays, and you can invite them again.")),
			selectInput("person", "Who no longer takes part?", "", options))
	})
}

func submitRemove(p Page, v Values) (Answer, error) {
	return wants(flows.LetGo{ByLead: byLead(p), Person: flows.UserID(v.Choice("person"))})
}
