package rehearsal

import (
	"fmt"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/plaintext"
)

// transcriptWidth is the columns of a transcript.
const transcriptWidth = 80

// Transcript writes a channel as text, as it stands now: every message with
// its thread beneath it. Times are those of zone.
func Transcript(w *fakeslack.Team, channelID string, zone *time.Location) string {
	var b strings.Builder
	messages := w.Messages(channelID)
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
		writeMessage(&b, w, m, zone, "")
		for _, r := range replies[m.TS] {
			writeMessage(&b, w, r, zone, "    ")
		}
	}
	return b.String()
}

func writeMessage(b *strings.Builder, w *fakeslack.Team, m fakeslack.Message, zone *time.Location, indent string) {
	who := m.User
	if u, ok := w.User(m.User); ok {
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
		if f, ok := w.File(id); ok {
			fmt.Fprintf(b, "%s[file %s: %s, %d bytes]\n", indent, f.Name, f.Title, f.Size)
		}
	}
	b.WriteString("\n")
}

// messageText draws the blocks as text, with the times of a reader in zone, or
// takes the text where there are no blocks.
func messageText(m fakeslack.Message, zone *time.Location) string {
	var blocks slack.Blocks
	if len(m.Blocks) == 0 || blocks.UnmarshalJSON(wire.Encode(inZone(m.Blocks, zone))) != nil {
		return plaintext.Unescape(m.Text)
	}
	return plaintext.Message(m.Text, blocks.BlockSet)
}

// inZone copies blocks, with every date written out as a reader in zone would
// see it.
func inZone(v any, zone *time.Location) any {
	switch v := v.(type) {
	case []blockkit.Block:
		out := make([]any, len(v))
		for i := range v {
			out[i] = inZone(v[i], zone)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = inZone(v[i], zone)
		}
		return out
	case map[string]any:
		out := map[string]any{}
		for key, inner := range v {
			out[key] = inZone(inner, zone)
		}
		if seconds, ok := wire.Whole(v, "timestamp"); ok && v["type"] == "date" {
			out["fallback"] = readAt(time.Unix(int64(seconds), 0).In(zone), wire.Str(v, "format"))
		}
		return out
	}
	return v
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

// wrapped breaks text into lines of at most width columns, keeping the
// indent of a line for what follows of it.
func wrapped(text string, width int) []string {
	var lines []string
	for _, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		lines = append(lines, wrapLine(line, width)...)
	}
	return lines
}

func wrapLine(line string, width int) []string {
	indent := line[:len(line)-len(strings.TrimLeft(line, " "))]
	hang := indent + hanging(line[len(indent):])
	var lines []string
	current := indent
	for _, word := range strings.Fields(line) {
		switch {
		case strings.TrimSpace(current) == "":
			current += word
		case len([]rune(current))+1+len([]rune(word)) > width:
			lines = append(lines, current)
			current = hang + word
		default:
			current += " " + word
		}
	}
	return append(lines, current)
}

// hanging is what the further lines of a paragraph begin with: a quote's mark
// again, or blanks below a list's.
func hanging(line string) string {
	if strings.HasPrefix(line, "> ") {
		return "> "
	}
	mark, _, _ := strings.Cut(line, " ")
	digits := strings.TrimSuffix(mark, ".")
	if mark == "•" || digits != mark && strings.Trim(digits, "0123456789") == "" {
		return strings.Repeat(" ", len([]rune(mark))+1)
	}
	return ""
}
