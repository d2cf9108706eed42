package flows

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/state"
)

// hostileTexts are what people may type or paste: none may be changed by a
// character.
func hostileTexts() []string {
	return []string{
		"<!channel> <@U024BE7LH> <#C024BE7LR|general> <https://example.org|label> &amp; &lt;",
		"=HYPERLINK(\"https://example.org\";\"x\")", "+1", "-1", "@SUM(A1:A9)", "\tTabbed",
		"{{.Title}} ${HOME} %s %d %!v(MISSING) {0} <%= x %>",
		"*bold* _italic_ ~gone~ `code` ```fence``` | a | b |\n|---|---|\n# heading\n> quote",
		"line\nbreak\r\nand\rreturn\u2028separator\u2029paragraph\v\f",
		"\u202eright to left\u202c \u200f\u200b\u200d\ufeff zero width",
		"'); DROP TABLE assumptions; --", "null", "\"quoted\" 'single' “typographic” \\ backslash \\n",
		"नमस्ते 你好 שלום مرحبا 👩‍👩‍👧‍👦 🇵🇹 e\u0301 \U0001F6B2", "\u0000\u0001\u001b[31mred\u001b[0m\u007f",
		"  leading and trailing  ",
		strings.Repeat("a", MaxText), strings.Repeat("自", MaxText), strings.Repeat("🚲", MaxText), strings.Repeat("<", MaxText),
	}
}

// A textField is one place where somebody types.
type textField struct {
	field   string // of the intent, or of what it holds
	stage   string // that takes it
	longest int
	before  Intent // what has to be there first
	typed   func(text string) Intent
	kept    func(k state.Kickoff) string // what the state then holds
}

func textFields() []textField {
	return slices.Concat(briefFields(), middleFields(), lateFields(), summaryFields())
}

func briefFields() []textField {
	var fields []textField
	for _, f := range []struct {
		name    string
		longest int
		part    func(b *state.Brief) *string
	}{
		{"Title", MaxTitle, func(b *state.Brief) *string { return &b.Title }},
		{"Why", MaxText, func(b *state.Brief) *string { return &b.Why }},
		{"Outcome", MaxText, func(b *state.Brief) *string { return &b.Outcome }},
		{"OutOfBounds", MaxText, func(b *state.Brief) *string { return &b.OutOfBounds }},
		{"Problem", MaxText, func(b *state.Brief) *string { return &b.Problem }},
		{"Links", MaxText, func(b *state.Brief) *string { return &b.Links[1] }},
	} {
		written := func(text string) state.Brief {
			b := state.Brief{Title: "Bicycles", Problem: "Nobody can tell whether there is room.", Links: []string{"https://example.org", "x"}}
			*f.part(&b) = text
			return b
		}
		kept := func(k state.Kickoff) string { return *f.part(&k.Brief) }
		fields = append(fields,
			textField{"Start.Brief." + f.name, "", f.longest, nil, func(s string) Intent { return Start{Brief: written(s), People: []state.Person{{ID: "ines"}}} }, kept},
			textField{"EditBrief.Brief." + f.name, "brief", f.longest, nil, func(s string) Intent { return EditBrief{Brief: written(s)} }, kept})
	}
	return append(fields,
		textField{"Ask.Ask", "brief", MaxText, nil,
			func(s string) Intent { return Ask{Ask: s} },
			func(k state.Kickoff) string { return k.Brief.Questions[0].Ask }},
		textField{"Answer.Answer", "framing", MaxText, Ask{Ask: "x"},
			func(s string) Intent { return Answer{N: 1, Answer: s} },
			func(k state.Kickoff) string { return k.Brief.Questions[0].Answer }})
}

