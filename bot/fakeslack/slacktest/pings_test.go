package slacktest

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/bot/fakeslack"
)

// Source: the page on formatting text.
func TestWhomAMessageNotifies(t *testing.T) {
	for _, c := range []struct {
		rule, text, blocks string
		want               []string
	}{
		{"every token", "<!channel> <!here> <!everyone> <!subteam^S0000001> <@U00000001>", `[]`,
			[]string{"<!channel>", "<!here>", "<!everyone>", "<!subteam^S0000001>", "<@U00000001>"}},
		{"tokens with a label", "<!here|here> <@W00000001|ana> <!subteam^S1|@crew>", `[]`, []string{"<!here>", "<@W00000001>", "<!subteam^S1>"}},
		{"escaped text", "&lt;!channel&gt; &lt;@U00000001&gt;", `[]`, nil},
		{"links, channels and dates", "<https://example.org|x> <#C00000001|ferry> <!date^1^{date}|then>", `[]`, nil},
		{"bare words in the text of a message", "@channel @ana", `[]`, nil},
		{"mrkdwn", "", `[{"type":"section","text":{"type":"mrkdwn","text":"hi <@U00000001>"}}]`, []string{"<@U00000001>"}},
		{"bare words in mrkdwn", "", `[{"type":"context","elements":[{"type":"mrkdwn","text":"@here, all"}]}]`, []string{"@here"}},
		{"bare words in verbatim mrkdwn", "", `[{"type":"context","elements":[{"type":"mrkdwn","verbatim":true,"text":"@here, all"}]}]`, nil},
		{"an address is no bare word", "", `[{"type":"section","text":{"type":"mrkdwn","text":"ana@here.example and @channels"}}]`, nil},
		{"tokens in verbatim mrkdwn", "", `[{"type":"section","fields":[{"type":"mrkdwn","verbatim":true,"text":"<!here>"}]}]`, []string{"<!here>"}},
		{"plain text parses nothing", "", `[{"type":"header","text":{"type":"plain_text","text":"<!channel> @everyone"}}]`, nil},
		{"literal rich text parses nothing", "", `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"text","text":"<!channel> <@U1>"}]}]}]`, nil},
		{"pieces of rich text", "", `[{"type":"rich_text","elements":[{"type":"rich_text_list","elements":[{"type":"rich_text_section","elements":[{"type":"user","user_id":"U00000001"},{"type":"broadcast","range":"here"},{"type":"usergroup","usergroup_id":"S1"}]}]}]}]`,
			[]string{"<@U00000001>", "<!here>", "<!subteam^S1>"}},
		{"cells", "", `[{"type":"table","rows":[[{"type":"raw_text","text":"<!channel>"},{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"user","user_id":"U00000001"}]}]}]]}]`, []string{"<@U00000001>"}},
		{"options and descriptions", "", `[{"type":"actions","elements":[{"type":"checkboxes","options":[{"text":{"type":"mrkdwn","text":"<!here>"},"value":"<!channel>","description":{"type":"mrkdwn","text":"<!everyone>"}}]}]}]`, []string{"<!here>", "<!everyone>"}},
		{"Markdown", "", `[{"type":"markdown","text":"<!channel>"}]`, []string{"<!channel>"}},
		{"a container", "", `[{"type":"container","child_blocks":[{"type":"section","text":{"type":"mrkdwn","text":"<!here>"}}]}]`, []string{"<!here>"}},
	} {
		blocks, err := Blocks([]byte(c.blocks))
		require.NoError(t, err, c.rule)
		assert.Equal(t, c.want, Pings(c.text, blocks), c.rule)
	}
}

// Whatever somebody types, it is kept so that unescaping gives it back and
// nobody is notified by it. Source: the page on formatting text.
func TestTypedTextIsKeptWholeAndNotifiesNobody(t *testing.T) {
	team := fakeslack.NewTeam(fakeslack.Config{Clock: func() time.Time { return time.Unix(1e9, 0) }})
	ana := team.AddUser(fakeslack.User{Name: "ana"})
	channel := team.AddChannel(fakeslack.Channel{Members: []string{ana}})
	unescape := strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&")
	rapid.Check(t, func(rt *rapid.T) {
		piece := rapid.SampledFrom([]string{"<", ">", "&", "&amp;", "<!channel>", "<!here|here>", "<@U99999999>", "<!subteam^S1>", "a", "\n", "@everyone"})
		typed := strings.Join(rapid.SliceOfN(piece, 0, 12).Draw(rt, "typed"), "")
		ts, err := team.Client.Say(t.Context(), ana, channel, typed, "")
		require.NoError(rt, err)
		kept, _ := team.Message(channel, ts)
		require.Equal(rt, typed, unescape.Replace(kept.Text), "kept as %q", kept.Text)
		require.Empty(rt, Pings(kept.Text, kept.Blocks), "typed %q", typed)
	})
}
