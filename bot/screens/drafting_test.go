package screens

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/prompts"
)

// drafting is a page on which everything about drafting can be drawn.
func drafting(m moment, who state.UserID) screen.Page {
	p := pageFor(m, who)
	p.Drafting = screen.Terms{Host: "models.example:8080", Model: "second-pen", Request: "POST the problem\n" + strings.Repeat("to the letter ", 900)}
	return p
}

var someDrafts = []string{"Nobody can count on the ferry.", "People with something bulky set out in doubt.",
	"Families with bicycles learn it at the ramp.", "A visitor with a bicycle stays behind."}

// Every screen of drafting keeps the rules, whatever people wrote.
func TestDraftingKeepsTheRules(t *testing.T) {
	for play, m := range map[string]moment{"small": momentAt(t, "framing"), "hostile": hostileMomentAt(t, "framing")} {
		lead := m.K.Leads[0]
		desk, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: lead}, m.Now)
		require.NoError(t, err)
		offered := OfferDrafting(desk, m.K, lead)
		checkMessage(t, play+" desk", offered)
		n := len(labels(offered)) - len(labels(desk))
		assert.Equal(t, 1, n, "%s: the offer adds %d buttons, want one", play, n)
		p := drafting(m, lead)
		preview, err := Open("draft.ladder", p)
		require.NoError(t, err)
		checkView(t, play+" preview", preview)
		checkSize(t, play+" preview", preview, longestView)
		p.Args = p.Args.WithDrafts(someDrafts)
		p.Drafting.Said = prompts.Explain(prompts.Ladder, prompts.ErrUnavailable)
		drafts, err := Open("draft.use", p)
		require.NoError(t, err)
		checkView(t, play+" drafts", drafts)
		checkView(t, play+" none", noDrafts(p, prompts.Explain(prompts.Ladder, prompts.ErrNoDraft)))
	}
}

func TestDraftingLooksAsAgreed(t *testing.T) {
	m := momentAt(t, "framing")
	desk, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: "U1"}, m.Now)
	require.NoError(t, err)
	golden(t, "drafting--desk", PlainText(OfferDrafting(desk, m.K, "U1")))
	p := drafting(m, "U1")
	p.Drafting.Request = "POST http://models.example:8080/v1/chat/completions\nmodel: second-pen"
	preview, err := Open("draft.ladder", p)
	require.NoError(t, err)
	golden(t, "drafting--preview", PlainForm(preview))
	p.Args = p.Args.WithDrafts(someDrafts)
	drafts, err := Open("draft.use", p)
	require.NoError(t, err)
	golden(t, "drafting--drafts", PlainForm(drafts))
	golden(t, "drafting--none", PlainForm(noDrafts(p, prompts.Explain(prompts.Ladder, prompts.ErrUnavailable))))
	golden(t, "drafting--waiting", PlainForm(Drafting()))
}

// What would not be taken is refused before anybody reads a preview.
func TestWhoMaySeeThePreview(t *testing.T) {
	m := momentAt(t, "framing")
	spent := drafting(m, "U1")
	spent.Kickoff.Framing.Drafts = flows.MostDrafts
	off := pageFor(m, "U1")
	for rule, p := range map[string]screen.Page{
		"a participant":          drafting(m, "U2"),
		"the ladder has closed":  drafting(momentAt(t, "framing/settling"), "U1"),
		"the ladder is to come":  drafting(momentAt(t, "brief"), "U1"),
		"the limit is reached":   spent,
		"drafting is turned off": off,
	} {
		_, err := Open("draft.ladder", p)
		var refused *flows.Refusal
		if !assert.ErrorAs(t, err, &refused, "%s: the preview gives %v, want a refusal", rule, err) {
			continue
		}
		checkSentence(t, rule, refused.Reason)
	}
	for rule, p := range map[string]screen.Page{"a participant": drafting(m, "U2"), "the ladder has closed": drafting(momentAt(t, "framing/settling"), "U1")} {
		assert.Empty(t, OfferDrafting(screen.Posting{Text: "x"}, p.Kickoff, p.Viewer).Blocks, "%s is offered drafts", rule)
	}
}

