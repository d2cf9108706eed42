package screens

import (
	"cmp"
	"errors"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/imports"
	"soundings/flows/state"
)

// The form that starts a kickoff: the brief, who takes part, how large and how fast.

// Args.N of the form in which a brief is pasted, and of the one that asks for everything.
const (
	fromPaste = -1
	withMore  = -2
)

// drawStart draws the form that begins a kickoff, in the channel Args.Choice; a
// shortcut, which belongs to no channel, asks for one. It is filled in on a phone: what
// most leads leave as it is comes with More, in the same form, so that what was typed
// stays, and from there a brief that was written elsewhere has a form of its own.
func drawStart(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Start a kickoff", "Start"
	if p.Args.N == fromPaste {
		f.Title = "Paste a brief"
		channelEntry(p, f)
		f.Text("markdown", "The brief, in Markdown", "",
			block.Hint("“# ” and the title, then “## ” and Problem, Why now, Outcome, Out of bounds or Links."))
		peopleEntries(f, setup{})
		paceEntries(f, setup{})
		return nil
	}
	more, args := p.Args.N == withMore, p.Args
	said, leads := "You lead it. It takes about two weeks, and people a few minutes a step. For less, or with a list or a brief of your own, press More.", "More"
	args.N = withMore
	if more {
		said, leads, args.N = "Say more, or choose a smaller kickoff at the end.", "Paste a Brief Instead", fromPaste
	}
	f.Add(block.Text("%s", said))
	channelEntry(p, f)
	startInputs(f, state.Brief{}, setup{}, p.Args.Choice == "", more)
	f.Add(block.Buttons(screen.Button(leads, "turn/brief.start", args)))
	return nil
}

func channelEntry(p screen.Page, f *block.Form) {
	if p.Args.Choice == "" {
		f.Channel("channel", "In which channel?", block.Hint("I have to be in it: type /invite there first."))
	}
}

// A setup is who takes part in a kickoff, in which steps, and how fast, as a form has it.
type setup struct {
	people     []state.UserID
	everybody  bool // in the channel, besides
	pace, size string
}

// everybody is the field and the value of the tick that asks all of a channel.
const everybody = "everybody"

func setupOf(v block.Values) setup {
	return setup{v.People("people"), len(v.Choices(everybody)) > 0, v.Choice("pace"), v.Choice("size")}
}

// besides are those who take part besides one, as far as they were ticked.
func (s setup) besides(u state.UserID) []state.UserID {
	return slices.DeleteFunc(slices.Clone(s.people), func(other state.UserID) bool { return other == u })
}

// hasMore reports whether a form that was sent asked for everything.
func hasMore(v block.Values) bool { _, asked := v["pace"]; return asked }

// startInputs ask for a kickoff; what is known of it stands in them.
// With a channel to be chosen it does without the links, to stay short, unless some
// were typed already: others can be added to the brief later.
func startInputs(f *block.Form, b state.Brief, s setup, channel, more bool) {
	briefProblem(f, &b)
	if more {
		briefReasons(f, &b)
	}
	if more && (!channel || len(b.Links) > 0) {
		briefLinks(f, b)
	}
	peopleEntries(f, s)
	if more {
		paceEntries(f, s)
	}
}

func peopleEntries(f *block.Form, s setup) {
	f.People("people", "Who takes part?", s.people, block.Optional, block.Hint("You are in already. People can join later."))
	var ticked []string
	if s.everybody {
		ticked = []string{everybody}
	}
	f.Ticks(everybody, "Or all at once", ticked, []block.Option{{Value: everybody, Text: "Everybody in the channel"}}, block.Optional)
}

// usualPace is how many working days a step is open where nobody chose.
const usualPace = 1

func paceEntries(f *block.Form, s setup) {
	sizeEntry(f, s.size)
	f.Select("pace", "How long is each step open?", cmp.Or(s.pace, strconv.Itoa(usualPace)), block.Numbered(10, workingDays))
}

func workingDays(n int) string { return words.Count(n, "working day", "working days") }