func middleFields() []textField {
	return []textField{
		{"AddWording.Text", "framing", MaxText, nil,
			func(s string) Intent { return AddWording{Text: s} },
			func(k state.Kickoff) string { return k.Framing.Wordings[0].Text }},
		{"EditWording.Text", "framing", MaxText, AddWording{Text: "x"},
			func(s string) Intent { return EditWording{N: 1, Text: s} },
			func(k state.Kickoff) string { return k.Framing.Wordings[0].Text }},
		{"SettleFraming.Problem", "framing settling", MaxText, nil,
			func(s string) Intent { return SettleFraming{Problem: s} },
			func(k state.Kickoff) string { return k.Problem() }},
		{"NamePerson.Name", "roles", MaxTitle, nil,
			func(s string) Intent { return NamePerson{Name: s, Ring: state.Consulted} },
			func(k state.Kickoff) string { return k.Roles.Named[0].Name }},
		{"AddAssumption.Text", "assumptions", MaxText, nil,
			func(s string) Intent { return AddAssumption{Text: s} },
			func(k state.Kickoff) string { return k.Assumptions[0].Text }},
		{"AddAssumption.Because", "assumptions", MaxText, nil,
			func(s string) Intent { return AddAssumption{Text: "x", Because: s} },
			func(k state.Kickoff) string { return k.Assumptions[0].Because }},
		{"ImportAssumptions.Rows.Text", "assumptions", MaxText, nil,
			func(s string) Intent { return ImportAssumptions{Rows: []AddAssumption{{Text: s}}} },
			func(k state.Kickoff) string { return k.Assumptions[0].Text }},
		{"ImportAssumptions.Rows.Because", "assumptions", MaxText, nil,
			func(s string) Intent { return ImportAssumptions{Rows: []AddAssumption{{Text: "x", Because: s}}} },
			func(k state.Kickoff) string { return k.Assumptions[0].Because }},
		{"EditAssumption.Text", "assumptions", MaxText, AddAssumption{Text: "x"},
			func(s string) Intent { return EditAssumption{ID: "A1", Text: s} },
			func(k state.Kickoff) string { return k.Assumptions[0].Text }},
		{"EditAssumption.Because", "assumptions", MaxText, AddAssumption{Text: "x"},
			func(s string) Intent { return EditAssumption{ID: "A1", Text: "y", Because: s} },
			func(k state.Kickoff) string { return k.Assumptions[0].Because }},
		{"SplitAssumption.Parts.Text", "assumptions", MaxText, AddAssumption{Text: "x"},
			func(s string) Intent { return SplitAssumption{ID: "A1", Parts: []Part{{Text: s}, {Text: "y"}}} },
			func(k state.Kickoff) string { return k.Assumptions[len(k.Assumptions)-2].Text }},
		{"SendBack.Word", "tidying", MaxSentence, nil,
			func(s string) Intent { return SendBack{N: 1, Word: s} },
			func(k state.Kickoff) string { return k.Tidying.Remarks[0].Word }},
		{"Rate.Because", "rating/1", MaxSentence, nil,
			func(s string) Intent {
				return Rate{Round: 1, Assumption: "A1", Scale: state.Evidence, Value: 9, Because: s}
			},
			func(k state.Kickoff) string {
				for _, ballot := range k.Rounds[0].Ballots {
					if text := ballot["A1"].Because; text != "" {
						return text
					}
				}
				return ""
			}},
		{"PostGist.Text", "rating/2", maxGist, nil,
			func(s string) Intent { return PostGist{Assumption: "A1", Text: s} },
			func(k state.Kickoff) string { return k.Gists["A1"].Text }},
		{"GiveReason.Text", "rating/2", MaxText, nil,
			func(s string) Intent { return GiveReason{Assumption: "A1", Text: s} },
			func(k state.Kickoff) string { return k.Reasons[0].Text }},
	}
}