// The preview shows the whole request to the letter, in pieces that fit.
func TestPreviewLeavesNothingOut(t *testing.T) {
	p := drafting(momentAt(t, "framing"), "U1")
	var shown strings.Builder
	view, err := Open("draft.ladder", p)
	require.NoError(t, err)
	for _, b := range view.Blocks.BlockSet {
		if text, ok := b.(*slack.RichTextBlock); ok && text.Elements[0].RichTextElementType() == slack.RTEPreformatted {
			shown.WriteString(plainBlock(b))
		}
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
	assert.Equal(t, squeeze(p.Drafting.Request), squeeze(shown.String()), "shown are %d characters of %d", shown.Len(), len(p.Drafting.Request))
}

// Of the drafts offered before as many travel as fit, the latest four always.
func TestDraftsTravelWithTheForm(t *testing.T) {
	var a screen.Args
	for range flows.MostDrafts {
		var four []string
		for _, c := range []string{"ä", "ё", "語", "z"} {
			four = append(four, strings.Repeat(c, 199))
		}
		a = a.WithDrafts(four)
		back, err := screen.ParseArgs(a.String())
		require.NoError(t, err)
		// the platform's limit for private_metadata
		require.LessOrEqual(t, utf8.RuneCountInString(a.String()), 3000, "characters travel")
		fields := draftFields(back)
		for i, f := range fields {
			assert.False(t, f.draft != four[i] || f.level != draftLevels()[i], "draft %d comes back on level %d as %.8q", i, f.level, f.draft)
		}
		require.Len(t, fields, 4, "drafts come back")
	}
}

func TestOpeningsAreCompleted(t *testing.T) {
	const opening = "People who … cannot …, because …"
	for _, test := range []struct{ rule, opening, typed, want string }{
		{"without an opening the words stand as they are", "", " Nobody knows", " Nobody knows"},
		{"one line goes on after the first words", opening, "bring a bicycle never know.", "People who bring a bicycle never know."},
		{"a line for each gap fills them", opening, "bring a bicycle.\n\n plan a trip\nnobody counts", "People who bring a bicycle cannot plan a trip, because nobody counts."},
		{"dots in a line are no gap", opening, "wait …\nplan\nit is full", "People who wait … cannot plan, because it is full."},
		{"an end of ours stays", "Those who … feel that … is not made for them.", "cycle\nthe ferry", "Those who cycle feel that the ferry is not made for them."},
		{"nothing typed is nothing", opening, "", ""},
		{"too few lines", opening, "a\nb", ""},
		{"too many lines", opening, "a\nb\nc\nd", ""},
	} {
		got, fault := completed(test.opening, test.typed)
		assert.Equal(t, test.want, got, "%s: got %q (%s)", test.rule, got, fault)
		assert.NotEqual(t, (test.want == "" && test.typed != ""), (fault == ""), "%s: got %q (%s)", test.rule, got, fault)
		if fault != "" {
			checkSentence(t, test.rule, fault)
		}
	}
}

// Every opening can be chosen, shows whole, and is found again.
func TestEveryOpeningCanBeChosen(t *testing.T) {
	all := openingOptions()
	for _, o := range all {
		assert.Equal(t, o.Text, openingOf(o.Value), "the option %s is %q and leads to", o.Value, o.Text)
		assert.NotEqual(t, "", o.Text, "the option %s is %q and leads to", o.Value, o.Text)
		assert.LessOrEqual(t, utf8.RuneCountInString(o.Text), 75, "the option %s is %q and leads to", o.Value, o.Text)
	}
	assert.GreaterOrEqual(t, len(all), 15, "there are %d openings", len(all))
	for _, value := range []string{"", "x", "1", "1/x", "1/99", "1/-1", "7/0"} {
		assert.Equal(t, "", openingOf(value), "%q leads to", value)
	}
	k := filled{moment: "framing", form: "framing.add", who: "U3",
		fill: map[string]string{"level": "1", "opening": "1/0", "text": "cycle\nit is full"}}.taken(t)
	assert.Equal(t, "People who cycle find out too late that it is full.", k.Framing.Wordings[2].Text, "the wording")
}

// beliefPage is a page about A2, which U2 wrote.
func beliefPage(t *testing.T, who state.UserID) screen.Page {
	t.Helper()
	p := drafting(momentAt(t, "assumptions"), who)
	p.Drafting.Request = "POST http://models.example:8080/v1/chat/completions\nmodel: second-pen"
	p.Args.Assumption, p.Args.N = "A2", 1
	return p
}

// gistPage is a page about A1, on which there are unsigned reasons.
func gistPage(t *testing.T) screen.Page {
	t.Helper()
	m := momentAt(t, "rating/2")
	for _, text := range []string{"Nobody looked when we asked.", "On Sundays everybody looks."} {
		m = take(t, m, flows.GiveReason{By: flows.By{Who: "U3"}, Assumption: "A1", Text: text})
	}
	p := drafting(m, "U1")
	p.Drafting.Request = "POST http://models.example:8080/v1/chat/completions\nmodel: second-pen"
	p.Args.N = 1
	return p
}

// Each step of the other drafts, as people see it.
func TestOtherDraftsLookAsAgreed(t *testing.T) {
	belief, gist := beliefPage(t, "U2"), gistPage(t)
	why := prompts.Explain(prompts.Plainer, prompts.ErrUnavailable)
	const draft = "People at the pier trust the sign."
	for name, open := range map[string]struct {
		form   string
		page   screen.Page
		drafts []string
		said   string
	}{
		"plainer-preview": {"draft.plainer", belief, nil, ""},
		"plainer-draft":   {"draft.plainer.use", belief, []string{draft}, ""},
		"plainer-none":    {"draft.plainer.use", belief, nil, why},
		"split-preview":   {"draft.split", belief, nil, ""},
		"split-draft":     {"draft.split.use", belief, []string{draft, "The sign costs little."}, ""},
		"split-none":      {"draft.split.use", belief, nil, why},
		"split-by-hand":   {"assumptions.split", belief, nil, ""},
		"change":          {"assumptions.edit", belief, nil, ""},
		"gist-preview":    {"draft.gist", gist, nil, ""},
		"gist-draft":      {"draft.gist.use", gist, []string{"Some asked and saw nobody look. Others see that on Sundays people look."}, ""},
		"gist-none":       {"draft.gist.use", gist, nil, why},
	} {
		p := open.page
		p.Drafting.Said = open.said
		if open.drafts != nil {
			p.Args = p.Args.WithDrafts(open.drafts)
		}
		view, err := Open(open.form, p)
		if !assert.NoError(t, err, name) {
			continue
		}
		checkView(t, name, view)
		golden(t, "drafting--"+name, PlainForm(view))
	}
}

func TestGistsLookAsAgreed(t *testing.T) {
	p := gistPage(t)
	m := moment{K: p.Kickoff, Now: p.Now}
	slot := flows.Slot{Screen: flows.ScreenDesk, To: "U1"}
	desk, err := Message(m.K, slot, m.Now)
	require.NoError(t, err)
	golden(t, "drafting--desk-gist", PlainText(OfferDrafting(desk, m.K, "U1")))
	checkMessage(t, "desk", OfferDrafting(desk, m.K, "U1"))
	assert.Len(t, OfferDrafting(desk, momentAt(t, "rating/2").K, "U1").Blocks, len(desk.Blocks), "a gist is offered without reasons")
	assert.Len(t, OfferDrafting(desk, m.K, "U2").Blocks, len(desk.Blocks), "somebody who does not lead is offered a gist")
	for name, drafted := range map[string]bool{"drafting--gist-machine": true, "drafting--gist-lead": false} {
		posted := take(t, m, flows.PostGist{ByLead: flows.ByLead{Who: "U1"}, Assumption: "A1",
			Text: "Some asked and saw nobody look. Others see that on Sundays people look.", Drafted: drafted})
		message, err := Message(posted.K, flows.Slot{Screen: flows.ScreenGist, Arg: "A1"}, m.Now)
		require.NoError(t, err)
		checkMessage(t, name, message)
		checkPoint(t, name, message)
		golden(t, name, PlainText(message))
	}
}

// A text that seems to hold two beliefs is offered to be taken apart, by hand
// and with a model where there is one.
func TestSecondLookOffersToSplit(t *testing.T) {
	const two = "Passengers read the sign and they trust it."
	p := drafting(momentAt(t, "assumptions"), "U2")
	fill := block.Values{"text": {block.InputAction: slack.BlockAction{Value: two}}, "because": {block.InputAction: slack.BlockAction{Value: "We asked."}}}
	answer, err := Submit("assumptions.add", p, fill)
	require.NoError(t, err, "got %+v and", answer)
	require.NotNil(t, answer.Next, "got %+v and", answer)
	checkView(t, "second look", *answer.Next)
	golden(t, "drafting--second-look", PlainForm(*answer.Next))
	halves, err := Halves(p, fill)
	require.NoError(t, err)
	checkView(t, "halves", halves)
	golden(t, "drafting--halves", PlainForm(halves))
	p.Drafting = screen.Terms{}
	answer, err = Submit("assumptions.add", p, fill)
	assert.False(t, err != nil || answer.Next == nil || strings.Contains(PlainForm(*answer.Next), "Draft"), "without a model, drafts are offered (%v)", err)
	assert.Contains(t, PlainForm(*answer.Next), "[Take It Apart]", "without a model, it cannot be taken apart by hand")
	read, err := Submit("assumptions.halves", p, fillIn(t, halves, nil))
	require.NoError(t, err, "got %+v and", read)
	require.Len(t, read.Intents, 2, "got %+v and", read)
	for i, want := range []string{"Passengers read the sign.", "They trust it."} {
		got := read.Intents[i].(flows.AddAssumption)
		assert.Equal(t, want, got.Text, "belief %d is %+v", i+1, got)
		assert.Equal(t, "We asked.", got.Because, "belief %d is %+v", i+1, got)
	}
}

// What cannot be taken apart is said at its field.
func TestPartsThatAreAmiss(t *testing.T) {
	p := beliefPage(t, "U2")
	view, err := Open("assumptions.split", p)
	require.NoError(t, err)
	for rule, fill := range map[string]map[string]string{
		"part/2/1": {"part/1/1": "The sign is read.", "part/2/1": " "},
		"part/3/1": {"part/1/1": "The sign is read.", "part/2/1": "It is trusted.", "part/3/1": "the sign is read. "},
		"part/1/1": {"part/2/1": "It is trusted."}, // the first holds the whole
	} {
		answer, err := Submit("assumptions.split", p, fillIn(t, view, fill))
		assert.False(t, err != nil || len(answer.Intents) > 0 || answer.Errors[rule] == "", "%v gives %+v and %v, want a fault at %s", fill, answer, err, rule)
		checkSentence(t, rule, answer.Errors[rule])
	}
}

// Of four drafts those that passed are shown, each on its rung, and what did not pass
// leaves no empty field to wonder at.
func TestDraftsThatPassedAreShown(t *testing.T) {
	m := momentAt(t, "framing")
	p := pageFor(m, "U1")
	p.Args = p.Args.WithDrafts([]string{"", "Islanders cannot plan the way home.", "Families learn at the ramp that the ferry is full.", ""})
	view, err := Open("draft.use", p)
	require.NoError(t, err)
	checkView(t, "draft.use", view)
	drawn := PlainForm(view)
	assert.Contains(t, drawn, "did not pass our checks")
	assert.Len(t, inputsOf(view), 4, "two fields for each draft")
	fields := draftFields(p.Args)
	require.Len(t, fields, 2)
	assert.Equal(t, []int{1, -1}, []int{fields[0].level, fields[1].level})
	v := ticked(typedIn(block.Values{}, fields[1].text, fields[1].draft), fields[1].use, "yes")
	answer, err := Submit("draft.use", p, v)
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	added := answer.Intents[0].(flows.AddWording)
	assert.Equal(t, -1, added.Level)
	assert.Equal(t, "Families learn at the ramp that the ferry is full.", added.Text)
	assert.True(t, added.Drafted)
}