func submitStart(p screen.Page, v block.Values) (screen.Answer, error) {
	brief, errs := startingBrief(v)
	channel := cmp.Or(v.Channel("channel"), p.Args.Choice)
	if channel == "" {
		errs["channel"] = "Choose the channel in which the kickoff runs."
	}
	if len(errs) > 0 {
		return screen.Answer{Errors: errs}, nil
	}
	if again, ok := startAgain(p, v, brief); ok {
		return screen.Answer{Next: &again}, nil
	}
	asked := setupOf(v)
	pace, chosen := v.Number("pace")
	if !chosen {
		pace = usualPace
	}
	size := chosenSize(asked.size)
	answer, err := screen.Wants(flows.Start{
		FromOutside: flows.FromOutside{Who: p.Viewer}, ID: p.Args.Kickoff, Channel: channel,
		Brief: brief, People: persons(append([]state.UserID{p.Viewer}, asked.besides(p.Viewer)...)), Everybody: asked.everybody, Pace: pace, // the lead comes first
		GoOn: p.Args.Sure && channel == p.Args.Choice, LeaveOut: size.leaves(),
	})
	if len(size.leaves()) > 0 {
		answer.Next = redrawn("assumptions.import", screen.Page{Viewer: p.Viewer, Now: p.Now, Args: screen.Args{Kickoff: p.Args.Kickoff, Stage: string(state.StageAssumptions), Choice: listAtStart}})
	}
	if size.name == chooses {
		answer.Next = stepsNext(p)
	}
	return answer, err
}

// aloneSeen stands behind the problem in the mark of a form that has said, too, that nobody
// else takes part.
const aloneSeen = "\x00alone"

// startAgain is the form that begins a kickoff once more, with what was typed and
// with hints on the problem, or with word that nobody else takes part; ok is false when
// there is nothing to say, when it was said, or when the form would be too long an answer.
func startAgain(p screen.Page, v block.Values, brief state.Brief) (again slack.ModalViewRequest, ok bool) {
	f := block.Form{Title: "A second look", Submit: "Start"}
	asked := setupOf(v)
	both := screen.MarkOf(brief.Problem + aloneSeen)
	alone := !asked.everybody && len(asked.besides(p.Viewer)) == 0 && p.Args.Saw != both
	thinks := p.Args.Saw != both && thought(&f, &p, brief.Problem)
	if alone {
		p.Args.Saw = both
		f.Add(block.Para(block.Bold("Nobody but you takes part so far. "),
			block.Plain("Tick those whom the kickoff should ask, under “Who takes part?”. Or press Start once more: others can join later.")))
	}
	if !thinks && !alone {
		return again, false
	}
	if v.Channel("channel") != "" {
		f.Channel("channel", "In which channel?")
	}
	p.Args.N = 0 // what was pasted stands in its fields now
	startInputs(&f, brief, asked, v.Channel("channel") != "", hasMore(v))
	again = screen.Seal("brief.start", p, &f)
	return again, block.FitsAnswer(again)
}

// thought shows a lead hints on a problem, once to each text; it reports whether there
// are any.
func thought(f *block.Form, p *screen.Page, problem string) bool {
	said := hints.Problem(problem)
	if len(said) == 0 || p.Args.Saw == screen.MarkOf(problem) {
		return false
	}
	p.Args.Saw = screen.MarkOf(problem)
	f.Add(block.Para(block.Bold("A thought on the problem")), block.Sentences(said),
		block.Text("Change it below, or leave it: all of you will work on the words."))
	return true
}

// persons are people by id alone: names and zones are looked up by the shell.
func persons(ids []state.UserID) []state.Person {
	all := make([]state.Person, len(ids))
	for i, u := range ids {
		all[i].ID = u
	}
	return all
}

// startingBrief is the brief that was typed, or pasted. The errors are by field.
func startingBrief(v block.Values) (state.Brief, map[string]string) {
	own, errs := briefEntries(block.Read(v), state.Brief{}), map[string]string{}
	if _, pastes := v["markdown"]; !pastes {
		if own.Title == "" {
			errs["title"] = "Give it a title of a few words."
		}
		if own.Problem == "" {
			errs["problem"] = "Write down the problem."
		}
		return own, errs
	}
	pasted, err := imports.Brief(v.Text("markdown"))
	if r, refused := errors.AsType[*flows.Refusal](err); refused {
		errs["markdown"] = r.Reason
	}
	return pasted, errs
}
