package screens

import (
	"cmp"
	"errors"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/imports"
	"soundings/flows/state"
)

func briefForms() map[string]screen.Form {
	return map[string]screen.Form{
		"brief.start":  {Fill: drawStart, Submit: submitStart},
		"brief.edit":   {May: screen.Both(screen.MayLead, screen.Answering(state.StageBrief)), Fill: changedBrief, Submit: submitBrief},
		"brief.whole":  {Fill: showBrief},
		"brief.ask":    {May: screen.Both(screen.MayTakePart, mayAsk), Fill: newQuestion},
		"brief.answer": {May: screen.Both(screen.MayTakePart, hasQuestion), Fill: answeredQuestion},
	}
}

var briefActions = map[string]screen.Action{"brief.read": func(p screen.Page) (flows.Intent, string) {
	return flows.MarkRead{By: screen.By(p)}, "Thank you. Nothing else is asked of you until the next step opens."
}}

// shownProblem is how much of the problem a message shows, in characters; the
// rest is one press away.
const shownProblem = 240

// briefAsks asks people to read the brief, which is one press away. It stays
// readable after its close, and questions stay welcome until the summary is out:
// what follows stands on these lines, and who joins later needs them.
func briefAsks(p screen.Page) (screen.Asking, error) {
	k := p.Kickoff
	args := screen.StageArgs(p, state.StageBrief)
	problem := block.Quote(block.Typed(k.Brief.Problem, shownProblem))
	read := screen.Button("Read the Brief", "open/brief.whole", args)
	return screen.Asking{
		Heading: k.Brief.Title,
		Ask:     "Read the brief, then mark it as read or ask what is not clear.",
		Minutes: readingMinutes(k.Brief),
		Body:    []slack.Block{problem},
		Buttons: append([]*slack.ButtonBlockElement{read, screen.Button("Mark as Read", "do/brief.read", args)}, askButtons(p)...),
		Stays:   append([]slack.Block{problem}, block.Buttons(append([]*slack.ButtonBlockElement{read}, askButtons(p)...)...)),
	}, nil
}

func briefNudge(p screen.Page) screen.Nudge {
	return screen.Owed(p, "The brief waits to be read. It is in the channel; ask there if something is not clear.",
		screen.HereButton(p, "Mark as Read", "do/brief.read"))
}

func briefDesk(p screen.Page) []screen.Control {
	all := []screen.Control{{Button: screen.Button("Edit the Brief", "open/brief.edit", screen.StageArgs(p, state.StageBrief)), Does: "Change what the brief says."}}
	if k := p.Kickoff; slices.Contains(k.LeftOut, state.StageAssumptions) { // it has no step of its own, in which the list is changed
		all = append(all, screen.Can(screen.Button("The List", "open/assumptions.list", screen.StageArgs(p, state.StageAssumptions)), "Paste the assumptions, or change them, until the brief closes."))
	}
	return all
}

// askButtons are the buttons that stay after the close.
func askButtons(p screen.Page) []*slack.ButtonBlockElement {
	if !asksWelcome(p.Kickoff) {
		return nil
	}
	return []*slack.ButtonBlockElement{screen.Button("Ask a Question", "open/brief.ask", screen.StageArgs(p, state.StageBrief))}
}

func asksWelcome(k state.Kickoff) bool {
	return k.Stage != state.StageUnderway && k.Stage != state.StageEnded
}

// wordsPerMinute is how fast people read on a screen (common practice, no
// source); thinking and pressing take a minute more.
const wordsPerMinute = 200

func readingMinutes(b state.Brief) int {
	n := 0
	for _, text := range []string{b.Problem, b.Why, b.Outcome, b.OutOfBounds} {
		n += len(strings.Fields(text))
	}
	return 2 + n/wordsPerMinute
}

// peopleInARow names who takes part, and counts those whose names are not known.
func peopleInARow(k state.Kickoff) []block.Run {
	sought, named := 0, []state.UserID(nil)
	for _, p := range k.People {
		switch {
		case p.Gone:
		case p.Sought:
			sought++
		default:
			named = append(named, p.ID)
		}
	}
	people := block.InARow(named, 20, func(u state.UserID) block.Run { return block.Typed(k.Name(u), 40) })
	switch {
	case len(people) == 0 && sought == 0:
		return []block.Run{block.Plain("nobody")}
	case sought == 0:
		return people
	case len(people) > 0:
		people = append(people, block.Plain(", and "))
	}
	return append(people, block.Plain("%s whose names and time zones I am still looking up. Until I know them, I go by the working hours of ",
		words.Count(sought, "person", "people")), block.Typed(words.LeadName(k), 40), block.Plain("."))
}

