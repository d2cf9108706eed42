package flows

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// The longest texts that a kickoff takes, in characters. What a form of the
// chat platform can hold is 3,000; a title has to fit a heading.
const (
	MaxText  = 3000
	MaxTitle = 150
)

// MaxLinks bounds the links of a brief: nobody reads more before they start.
const MaxLinks = 50

// Start begins a kickoff: the lead's brief, the people, the pace.
type Start struct {
	FromOutside
	ID, Team, Channel string
	Brief             state.Brief
	People            []state.Person // the lead first
	Everybody         bool           // in the channel takes part besides; the shell adds them to People
	Pace              int            // working days per stage, 1 to 10; 0 means 1
	LeaveOut          []state.Stage  // as in the intent of that name

	Seen state.Seen // of the channel
	GoOn bool       // although another company reads it
}

func (i Start) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	people := eachOnce(i.People)
	if err := cmp.Or(
		refuseIf(k.Stage == state.StageEnded, "", "This kickoff has ended. Start a new one with /soundings start."),
		refuseIf(!k.Started.IsZero(), "", "A kickoff is open in this channel already. End that one first, or start in another channel."),
		checkBrief(i.Brief),
		refuseIf(len(people) == 0 || people[0].ID != i.Who, "people", "Name the people who take part."),
		refuseIf(len(people) > MaxPeople, "people", "You named %d people; a kickoff starts with %d at most. Choose those who decide, work on it, or have a stake in it. Others can join later.",
			len(people), MaxPeople),
		checkLeftOut(i.LeaveOut),
		refuseIf(i.Pace < 0 || i.Pace > 10, "pace", "The pace is 1 to 10 working days a stage."),
	); err != nil {
		return nil, err
	}
	begun := event.Started{ID: i.ID, Team: i.Team, Channel: i.Channel, Brief: written(i.Brief), People: people, Pace: max(i.Pace, 1)}
	var after state.Kickoff
	state.SetZones(&after, k.Zones())
	begun.Apply(&after, now, i.Who)
	opened := openStage(&after, state.StageBrief, now)
	opened.Apply(&after, now, i.Who)
	if i.Seen.Outside && !i.GoOn {
		return nil, askOutside("People of another company read this channel. They would read the kickoff as well.")
	}
	events := append([]event.Event{begun, opened, event.BriefRead{}}, finish(&after, i.Who)...)
	if left := slices.DeleteFunc(Optional(), func(s state.Stage) bool { return !slices.Contains(i.LeaveOut, s) }); len(left) > 0 {
		events = slices.Insert(events, 1, event.Event(event.StagesLeftOut{Stages: left}))
	}
	if i.Seen.Outside {
		events = append(events, event.ChannelSeen{Outside: true, Canvas: i.Seen.Canvas}, event.OutsideAgreed{})
	}
	return events, nil
}

// written is what the lead wrote of a brief, without what others add to it.
func written(b state.Brief) state.Brief {
	b.Read, b.Questions = nil, nil
	return b
}

// checkBrief holds the brief to what the later stages stand on.
func checkBrief(b state.Brief) error {
	if err := cmp.Or(
		checkText("title", "title", b.Title, MaxTitle, true),
		checkText("problem", "problem statement", b.Problem, MaxText, true),
		checkText("why", "“why now”", b.Why, MaxText, false),
		checkText("outcome", "outcome", b.Outcome, MaxText, false),
		checkText("out_of_bounds", "“out of bounds”", b.OutOfBounds, MaxText, false),
	); err != nil {
		return err
	}
	if len(b.Links) > MaxLinks {
		return refuseField("links", "There are %d links; %d fit. Please keep those that people need first.", len(b.Links), MaxLinks)
	}
	for _, link := range b.Links {
		if err := checkText("links", "link", link, MaxText, false); err != nil {
			return err
		}
	}
	return nil
}

// checkText refuses a text that is missing, too long, or no text: the journal
// is UTF-8, and other bytes would not come back as they were. Nothing is cut:
// what somebody wrote is either kept whole or handed back.
func checkText(field, name, text string, longest int, needed bool) error {
	n := utf8.RuneCountInString(text)
	return cmp.Or(
		refuseIf(!utf8.ValidString(text), field, "The %s has characters that cannot be read. Please type it again, or save the file as UTF-8.", name),
		refuseIf(needed && strings.TrimSpace(text) == "", field, "Please write the %s.", name),
		refuseIf(n > longest, field, "The %s has %d characters; %d fit. Please shorten it.", name, n, longest),
	)
}

// EditBrief changes what the lead wrote, as long as the brief is open.
type EditBrief struct {
	ByLead
	Brief state.Brief
}

func (i EditBrief) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(cmp.Or(canAnswer(k, state.StageBrief), checkBrief(i.Brief)), event.BriefEdited{Brief: written(i.Brief)})
}

// MarkRead says that the actor has read the brief.
type MarkRead struct{ By }

func (i MarkRead) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canAnswer(k, state.StageBrief); err != nil {
		return nil, err
	}
	events := finish(k, i.Who)
	if !k.Brief.Read[i.Who] { // else read before the brief was opened again
		events = append([]event.Event{event.BriefRead{}}, events...)
	}
	return events, nil
}

// Ask asks a question. It is welcome until the end: whoever reads the brief later has some
// as well, and a lead hears of each.
type Ask struct {
	By
	Ask string
}

func (i Ask) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := checkText("ask", "question", i.Ask, MaxText, true); err != nil {
		return nil, err
	}
	if slices.ContainsFunc(k.Brief.Questions, func(q state.Question) bool { return q.By == i.Who && q.Ask == i.Ask }) {
		return nil, nil // sent again, after an answer that was lost
	}
	events := []event.Event{event.QuestionAsked{N: len(k.Brief.Questions) + 1, Ask: i.Ask}}
	if canAnswer(k, state.StageBrief) == nil {
		events = append(events, finish(k, i.Who)...)
	}
	return events, nil
}

// Answer answers a question, or changes its answer; anyone who takes part
// may know.
type Answer struct {
	By
	N      int
	Answer string
}

func (i Answer) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(cmp.Or(
		refuseIf(lists.Nth(k.Brief.Questions, i.N) == nil, "", "That question is not on the list."),
		checkText("answer", "answer", i.Answer, MaxText, true),
	), event.QuestionAnswered{N: i.N, Answer: i.Answer})
}

func (b *reaction) question(n int) {
	b.showUnder(ScreenQuestion, strconv.Itoa(n), Slot{Screen: ScreenStage, Arg: string(state.StageBrief)}.Name())
	b.contents(state.StageBrief)
	b.closing()
	if b.k.Stage == state.StageUnderway {
		b.showUnder(ScreenPart, "questions", ScreenSummary)
		b.canvas(RefreshCanvas)
	}
}

func gaveBrief(k *state.Kickoff, u state.UserID, _ int) bool { return k.Brief.Read[u] }

// afterBrief says what should follow from the brief.
func afterBrief(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.Started:
		b.add(Effect{Do: ListKickoff})
		if len(Sought(b.k)) > 0 {
			b.add(Effect{Do: LookUpPeople})
		}
	case event.BriefEdited:
		b.contents(state.StageBrief)
	case event.QuestionAsked:
		b.question(e.N)
		for _, u := range state.Leading(b.k) {
			if u != b.k.Brief.Questions[e.N-1].By {
				b.tell(ScreenAsked, strconv.Itoa(e.N), u)
			}
		}
	case event.QuestionAnswered:
		b.question(e.N)
		b.update(ScreenAsked, strconv.Itoa(e.N))
	}
}