func lateFields() []textField {
	plan := func(change func(*state.Plan)) state.Plan {
		p := state.Plan{Assumption: "A1", Method: "x"}
		change(&p)
		return p
	}
	method := func(s string) state.Plan { return plan(func(p *state.Plan) { p.Method = s }) }
	learn := func(s string) state.Plan { return plan(func(p *state.Plan) { p.Learn = s }) }
	test := func(k state.Kickoff) state.Test { return k.Backlog.Tests[0] }
	told := func(k state.Kickoff) state.Told { return k.Underway.Checkins[0].Results[0].Told }
	return []textField{
		{"AddTest.Plan.Method", "backlog", MaxTitle, nil,
			func(s string) Intent { return AddTest{Plan: method(s)} }, func(k state.Kickoff) string { return test(k).Method }},
		{"AddTest.Plan.Learn", "backlog", MaxText, nil,
			func(s string) Intent { return AddTest{Plan: learn(s)} }, func(k state.Kickoff) string { return test(k).Learn }},
		{"EditTest.Plan.Method", "backlog", MaxTitle, AddTest{Plan: method("y")},
			func(s string) Intent { return EditTest{N: 1, Plan: method(s)} }, func(k state.Kickoff) string { return test(k).Method }},
		{"EditTest.Plan.Learn", "backlog", MaxText, AddTest{Plan: method("y")},
			func(s string) Intent { return EditTest{N: 1, Plan: learn(s)} }, func(k state.Kickoff) string { return test(k).Learn }},
		{"TellResult.Told.Learnt", "underway reported", MaxSentence, nil,
			func(s string) Intent { return TellResult{Checkin: 1, Test: 1, Told: state.Told{Learnt: s}} }, func(k state.Kickoff) string { return told(k).Learnt }},
		{"TellResult.Told.Surprise", "underway reported", MaxSentence, nil,
			func(s string) Intent { return TellResult{Checkin: 1, Test: 1, Told: state.Told{Surprise: s}} }, func(k state.Kickoff) string { return told(k).Surprise }},
		{"TellResult.Told.Link", "underway reported", MaxSentence, nil,
			func(s string) Intent { return TellResult{Checkin: 1, Test: 1, Told: state.Told{Link: s}} }, func(k state.Kickoff) string { return told(k).Link }},
		{"TellResult.Told.Quote", "underway reported", MaxSentence, nil,
			func(s string) Intent { return TellResult{Checkin: 1, Test: 1, Told: state.Told{Quote: s}} }, func(k state.Kickoff) string { return told(k).Quote }},
		{"DropTest.Why", "underway reported", MaxSentence, nil,
			func(s string) Intent { return DropTest{N: 1, Why: s} }, func(k state.Kickoff) string { return test(k).Dropped }},
		{"ReportResult.Why", "underway reported", MaxSentence, nil,
			func(s string) Intent { return ReportResult{Checkin: 1, Test: 1, K: 2, N: 2, Corrects: 1, Why: s} }, func(k state.Kickoff) string { return k.Underway.Checkins[0].Results[1].Why }},
		{"SettleDecision.Why", "underway reported", MaxSentence, DecideNow{},
			func(s string) Intent { return SettleDecision{N: 1, Choice: state.Build, Why: s} }, func(k state.Kickoff) string { return k.Underway.Decision.Why }},
		{"SetTimebox.StopIf", "timebox settling", MaxText, nil,
			func(s string) Intent { return SetTimebox{Weeks: 2, StopIf: s} }, func(k state.Kickoff) string { return k.Timebox.StopIf }},
		{"SetTimebox.BuildIf", "timebox settling", MaxText, nil,
			func(s string) Intent { return SetTimebox{Weeks: 2, BuildIf: s} }, func(k state.Kickoff) string { return k.Timebox.BuildIf }},
		{"AddAction.What", "close", MaxText, nil,
			func(s string) Intent { return AddAction{What: s, Owner: "tui", Due: "2027-03-05"} }, func(k state.Kickoff) string { return k.Actions[0].What }},
		{"EditAction.What", "close", MaxText, AddAction{What: "x", Owner: "ines", Due: "2027-03-05"},
			func(s string) Intent { return EditAction{N: 1, What: s, Owner: "tui", Due: "2027-03-05"} }, func(k state.Kickoff) string { return k.Actions[0].What }},
	}
}

