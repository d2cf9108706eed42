package page

import (
	"bytes"
	"errors"
	"html"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// A teamOfTwo is a team with two people and a channel, at a fixed time.
type teamOfTwo struct {
	team              *fakeslack.Team
	ana, ben, channel string
}

func newTeamOfTwo() *teamOfTwo {
	now := time.Date(2027, 3, 22, 9, 0, 0, 0, time.UTC)
	team := fakeslack.NewTeam(fakeslack.Config{Clock: func() time.Time { return now }})
	l := &teamOfTwo{team: team, ana: team.AddUser(fakeslack.User{Name: "ana", RealName: "Ana", Zone: "Europe/Lisbon"}), ben: team.AddUser(fakeslack.User{Name: "ben", RealName: "Ben", Zone: "Asia/Kolkata"})}
	l.channel = team.AddChannel(fakeslack.Channel{Name: "ferry", Members: []string{team.BotUser(), l.ana, l.ben}})
	return l
}

// painted draws blocks as ana sees them, and says what could not be drawn.
func painted(t *testing.T, l *teamOfTwo, blocksJSON string, state blockkit.State) (string, error) {
	t.Helper()
	blocks, err := slacktest.Blocks([]byte(blocksJSON))
	require.NoError(t, err, "%v: %s", err, blocksJSON)
	ana, _ := l.team.User(l.ana)
	if state == nil {
		state = blockkit.NewState(blocks)
	}
	paint := newPainter(l.team, ana, "m1", state)
	templates, err := pageTemplates()
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, templates.ExecuteTemplate(&out, "blocks", paint.blocks(blocks)))
	return out.String(), errors.Join(paint.faults...)
}

