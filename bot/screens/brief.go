package screens

import (
	"net/url"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/imports"
	"soundings/flows/state"
)

func briefForms() map[string]screen.Form {
	return map[string]screen.Form{
		"brief.start":  {Fill: drawStart, Submit: submitStart},
		"brief.edit":   {May: screen.Both(screen.MayLead, screen.Answering(state.StageBrief)), Fill: changedBrief, Submit: submitBrief},
		"brief.whole":  {Fill: showBrief},
		"brief.ask":    {May: screen.MayTakePart, Fill: newQuestion},
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
		Buttons: append([]*slack.ButtonBlockElement{read, screen.Button("Mark as Read", "do/brief.read", args)}, screen.AskButton(p)...),
		Stays:   append([]slack.Block{problem}, block.Buttons(append([]*slack.ButtonBlockElement{read}, screen.AskButton(p)...)...)),
	}, nil
}

func briefNudge(p screen.Page) screen.Nudge {
	return screen.Owed(p, "The brief waits to be read. It is in the channel; ask there if something is not clear.",
		screen.HereButton(p, "Mark as Read", "do/brief.read"))
}

func briefDesk(p screen.Page) []screen.Control {
	all := []screen.Control{{Button: screen.Button("Edit the Brief", "open/brief.edit", screen.StageArgs(p, state.StageBrief)), Does: "Change what the brief says."}}
	if k := p.Kickoff; slices.Contains(k.LeftOut, state.StageAssumptions) { // it has no step of its own, in which the list is changed
		all = append(all, screen.Can(screen.Button("The List", "open/assumptions.list", screen.StageArgs(p, state.StageAssumptions)), "Paste the assumptions, or change them."))
	}
	return all
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

// briefEntries are the texts of a brief.
func briefEntries(f *block.Form, b state.Brief) state.Brief {
	briefProblem(f, &b)
	briefReasons(f, &b)
	b.Links = briefLinks(f, b)
	return b
}

func briefLinks(f *block.Form, b state.Brief) []string {
	return imports.Links(f.Text("links", "Links, one a line", linesOf(b.Links), block.Optional))
}

// briefProblem is what no brief does without.
func briefProblem(f *block.Form, b *state.Brief) {
	b.Title = screen.TitleEntry(f, "title", "Title", b.Title)
	b.Problem = f.Text("problem", "The problem", b.Problem, block.Hint("For whom, when, and how does it show?"))
}

func briefReasons(f *block.Form, b *state.Brief) {
	b.Why = f.Text("why", "Why now, and not in a year?", b.Why, block.Optional)
	b.Outcome = f.Text("outcome", "The outcome you hope for", b.Outcome, block.Optional, block.Hint("What would be different, by which measure?"))
	b.OutOfBounds = f.Text("out_of_bounds", "Out of bounds", b.OutOfBounds, block.Optional)
}

// linesOf joins lines as far as an input holds them.
func linesOf(lines []string) string {
	text := strings.Join(lines, "\n")
	for utf8.RuneCountInString(text) > flows.MaxText {
		text = text[:max(0, strings.LastIndex(text, "\n"))]
	}
	return text
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