func summaryFields() []textField {
	return []textField{
		{"GiveWord.Text", "close", MaxWord, nil,
			func(s string) Intent { return GiveWord{Part: "map", Text: s} }, func(k state.Kickoff) string { return k.Summary.Words["map"].Text }},
		{"ReviseBrief.Title", "close", MaxTitle, nil,
			func(s string) Intent { return ReviseBrief{Title: s} }, func(k state.Kickoff) string { return k.Brief.Title }},
		{"ReviseBrief.Why", "close", MaxText, nil,
			func(s string) Intent { return ReviseBrief{Title: "x", Why: s} }, func(k state.Kickoff) string { return k.Brief.Why }},
		{"ReviseBrief.Outcome", "close", MaxText, nil,
			func(s string) Intent { return ReviseBrief{Title: "x", Outcome: s} }, func(k state.Kickoff) string { return k.Brief.Outcome }},
		{"ReviseBrief.OutOfBounds", "close", MaxText, nil,
			func(s string) Intent { return ReviseBrief{Title: "x", OutOfBounds: s} }, func(k state.Kickoff) string { return k.Brief.OutOfBounds }},
		{"ReviseProblem.Problem", "close", MaxText, nil,
			func(s string) Intent { return ReviseProblem{Problem: s} }, func(k state.Kickoff) string { return k.Problem() }},
		{"ReviseTest.Method", "close", MaxTitle, nil,
			func(s string) Intent { return ReviseTest{N: 1, Method: s} }, func(k state.Kickoff) string { return k.Backlog.Tests[0].Method }},
		{"ReviseTest.Learn", "close", MaxText, nil,
			func(s string) Intent { return ReviseTest{N: 1, Method: "x", Learn: s} }, func(k state.Kickoff) string { return k.Backlog.Tests[0].Learn }},
		{"ReviseMarks.StopIf", "close", MaxText, nil,
			func(s string) Intent { return ReviseMarks{StopIf: s} }, func(k state.Kickoff) string { return k.Timebox.StopIf }},
		{"ReviseMarks.BuildIf", "close", MaxText, nil,
			func(s string) Intent { return ReviseMarks{BuildIf: s} }, func(k state.Kickoff) string { return k.Timebox.BuildIf }},
		{"ReviseAnswer.Answer", "close", MaxText, Ask{Ask: "x"},
			func(s string) Intent { return ReviseAnswer{N: 1, Answer: s} }, func(k state.Kickoff) string { return k.Brief.Questions[0].Answer }},
	}
}

// at is the kickoff at the field's stage, with what has to be there first.
func (f textField) at(t *testing.T) *world {
	t.Helper()
	w := newWorld()
	stage, reported := strings.CutSuffix(f.stage, " reported")
	switch stage {
	case "":
	case "tidying":
		w = beforeTidying(t)
	default:
		w = usual(t, stage)
	}
	if reported { // at the first check-in
		_, err := w.wakeUntil(time.Date(2027, time.March, 10, 10, 0, 0, 0, time.UTC))
		require.NoError(t, err)
		w.must(t, as(ReportResult{Checkin: 1, Test: 1, K: 1, N: 2}, "ines"))
	}
	if f.field == "PostGist.Text" { // a gist takes reasons
		for _, text := range []string{"We counted.", "We asked."} {
			w.must(t, as(GiveReason{Assumption: "A1", Text: text}, "kofi"))
		}
	}
	if f.before != nil {
		w.must(t, as(f.before, "ines"))
	}
	return w
}