func TestEveryKindOfBlockIsDrawn(t *testing.T) {
	l := newTeamOfTwo()
	people := strings.NewReplacer("ANA", l.ana, "BEN", l.ben, "CHANNEL", l.channel)
	for _, tt := range []struct {
		rule, blocks string
		want         []string
	}{
		{"a section of plain text keeps its line breaks", `[{"type":"section","text":{"type":"plain_text","text":"a & b\nc"}}]`, []string{"a &amp; b<br>c"}},
		{"parsed text shows its marks", `[{"type":"section","text":{"type":"mrkdwn","text":"*strong*, _slanted_, ~gone~ and ` + "`code`" + `, 2*3*4"}}]`,
			[]string{"<strong>strong</strong>", "<em>slanted</em>", "<s>gone</s>", "<code>code</code>", "2*3*4"}},
		{"parsed text names people and places", `[{"type":"section","text":{"type":"mrkdwn","text":"<@ANA> <@BEN> <#CHANNEL>"}}]`,
			[]string{"<mark>@Ana</mark>", `<span class="mention">@Ben</span>`, "#ferry"}},
		{"a link leads out and tells nobody from where", `[{"type":"section","text":{"type":"mrkdwn","text":"<https://example.com/?a=1&amp;b|here>"}}]`,
			[]string{`<a href="https://example.com/?a=1&amp;b" target="_blank" rel="noreferrer noopener">here</a>`}},
		{"an address that is none of the usual kinds is no link", `[{"type":"section","text":{"type":"mrkdwn","text":"<javascript:alert(1)|here>"}}]`, []string{"<p>here</p>"}},
		{"a moment is the reader's own", `[{"type":"section","text":{"type":"mrkdwn","text":"<!date^1806310800^{date_short_pretty} at {time}|x>"}}]`,
			[]string{`<time datetime="2027-03-29T09:00:00Z">Mon 29 Mar at 10:00</time>`}}, // Lisbon, an hour ahead since 28 March
		{"a day near by has a name", `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"date","timestamp":1805792400,"format":"{date_short_pretty}"}]}]}]`,
			[]string{">tomorrow</time>"}},
		{"fields are a list", `[{"type":"section","fields":[{"type":"plain_text","text":"one"},{"type":"plain_text","text":"two"}]}]`, []string{"<li>one</li>", "<li>two</li>"}},
		{"a header is a heading", `[{"type":"header","text":{"type":"plain_text","text":"Title"}}]`, []string{"<h3", ">Title</h3>"}},
		{"a divider is a rule", `[{"type":"divider"}]`, []string{"<hr>"}},
		{"small print", `[{"type":"context","elements":[{"type":"mrkdwn","text":"note"}]}]`, []string{`class="fine"`, "note"}},
		{"rich text: styles", `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[
			{"type":"text","text":"b","style":{"bold":true}},{"type":"text","text":"i","style":{"italic":true}},{"type":"text","text":"s","style":{"strike":true}},
			{"type":"text","text":"c","style":{"code":true}},{"type":"link","url":"https://example.com","text":"l"},{"type":"user","user_id":"BEN"},
			{"type":"channel","channel_id":"CHANNEL"},{"type":"broadcast","range":"here"},{"type":"emoji","name":"ship"}]}]}]`,
			[]string{"<strong>b</strong>", "<em>i</em>", "<s>s</s>", "<code>c</code>", ">l</a>", "@Ben", "#ferry", "@here", ":ship:"}},
		{"rich text: lists", `[{"type":"rich_text","elements":[
			{"type":"rich_text_list","style":"bullet","indent":1,"elements":[{"type":"rich_text_section","elements":[{"type":"text","text":"one"}]}]},
			{"type":"rich_text_list","style":"ordered","offset":2,"elements":[{"type":"rich_text_section","elements":[{"type":"text","text":"three"}]}]}]}]`,
			[]string{`<ul class="in1"><li>one</li></ul>`, `<ol class="in0" start="3"><li>three</li></ol>`}},
		{"rich text: quotes and what is set as it is", `[{"type":"rich_text","elements":[
			{"type":"rich_text_quote","elements":[{"type":"text","text":"said"}]},{"type":"rich_text_preformatted","elements":[{"type":"text","text":"1\n2"}]}]}]`,
			[]string{"<blockquote><p>said</p></blockquote>", "1\n2</pre>"}},
		{"a picture from elsewhere is not fetched", `[{"type":"image","image_url":"https://example.com/a.png","alt_text":"A map"}]`, []string{"not fetched", ">A map</a>"}},
		{"a button", `[{"type":"actions","elements":[{"type":"button","action_id":"do/x","text":{"type":"plain_text","text":"Go"},"style":"primary","value":"v"}]}]`,
			[]string{`name="do"`, `value="press::do%2Fx:v"`, `class="primary"`, ">Go</button>"}},
		{"a button that asks first", `[{"type":"actions","elements":[{"type":"button","action_id":"x","text":{"type":"plain_text","text":"Go"},
			"confirm":{"title":{"type":"plain_text","text":"Sure?"},"text":{"type":"plain_text","text":"It is final."},"confirm":{"type":"plain_text","text":"Yes, go"}}}]}]`,
			[]string{`data-confirm="Sure?"`, `data-text="It is final."`, `data-yes="Yes, go"`, `data-no="Cancel"`}},
		{"a button that leads elsewhere is a link", `[{"type":"actions","elements":[{"type":"button","action_id":"x","text":{"type":"plain_text","text":"Go"},"url":"https://example.com"}]}]`,
			[]string{`href="https://example.com"`}},
		{"a button for others is not there", `[{"type":"actions","elements":[{"type":"button","action_id":"x","text":{"type":"plain_text","text":"Go"},"visible_to_user_ids":["BEN"]}]}]`, nil},
		{"a menu that acts at once says what it is about", `[{"type":"section","block_id":"s","text":{"type":"plain_text","text":"A1"},"accessory":{"type":"static_select","action_id":"rate",
			"placeholder":{"type":"plain_text","text":"How bad?"},"options":[{"text":{"type":"plain_text","text":"1"},"value":"1"},{"text":{"type":"plain_text","text":"2"},"value":"2"}],
			"initial_option":{"text":{"type":"plain_text","text":"2"},"value":"2"}}}]`,
			[]string{"<select", `aria-label="How bad?"`, `data-now="press:s:rate:"`, `value="2" selected`, `role="group" aria-labelledby=`}},
		{"a menu in groups", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"static_select","action_id":"in","option_groups":[
			{"label":{"type":"plain_text","text":"G"},"options":[{"text":{"type":"plain_text","text":"o"},"value":"v"}]}]}}]`, []string{">G: o</option>"}},
		{"people to choose one from", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"Who?"},"element":{"type":"users_select","action_id":"in","initial_user":"BEN"}}]`,
			[]string{`<label for=`, "Who?", `value="` + l.ben + `" selected`, ">Ana</option>"}},
		{"people to choose several from", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"Who?"},"element":{"type":"multi_users_select","action_id":"in","initial_users":["ANA"]}}]`,
			[]string{"<legend>Who?", `type="checkbox"`, `value="` + l.ana + `" checked`}},
		{"several of a list", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"multi_static_select","action_id":"in","options":[{"text":{"type":"plain_text","text":"o"},"value":"v"}]}}]`,
			[]string{`type="checkbox"`, `value="v"`}},
		{"one of a few", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"radio_buttons","action_id":"in","options":[
			{"text":{"type":"plain_text","text":"o"},"value":"v","description":{"type":"plain_text","text":"more"}}]}}]`, []string{`type="radio"`, "more"}},
		{"boxes to tick", `[{"type":"input","block_id":"i","optional":true,"label":{"type":"plain_text","text":"L"},"element":{"type":"checkboxes","action_id":"in","options":[{"text":{"type":"mrkdwn","text":"o"},"value":"v"}]}}]`,
			[]string{`type="checkbox"`, "(optional)"}},
		{"a line of text", `[{"type":"input","block_id":"i","hint":{"type":"plain_text","text":"short"},"label":{"type":"plain_text","text":"L"},"element":{"type":"plain_text_input","action_id":"in","max_length":80,"initial_value":"x\"y"}}]`,
			[]string{`maxlength="80"`, `value="x&#34;y"`, "aria-describedby=", ">short</p>", " required"}},
		{"lines of text", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"plain_text_input","action_id":"in","multiline":true,"initial_value":"</textarea>"}}]`,
			[]string{"<textarea", ">&lt;/textarea&gt;</textarea>"}},
		{"a number", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"number_input","action_id":"in","is_decimal_allowed":true,"initial_value":"2.5"}}]`,
			[]string{`inputmode="decimal"`, `value="2.5"`}},
		{"a day", `[{"type":"input","block_id":"i","label":{"type":"plain_text","text":"L"},"element":{"type":"datepicker","action_id":"in","initial_date":"2027-04-01"}}]`,
			[]string{`type="date"`, `value="2027-04-01"`}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got, err := painted(t, l, people.Replace(tt.blocks), nil)
			assert.NoError(t, err, "not drawn")
			for _, want := range tt.want {
				assert.Contains(t, got, want, "lacks")
			}
			assert.False(t, tt.want == nil && strings.Contains(got, "<button"), "shows a button:\n%s", got)
		})
	}
}

func TestWhatCannotBeDrawnIsAnError(t *testing.T) {
	l := newTeamOfTwo()
	for rule, blocks := range map[string]string{
		"a block":              `[{"type":"video"}]`,
		"an element":           `[{"type":"actions","elements":[{"type":"overflow","action_id":"x"}]}]`,
		"an input":             `[{"type":"input","label":{"type":"plain_text","text":"L"},"element":{"type":"timepicker","action_id":"x"}}]`,
		"text":                 `[{"type":"section","text":{"type":"markdown","text":"x"}}]`,
		"a part of rich text":  `[{"type":"rich_text","elements":[{"type":"rich_text_table"}]}]`,
		"a piece of rich text": `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"color","value":"#fff"}]}]}]`,
		"a reference":          `[{"type":"section","text":{"type":"mrkdwn","text":"<!subteam^S1>"}}]`,
		"a date":               `[{"type":"section","text":{"type":"mrkdwn","text":"<!date^1^{ago}|x>"}}]`,
	} {
		got, err := painted(t, l, blocks, nil)
		assert.Error(t, err, "%s: no error", rule)
		assert.Contains(t, got, "the page cannot draw", "%s: the page says nothing of it", rule)
	}
}

// Whatever people type reads on the page as they typed it, and is no markup.
func TestTypedTextIsNoMarkup(t *testing.T) {
	l := newTeamOfTwo()
	rapid.Check(t, func(rt *rapid.T) {
		piece := rapid.SampledFrom([]string{"<", ">", "&", `"`, "'", "</p>", "<script>", "a", "é", "\n", "&amp;", "javascript:"})
		typed := strings.Join(rapid.SliceOfN(piece, 1, 10).Draw(rt, "typed"), "")
		block := blockkit.Block{"type": "section", "text": map[string]any{"type": "plain_text", "text": typed}}
		ana, _ := l.team.User(l.ana)
		drawn := newPainter(l.team, ana, "m1", blockkit.State{}).block(block).HTML
		require.Equal(rt, typed, html.UnescapeString(strings.ReplaceAll(string(drawn), "<br>", "\n")), "reads")
		require.NotContains(rt, strings.ReplaceAll(string(drawn), "<br>", ""), "<", "%q is drawn as %s", typed, drawn)
	})
}