// briefParts are the texts beside the problem that were written.
func briefParts(b state.Brief) [][2]string {
	var parts [][2]string
	for _, part := range [][2]string{{"Why now", b.Why}, {"The outcome we hope for", b.Outcome}, {"Out of bounds", b.OutOfBounds}} {
		if strings.TrimSpace(part[1]) != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

var webAddress = regexp.MustCompile(`https?://[^\s<>"|]+`)

// linkWords makes the web address in a line one that can be followed. It is
// shown as it is, if need be only its beginning, and never under another
// name, so that it leads where it says.
func linkWords(line string, longest int) []block.Run {
	at := webAddress.FindStringIndex(line)
	if at == nil {
		return []block.Run{block.Typed(line, longest)}
	}
	address := line[at[0]:at[1]]
	if u, err := url.Parse(address); err != nil || u.Host == "" || u.User != nil {
		return []block.Run{block.Typed(line, longest)}
	}
	var runs []block.Run
	if before := line[:at[0]]; before != "" {
		runs = append(runs, block.Typed(before, longest/2))
	}
	runs = append(runs, slack.NewRichTextSectionLinkElement(address, words.Clip(address, longest/2), nil))
	if after := line[at[1]:]; after != "" {
		runs = append(runs, block.Typed(after, longest/2))
	}
	return runs
}

func linkList(links []string, most, longest int) []slack.Block {
	return block.List(links, most, func(l string) []block.Run { return linkWords(l, longest) })
}

// showBrief shows every text of the brief as it was written, and who takes part.
func showBrief(p screen.Page, f *block.Form) flows.Intent {
	b := p.Kickoff.Brief
	f.Title = "The brief"
	f.Add(block.Heading(b.Title), block.Para(block.Bold("The problem")), block.Quote(block.Typed(b.Problem, flows.MaxText)))
	for _, part := range briefParts(b) {
		f.Add(block.Para(block.Bold("%s", part[0])), block.Para(block.Typed(part[1], flows.MaxText)))
	}
	if len(b.Links) > 0 {
		f.Add(block.Para(block.Bold("Links")))
		f.Add(linkList(b.Links, 100, flows.MaxText/2)...)
	}
	f.Add(block.Para(append([]block.Run{block.Bold("Leads: "), block.Typed(words.LeadName(p.Kickoff), 60), block.Bold("\nTaking part: ")}, peopleInARow(p.Kickoff)...)...))
	return nil
}

// questionMessage is one question in the brief's thread, with its answer.
func questionMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	q, err := screen.Numbered(k.Brief.Questions, "question", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	from := words.Clip(k.Name(q.By), 60)
	args := screen.StageArgs(p, state.StageBrief)
	args.N = q.N
	blocks := []slack.Block{block.Para(block.BoldTyped(from, 60), block.Plain(" asks:")), block.Quote(block.Typed(q.Ask, flows.MaxText))}
	if q.Answer == "" && hints.AsksWhen(q.Ask) {
		blocks = append(blocks, untilDecided(k)...)
	}
	text, answer := fmt.Sprintf("%s asks: %s If you know, press Answer.", from, words.Clip(words.OneLine(q.Ask), 200)), "Answer"
	if q.Answer != "" {
		blocks = append(blocks, block.Para(block.BoldTyped(k.Name(q.Answered), 60), block.Plain(" answers:")), block.Quote(block.Typed(q.Answer, flows.MaxText)))
		text, answer = fmt.Sprintf("%s asked: %s %s answers: %s", from, words.Clip(words.OneLine(q.Ask), 80), words.Clip(k.Name(q.Answered), 40), words.Clip(words.OneLine(q.Answer), 160)), "Change the Answer"
	}
	if k.Stage != state.StageEnded {
		blocks = append(blocks, block.Buttons(screen.Button(answer, "open/brief.answer", args)))
	}
	return screen.Posting{Text: block.Escape(text), Blocks: blocks}, nil
}

// untilDecided answers at once whoever asks when it will be built: nobody is to wait for
// a lead only to hear that.
func untilDecided(k state.Kickoff) []slack.Block {
	at, certain := flows.DecisionAbout(&k)
	switch {
	case at.IsZero():
		return []slack.Block{block.Text("Nobody can say that yet: this kickoff ends with its summary, and whether to build is decided after it.")}
	case certain:
		return []slack.Block{block.Para(block.Plain("Nobody can say that yet: whether it is built at all is decided on "), block.Day(at), block.Plain(", when the time box ends."))}
	}
	return []slack.Block{block.Para(block.Plain("Nobody can say that yet: whether it is built at all is decided after the tests, about "), block.Day(at), block.Plain("."))}
}

// askedMessage brings a question to a lead, who may know the answer.
func askedMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	q, err := screen.Numbered(k.Brief.Questions, "question", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	if q.Answer != "" {
		return screen.Line(p, "A question about the brief", fmt.Sprintf("%s has answered it; both stand under the brief.", words.Clip(k.Name(q.Answered), 60))), nil
	}
	out, err := questionMessage(p, arg)
	out.Text = screen.Aloud(k, "%s asks: %s Press Answer, if you know.", words.Clip(k.Name(q.By), 60), words.Clip(words.OneLine(q.Ask), 200))
	out.Blocks = slices.Concat([]slack.Block{block.Heading("A question about the brief")}, out.Blocks, []slack.Block{block.Note("Anyone may answer. It also stands under the brief in the channel.")})
	return out, err
}

func mayAsk(p screen.Page) error {
	if !asksWelcome(p.Kickoff) {
		return screen.Refuse("The summary is out, with the questions that were open. Please ask in the channel.")
	}
	return nil
}

func newQuestion(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Ask a question", "Ask"
	return flows.Ask{By: screen.By(p), Ask: f.Text("ask", "What is not clear?", "",
		block.Hint("It goes into the brief's thread under your name. Anyone who knows can answer. Asking counts as having read the brief."))}
}

func hasQuestion(p screen.Page) error {
	_, err := screen.Numbered(p.Kickoff.Brief.Questions, "question", strconv.Itoa(p.Args.N))
	return err
}

func answeredQuestion(p screen.Page, f *block.Form) flows.Intent {
	q, _ := screen.Numbered(p.Kickoff.Brief.Questions, "question", strconv.Itoa(p.Args.N))
	f.Title, f.Submit = "Answer", "Share the Answer"
	f.Add(block.Para(block.BoldTyped(p.Kickoff.Name(q.By), 60), block.Plain(" asks:")), block.Quote(block.Typed(q.Ask, flows.MaxText)))
	return flows.Answer{By: screen.By(p), N: p.Args.N, Answer: f.Text("answer", "The answer", q.Answer, block.Hint("It goes into the thread under your name."))}
}

// The forms in which a lead writes the brief.

// fromPaste is Args.N of the form in which a brief is pasted.
const fromPaste = -1

// drawStart draws the form that begins a kickoff, in the channel Args.Choice; a
// shortcut, which belongs to no channel, asks for one. What most people leave as it is
// can be changed from the desk, and a brief that was written elsewhere has a form of its
// own: this one is filled in on a phone.
func drawStart(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Start a kickoff", "Start"
	if p.Args.N == fromPaste {
		f.Title = "Paste a brief"
		channelEntry(p, f)
		f.Text("markdown", "The brief, in Markdown", "",
			block.Hint("“# ” and the title, then “## ” and Problem, Why now, Outcome, Out of bounds or Links."))
		peopleEntries(f, nil, "1", "")
		return nil
	}
	f.Add(block.Text("You lead it, in the channel, over about two weeks. Each step takes people a few minutes."))
	channelEntry(p, f)
	startInputs(f, state.Brief{}, nil, "1", "", p.Args.Choice == "")
	args := p.Args
	args.N = fromPaste
	f.Add(block.Buttons(screen.Button("Paste a Brief Instead", "turn/brief.start", args)))
	return nil
}

func channelEntry(p screen.Page, f *block.Form) {
	if p.Args.Choice == "" {
		f.Channel("channel", "In which channel?", block.Hint("I have to be in it: type /invite there first."))
	}
}

// startInputs ask for a kickoff; what is known of it stands in them.
// With a channel to be chosen it does without the links, to stay short, unless some
// were typed already: others can be added to the brief later.
func startInputs(f *block.Form, b state.Brief, people []state.UserID, pace, size string, channel bool) {
	briefTexts(f, b)
	if !channel || len(b.Links) > 0 {
		briefLinks(f, b)
	}
	peopleEntries(f, people, pace, size)
}

// peopleEntries ask who takes part, in which steps, and how fast.
func peopleEntries(f *block.Form, people []state.UserID, pace, size string) {
	f.People("people", "Who takes part?", people, block.Optional, block.Hint("You are in already. People can join later."))
	sizeEntry(f, size)
	f.Select("pace", "How long is each step open?", pace, block.Numbered(10, workingDays),
		block.Hint("In each person's working days."))
}

func workingDays(n int) string { return words.Count(n, "working day", "working days") }

// briefEntries are the texts of a brief.
func briefEntries(f *block.Form, b state.Brief) state.Brief {
	out := briefTexts(f, b)
	out.Links = briefLinks(f, b)
	return out
}

func briefLinks(f *block.Form, b state.Brief) []string {
	return imports.Links(f.Text("links", "Links, one a line", linesOf(b.Links), block.Optional))
}

func briefTexts(f *block.Form, b state.Brief) state.Brief {
	return state.Brief{
		Title: screen.TitleEntry(f, "title", "Title", b.Title),
		Problem: f.Text("problem", "The problem", b.Problem,
			block.Hint("For whom, when, and how does it show? One or two sentences.")),
		Why:         f.Text("why", "Why now, and not in a year?", b.Why, block.Optional),
		Outcome:     f.Text("outcome", "The outcome you hope for", b.Outcome, block.Optional, block.Hint("What would be different, by which measure?")),
		OutOfBounds: f.Text("out_of_bounds", "Out of bounds", b.OutOfBounds, block.Optional),
	}
}

// linesOf joins lines as far as an input holds them.
func linesOf(lines []string) string {
	text := strings.Join(lines, "\n")
	for utf8.RuneCountInString(text) > flows.MaxText {
		text = text[:max(0, strings.LastIndex(text, "\n"))]
	}
	return text
}

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
	others := slices.DeleteFunc(v.People("people"), func(u state.UserID) bool { return u == p.Viewer })
	pace, _ := v.Number("pace")
	size := chosenSize(v.Choice("size"))
	answer, err := screen.Wants(flows.Start{
		FromOutside: flows.FromOutside{Who: p.Viewer}, ID: p.Args.Kickoff, Channel: channel,
		Brief: brief, People: persons(append([]state.UserID{p.Viewer}, others...)), Pace: pace, // the lead comes first
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
	others := slices.DeleteFunc(v.People("people"), func(u state.UserID) bool { return u == p.Viewer })
	both := screen.MarkOf(brief.Problem + aloneSeen)
	alone := len(others) == 0 && p.Args.Saw != both
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
	startInputs(&f, brief, v.People("people"), v.Choice("pace"), v.Choice("size"), v.Channel("channel") != "")
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

func changedBrief(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Edit the brief", "Save"
	return flows.EditBrief{ByLead: screen.ByLead(p), Brief: briefEntries(f, p.Kickoff.Brief)}
}

// submitBrief saves the brief, after a second look at a problem that is new.
func submitBrief(p screen.Page, v block.Values) (screen.Answer, error) {
	f := block.Read(v)
	intent := changedBrief(p, f)
	brief := intent.(flows.EditBrief).Brief
	again := block.Form{Title: "A second look", Submit: "Save"}
	if brief.Problem != p.Kickoff.Brief.Problem && thought(&again, &p, brief.Problem) {
		briefEntries(&again, brief)
		if view := screen.Seal("brief.edit", p, &again); block.FitsAnswer(view) {
			return screen.Answer{Next: &view}, nil
		}
	}
	return screen.Answer{Intents: []flows.Intent{intent}, Errors: f.Faults}, nil
}