// TestHostileTextIsKeptWhole types everything into every field. What fits is
// kept to the last character, through the journal's format too, and what does
// not is handed back: nothing is cut or changed.
func TestHostileTextIsKeptWhole(t *testing.T) {
	for _, f := range textFields() {
		start := *f.at(t)
		for _, text := range hostileTexts() {
			w := start
			_, err := w.do(as(f.typed(text), "ines"))
			var r *Refusal
			long := utf8.RuneCountInString(text) > f.longest
			switch {
			case long && (!errors.As(err, &r) || !strings.Contains(r.Reason, "Please shorten it")):
				t.Errorf("%s takes %d characters (%v), want a refusal above %d", f.field, utf8.RuneCountInString(text), err, f.longest)
			case long:
			case err != nil:
				t.Errorf("%s refuses %.60q: %v", f.field, text, err)
			case f.kept(w.k) != text:
				t.Errorf("%s keeps %.60q, want %.60q", f.field, f.kept(w.k), text)
			}
		}
	}
}

// The journal is UTF-8: other bytes would come back changed, so they are
// handed back at once.
func TestBytesThatAreNoTextAreHandedBack(t *testing.T) {
	for _, f := range textFields() {
		w := f.at(t)
		_, err := w.do(as(f.typed("caf\xe9"), "ines"))
		var r *Refusal
		assert.ErrorAs(t, err, &r, "%s takes bytes that are no text (error %v)", f.field, err)
		assert.Contains(t, r.Reason, "UTF-8", "%s takes bytes that are no text (error %v)", f.field, err)
	}
}

// TestEveryTextFieldIsTried finds a field of an intent that this file leaves
// out. Fields that nobody types are named here.
func TestEveryTextFieldIsTried(t *testing.T) {
	tried := map[string]bool{}
	for _, f := range textFields() {
		tried[f.field] = true
	}
	tried["AskDraft.What"] = true                                                                  // a button names it
	tried["SayAlike.Sets"] = true                                                                  // a form offers them, and others are refused
	tried["Start.LeaveOut"], tried["LeaveOut.Stages"], tried["LeaveOut.TakeUp"] = true, true, true // a form offers them, and others are refused
	tried["ReportLoss.Extras.Canvas"], tried["ReportLoss.Extras.Bookmark"] = true, true            // the platform names them
	tried["MissExtra.What"], tried["MissExtra.Why"] = true, true                                   // the shell names them
	tried["AddTest.Plan.Bound.Unit"], tried["EditTest.Plan.Bound.Unit"] = true, true               // letters and digits alone, see results.txt
	for _, row := range allIntents() {
		name := reflect.TypeOf(row.in).Name()
		for _, field := range stringFields(reflect.TypeOf(row.in)) {
			assert.False(t, !tried[name+"."+field] && !chosen(field), "nothing hostile is typed into %s.%s", name, field)
		}
	}
}

// chosen reports whether a field is picked from a list or filled in by the
// shell, not typed.
func chosen(field string) bool {
	last := field[strings.LastIndex(field, ".")+1:]
	return slices.Contains([]string{"Who", "By", "ID", "Team", "Channel", "Zone", "Stage", "Ring", "User", "Assumption", "Scale", "Keep", "Join",
		"Kinds", "Owner", "Part", "Why", "Choice", "To", "Person", "Slot", "TS", "Due", "NotBefore", "StopOn", "BuildOn", "Cost", "Canvas", "Absent"}, last) || strings.Contains(field, "Questions") ||
		strings.Contains(field, "People") || strings.HasPrefix(field, "Person.")
}

// stringFields names the fields of a type that hold text, at any depth.
func stringFields(t reflect.Type) []string {
	var out []string
	for i := range t.NumField() {
		f := t.Field(i)
		ft := f.Type
		for ft.Kind() == reflect.Slice {
			ft = ft.Elem()
		}
		switch {
		case ft.Kind() == reflect.String:
			out = append(out, f.Name)
		case ft.Kind() == reflect.Struct:
			for _, inner := range stringFields(ft) {
				out = append(out, f.Name+"."+inner)
			}
		}
	}
	return out
}
