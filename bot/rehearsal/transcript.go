package rehearsal

import (
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/plaintext"
)

// transcriptWidth is the columns of a transcript.
const transcriptWidth = 80

// Transcript writes a channel as text, as it stands now: every message with
// its thread beneath it. Times are those of zone.
func Transcript(team *fakeslack.Team, channelID string, zone *time.Location) string {
	var b strings.Builder
	messages := team.Messages(channelID)
	replies := map[string][]fakeslack.Message{}
	for _, m := range messages {
		if m.InThread() {
			replies[m.ThreadTS] = append(replies[m.ThreadTS], m)
		}
	}
	for _, m := range messages {
		if m.InThread() {
			continue
		}
		writeMessage(&b, team, m, zone, "")
		for _, r := range replies[m.TS] {
			writeMessage(&b, team, r, zone, "    ")
		}
	}
	return b.String()
}

func writeMessage(b *strings.Builder, team *fakeslack.Team, m fakeslack.Message, zone *time.Location, indent string) {
	who := m.User
	if u, ok := team.User(m.User); ok {
		who = u.RealName
	}
	pinned := ""
	if m.Pinned {
		pinned = ", pinned"
	}
	fmt.Fprintf(b, "%s── %s, %s%s\n", indent, who, TimeOf(m.TS).In(zone).Format("Mon 2 Jan 2006, 15:04"), pinned)
	for _, line := range wrapped(messageText(m, zone), transcriptWidth-len(indent)) {
		b.WriteString(strings.TrimRight(indent+line, " ") + "\n")
	}
	for _, id := range m.Files {
		if f, ok := team.File(id); ok {
			fmt.Fprintf(b, "%s[file %s: %s, %d bytes]\n", indent, f.Name, f.Title, f.Size)
		}
	}
	b.WriteString("\n")
}

// messageText draws the blocks as text, with every date written out as a
// reader in zone would see it, or takes the text where there are no blocks.
func messageText(m fakeslack.Message, zone *time.Location) string {
	read := make([]any, len(m.Blocks))
	for i, b := range m.Blocks {
		read[i] = wire.Clone(b)
	}
	walk(read, func(o map[string]any) {
		if seconds, ok := wire.Whole(o, "timestamp"); ok && o["type"] == "date" {
			o["fallback"] = readAt(time.Unix(int64(seconds), 0).In(zone), wire.Str(o, "format"))
		}
	})
	var blocks slack.Blocks
	if len(read) == 0 || blocks.UnmarshalJSON(wire.Encode(read)) != nil {
		return plaintext.Unescape(m.Text)
	}
	return plaintext.Message(m.Text, blocks.BlockSet)
}

func readAt(t time.Time, format string) string {
	if strings.Contains(format, "{time}") {
		return t.Format("Mon 2 Jan at 15:04")
	}
	return t.Format("Mon 2 Jan 2006")
}

// TimeOf is when a message was posted: its timestamp says so.
func TimeOf(ts string) time.Time {
	var seconds, micros int64
	if _, err := fmt.Sscanf(ts, "%d.%d", &seconds, &micros); err != nil {
		return time.Time{}
	}
	return time.Unix(seconds, micros*1000)
}

// lineStart is the indent of a line, and the mark of a list or a quote.
var lineStart = regexp.MustCompile(`^( *)(• |[0-9]*\. |> )?`)

// wrapped breaks text into lines of at most width columns. What follows of a
// line keeps its indent, with a quote's mark again or blanks below a list's.
func wrapped(text string, width int) []string {
	var lines []string
	for line := range strings.SplitSeq(strings.TrimRight(text, "\n"), "\n") {
		start := lineStart.FindStringSubmatch(line)
		current, hang := start[1], start[0]
		if start[2] != "> " {
			hang = strings.Repeat(" ", utf8.RuneCountInString(hang))
		}
		for _, word := range strings.Fields(line) {
			switch {
			case strings.TrimSpace(current) == "":
				current += word
			case utf8.RuneCountInString(current)+1+utf8.RuneCountInString(word) > width:
				lines = append(lines, current)
				current = hang + word
			default:
				current += " " + word
			}
		}
		lines = append(lines, current)
	}
	return lines
}