func TestCanvasIsDrawn(t *testing.T) {
	got := string(drawMarkdown("# One\n\n- a **b** c\n- d\n\n1. e\n\n> f\n> g\n\n---\n\n\\# h <i> [j](https://k.example)\n"))
	assert.Equal(t, `<h2>One</h2>
<ul>
<li>a <strong>b</strong> c</li>
<li>d</li>
</ul>
<ol>
<li>e</li>
</ol>
<blockquote>
<p>f<br>
g</p>
</blockquote>
<hr>
<p># h &lt;i&gt; [j](https://k.example)</p>
`, got)
}

// TestEverythingSentIsDrawn draws all messages and views that the bot sends
// in the demo and with hostile text.
func TestEverythingSentIsDrawn(t *testing.T) {
	for _, name := range []string{"ferry.yaml", "hostile.yaml"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			data, err := os.ReadFile("../../../testdata/scenarios/" + name)
			require.NoError(t, err)
			s, err := scenario.Parse(name, data)
			require.NoError(t, err)
			var sent [][]blockkit.Block
			j := journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{})
			p, err := rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: s, Journal: j, Trace: func(c fakeslack.Call) {
				for _, v := range []any{c.Args["blocks"], argument(c.Args["view"], "blocks")} {
					if blocks, ok := blockkit.BlockList(v); ok && len(blocks) > 0 {
						sent = append(sent, blocks)
					}
				}
			}})
			require.NoError(t, err)
			t.Cleanup(p.Close)
			require.NoError(t, p.Run(t.Context()))
			require.GreaterOrEqual(t, len(sent), 50, "the bot has sent %d messages and views, want more", len(sent))
			viewer := p.Team().Users()[1] // after the bot
			for _, blocks := range sent {
				paint := newPainter(p.Team(), viewer, "x", blockkit.NewState(blocks))
				paint.blocks(blocks)
				assert.Empty(t, paint.faults, "in %s", wire.Encode(blocks))
			}
		})
	}
}

func argument(v any, key string) any {
	o, _ := v.(map[string]any)
	return o[key]
}
