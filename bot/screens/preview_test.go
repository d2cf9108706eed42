package screens

import (
	"encoding/json"
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/report"
	"soundings/bot/screens/closing"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// A reader goes through the preview as a lead does: one form, whose pages
// answer one another.
type reader struct {
	t    *testing.T
	m    moment
	p    screen.Page
	view slack.ModalViewRequest
}

func reading(t *testing.T, m moment) *reader {
	t.Helper()
	r := &reader{t: t, m: m, p: screen.Page{Kickoff: m.K, Viewer: m.K.Leads[0], Now: m.Now, Args: screen.Args{Kickoff: m.K.ID}}}
	view, err := Open("close.preview", r.p)
	require.NoError(t, err)
	r.shows(view)
	return r
}

// shows is called with each page; all but the first are answers, and an answer
// stays under 20 kB (source: slack-facts, slack-go's socketmode.go).
func (r *reader) shows(view slack.ModalViewRequest) {
	r.t.Helper()
	checkView(r.t, view.CallbackID, view)
	checkSize(r.t, view.CallbackID+" "+view.PrivateMetadata, view, 20*1024-100)
	r.view = view
	var err error
	r.p.Args, err = screen.ParseArgs(view.PrivateMetadata)
	require.NoError(r.t, err)
}

// send fills the page in and sends it; what is wanted is taken by flows.
func (r *reader) send(fill map[string]string) (screen.Answer, error) {
	r.t.Helper()
	answer, err := Submit(r.view.CallbackID, r.p, fillIn(r.t, r.view, fill))
	if err != nil || len(answer.Errors) > 0 {
		return answer, err
	}
	for _, in := range answer.Intents {
		r.m = take(r.t, r.m, in)
		r.p.Kickoff = r.m.K
	}
	if answer.Next != nil {
		r.shows(*answer.Next)
	}
	return answer, nil
}

// turn goes on as chosen.
func (r *reader) turn(way string) {
	r.t.Helper()
	answer, err := r.send(map[string]string{"go": way})
	require.NoError(r.t, err, "%s %s: going on to %q", r.view.CallbackID, r.view.PrivateMetadata, way)
	require.Empty(r.t, answer.Errors, "%s %s: going on to %q", r.view.CallbackID, r.view.PrivateMetadata, way)
	require.NotNil(r.t, answer.Next, "%s %s: going on to %q", r.view.CallbackID, r.view.PrivateMetadata, way)
}

// ways are the values that the page offers, the one that is chosen first.
func (r *reader) ways() (all []string, initial string) {
	r.t.Helper()
	for _, b := range r.view.Blocks.BlockSet {
		in, ok := b.(*slack.InputBlock)
		if !ok || in.BlockID != "go" {
			continue
		}
		var options []*slack.OptionBlockObject
		var chosen *slack.OptionBlockObject
		switch e := in.Element.(type) {
		case *slack.RadioButtonsBlockElement:
			options, chosen = e.Options, e.InitialOption
		case *slack.SelectBlockElement:
			options, chosen = e.Options, e.InitialOption
		}
		for _, o := range options {
			all = append(all, o.Value)
		}
		return all, chosen.Value
	}
	r.t.Fatalf("%s asks for no way to go on", r.view.CallbackID)
	return nil, ""
}

// pages turns to each page of a part, one after the other.
func (r *reader) pages(part string) iter.Seq[*reader] {
	return func(yield func(*reader) bool) {
		for r.turn(part); yield(r); r.turn("more") {
			if all, _ := r.ways(); !slices.Contains(all, "more") {
				return
			}
		}
	}
}

// changes are all that the page offers to change.
func (r *reader) changes() []string {
	all, _ := r.ways()
	return slices.DeleteFunc(all, func(way string) bool { return !strings.Contains(way, "/") })
}

// bothMoments are the plain and the hostile kickoff, before and after the
// summary is posted.
func bothMoments(t *testing.T) []moment {
	return []moment{momentAt(t, "close"), hostileMomentAt(t, "close"), momentAt(t, "underway"), hostileMomentAt(t, "underway")}
}

// Tapping Go On, and nothing else, shows every part whole and ends where it
// began.
func TestGoingOnShowsEveryPart(t *testing.T) {
	for _, m := range bothMoments(t) {
		r := reading(t, m)
		shown, parts := "", map[string]bool{}
		for range 200 {
			_, initial := r.ways()
			r.turn(initial)
			if r.view.CallbackID == "close.preview" {
				break
			}
			parts[r.p.Args.Choice] = true
			shown += PlainForm(r.view)
		}
		require.Len(t, parts, 1+len(flows.Parts()), "going on shows %v, and ends at", slices.Sorted(maps.Keys(parts)))
		require.Equal(t, "close.preview", r.view.CallbackID, "going on shows %v, and ends at", slices.Sorted(maps.Keys(parts)))
		assert.NotContains(t, shown, "too long to be shown", "something is too long to be shown")
		for _, part := range flows.Parts() {
			posting, err := closing.PartMessage(r.p, part)
			require.NoError(t, err)
			for line := range strings.Lines(PlainText(screen.Posting{Blocks: posting.Blocks})) {
				assert.Contains(t, shown, strings.TrimSpace(line), "the preview of %s does not show", part)
			}
		}
	}
}

// Every page for a change opens, and sent as it is changes nothing.
func TestAChangeThatChangesNothing(t *testing.T) {
	changes := 0
	for _, m := range bothMoments(t) {
		for _, part := range flows.Parts() {
			for at := range reading(t, m).pages(part) {
				for _, change := range at.changes() {
					if strings.HasPrefix(change, "new/") {
						continue // there is nothing yet
					}
					changes++
					r := *at // from here on by itself
					r.turn(change)
					answer, err := r.send(nil)
					require.NoError(t, err, "%s sent as it is", change)
					assert.Empty(t, answer.Errors, "%s sent as it is", change)
					assert.Equal(t, m.K.Version, r.m.K.Version, "%s sent as it is", change)
					assert.Equal(t, "close.part", r.view.CallbackID, "%s sent as it is", change)
					assert.Equal(t, part, r.p.Args.Choice, "%s sent as it is", change)
				}
			}
		}
	}
	assert.Greater(t, changes, 200, "hardly anything can be changed")
}

// What each change does, before the summary is posted and after. What people
// rated, ticked and voted stays as it is.
func TestWhatALeadChangesIsInThePreviewAndInTheFiles(t *testing.T) {
	for _, test := range []struct {
		part, way string
		fill      map[string]string
		shows     string
	}{
		{"problem", "brief/0", map[string]string{"out_of_bounds": "No new boats, and no new crew."}, "No new boats, and no new crew."},
		{"problem", "problem/", map[string]string{"problem": "Whoever brings a bicycle learns too late.", "level": "0"}, "Whoever brings a bicycle learns too late."},
		{"problem", "word/", map[string]string{"word": "Mind the <harbour>."}, "Mind the <harbour>."},
		{"roles", "rings/0", map[string]string{"ring/core": "U1,U2,U3", "ring/informed": ""}, ""},
		{"map", "word/", map[string]string{"word": "Three of these we met."}, "Three of these we met."},
		{"backlog", "test/1", map[string]string{"method": "Twelve interviews", "learn": "who looks", "owner": "U3"}, "Twelve interviews"},
		{"timebox", "marks/0", map[string]string{"stop_if": "Fewer than a quarter look."}, "Fewer than a quarter look."},
		{"questions", "answer/1", map[string]string{"answer": "Eight, and one in summer."}, "Eight, and one in summer."},
		{"actions", "new/", map[string]string{"what": "Ask the town", "owner": "U3", "due": "2027-04-01"}, "Ask the town"},
		{"actions", "action/1", map[string]string{"what": "Ask the town twice"}, "Ask the town twice"},
	} {
		for _, moment := range []string{"close", "underway"} {
			if moment == "underway" && test.part == "timebox" {
				continue // written down beforehand, and it has begun
			}
			r := reading(t, momentAt(t, moment))
			before := r.m.K
			r.turn(test.part)
			r.turn(test.way)
			answer, err := r.send(test.fill)
			if !assert.False(t, err != nil || len(answer.Intents) != 1, "%s %s at %s: %+v, %v", test.part, test.way, moment, answer, err) {
				continue
			}
			drawn := PlainForm(r.view)
			assert.Contains(t, drawn, "Saved.", "%s %s at %s: the page that follows does not show", test.part, test.way, moment)
			assert.Contains(t, drawn, test.shows, "%s %s at %s: the page that follows does not show", test.part, test.way, moment)
			sameFacts(t, test.part+" "+test.way, before, r.m.K)
			name := "kickoff.json"
			if test.way == "brief/0" { // the file for programs has only the title of the brief
				name = "summary.md"
			}
			assert.Contains(t, fileOf(t, r.m.K, name), test.shows, "%s %s: %s does not hold", test.part, test.way, name)
		}
	}
}

// fileOf is what one of the files says that change with the kickoff.
func fileOf(t *testing.T, k state.Kickoff, name string) string {
	t.Helper()
	files, err := report.LastFiles(k)
	require.NoError(t, err)
	at := slices.IndexFunc(files, func(f report.File) bool { return f.Name == name })
	require.GreaterOrEqual(t, at, 0, "there is no file %s", name)
	return string(files[at].Data)
}

// inJSON writes what may hold undefined figures, of which no two are equal.
func inJSON(t *testing.T, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	require.NoError(t, err)
	return string(data)
}

// sameFacts holds a change to leaving alone what people rated and voted.
func sameFacts(t *testing.T, what string, before, after state.Kickoff) {
	t.Helper()
	facts := func(k state.Kickoff) []any {
		return []any{k.Rounds, k.Order(), k.Assumptions, k.Framing.Wordings, k.Framing.Votes, k.Framing.Level, k.Brief.Problem, k.Roles.Self, k.Roles.Days,
			k.Backlog.Kinds, k.Timebox.Votes, k.Timebox.Median, k.Timebox.IQR, k.Timebox.Weeks, k.Timebox.Proposal}
	}
	assert.Equal(t, inJSON(t, facts(after)), inJSON(t, facts(before)), "%s changed what people rated or voted", what)
}

// After the summary was posted the thread's part says that it was changed, and
// by whom; before that nothing does.
func TestAPartSaysThatItWasChanged(t *testing.T) {
	for moment, want := range map[string]bool{"close": false, "underway": true} {
		r := reading(t, momentAt(t, moment))
		r.turn("roles")
		r.turn("rings/0")
		_, err := r.send(map[string]string{"ring/core": "U1,U2,U3", "ring/informed": ""})
		require.NoError(t, err)
		posting, err := closing.PartMessage(r.p, "roles")
		require.NoError(t, err)
		said := "Changed by " + r.m.K.Name("U1") + " after the summary was posted"
		for name, text := range map[string]string{"the part": PlainText(posting), "summary.md": fileOf(t, r.m.K, "summary.md")} {
			assert.Equal(t, want, strings.Contains(text, said), "at %s, %s says “%s”", moment, name, said)
		}
	}
}

func TestALeadsWordStandsAboveItsPart(t *testing.T) {
	r := reading(t, momentAt(t, "close"))
	r.turn("map")
	r.turn("word/")
	const word = "Three of these\nwe met *on* the pier."
	_, err := r.send(map[string]string{"word": word})
	require.NoError(t, err)
	posting, err := closing.PartMessage(r.p, "map")
	require.NoError(t, err)
	drawn := PlainText(posting)
	by := "A word from " + r.m.K.Name("U1") + ", who leads:"
	at := strings.Index(drawn, by)
	assert.GreaterOrEqual(t, at, 0, "the word does not stand above the map:\n%s", drawn)
	assert.LessOrEqual(t, at, strings.Index(drawn, "A1"), "the word does not stand above the map:\n%s", drawn)
	text := fileOf(t, r.m.K, "summary.md")
	assert.Contains(t, text, by, "summary.md does not hold the word as text")
	assert.Contains(t, text, `> we met \*on\* the pier.`, "summary.md does not hold the word as text")
}

// What cannot be taken is said at a field of the page, so that the form stays
// as it is with all that was typed.
func TestARefusalKeepsWhatWasTyped(t *testing.T) {
	for _, test := range []struct {
		rule, part, way string
		fill            map[string]string
		meanwhile       []flows.Intent
	}{
		{"an empty title", "problem", "brief/0", map[string]string{"title": " ", "why": "Typed."}, nil},
		{"an empty problem", "problem", "problem/", map[string]string{"problem": " "}, nil},
		{"an owner from outside", "backlog", "test/1", map[string]string{"owner": "U99", "learn": "Typed."}, nil},
		{"an action that was taken off", "actions", "action/1", map[string]string{"what": "Typed."}, []flows.Intent{flows.WithdrawAction{ByLead: flows.ByLead{Who: "U1"}, N: 1}}},
		{"no lead any more", "roles", "word/", map[string]string{"word": "Typed."}, []flows.Intent{flows.HandOver{ByLead: flows.ByLead{Who: "U1"}, To: "U2"}}},
		{"an earlier stage again", "roles", "word/", map[string]string{"word": "Typed."}, []flows.Intent{flows.Reopen{ByLead: flows.ByLead{Who: "U1"}}}},
		{"the box has begun", "timebox", "marks/0", map[string]string{"stop_if": "Typed."}, []flows.Intent{flows.PostSummary{ByLead: flows.ByLead{Who: "U1"}}}},
	} {
		r := reading(t, momentAt(t, "close"))
		r.turn(test.part)
		r.turn(test.way)
		for _, in := range test.meanwhile {
			r.m = take(t, r.m, in)
		}
		r.p.Kickoff = r.m.K
		_, err := r.send(test.fill)
		var refused *flows.Refusal
		if !assert.ErrorAs(t, err, &refused, "%s: %v, want a refusal", test.rule, err) {
			continue
		}
		checkSentence(t, test.rule, refused.Reason)
		at := slices.IndexFunc(r.view.Blocks.BlockSet, func(b slack.Block) bool {
			return b.BlockType() == slack.MBTInput && (b.ID() == refused.Field || strings.HasPrefix(b.ID(), refused.Field+"/"))
		})
		assert.NotEqual(t, "", refused.Field, "%s: refused at %q, which is no field of the page, so what was typed is lost", test.rule, refused.Field)
		assert.GreaterOrEqual(t, at, 0, "%s: refused at %q, which is no field of the page, so what was typed is lost", test.rule, refused.Field)
	}
}

// A preview that was left open while the summary went out posts no second one.
func TestAnOldPreviewPostsNothing(t *testing.T) {
	r := reading(t, momentAt(t, "close"))
	r.m = take(t, r.m, flows.PostSummary{ByLead: flows.ByLead{Who: "U1"}})
	answer, err := Submit("close.preview", r.p, entries("go", "post"))
	require.NoError(t, err, "%+v", answer)
	require.Len(t, answer.Intents, 1, "%+v", answer)
	_, err = flows.Decide(r.m.K, answer.Intents[0], r.m.Now)
	assert.True(t, isRefusal(err), "a second summary is posted: %v", err)
}

func TestThePreviewLooksAsAgreed(t *testing.T) {
	for _, moment := range []string{"close", "underway"} {
		r := reading(t, momentAt(t, moment))
		for shown := map[string]bool{}; !shown["all"] || r.view.CallbackID == "close.part"; {
			name := "all"
			if r.view.CallbackID == "close.part" {
				name = r.p.Args.Choice
			}
			if r.p.Args.Round > 0 {
				name = fmt.Sprintf("%s-%d", name, r.p.Args.Round+1)
			}
			shown[name] = true
			golden(t, goldenName(moment, "preview-"+name), PlainForm(r.view))
			_, initial := r.ways()
			r.turn(initial)
		}
	}
	for _, c := range []string{"problem:brief/0", "problem:problem/", "roles:rings/0", "backlog:test/1", "timebox:marks/0", "questions:answer/1", "actions:action/1", "map:word/"} {
		m := momentAt(t, "close")
		view, err := Open("close.change", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Choice: c}})
		if !assert.NoError(t, err, c) {
			continue
		}
		golden(t, goldenName("close", "change-"+strings.NewReplacer(":", "-", "/", "").Replace(c)), PlainForm(view))
	}
}
