package rehearsal

import (
	"maps"
	"slices"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// How people read messages: by the words, and by the dates in them.

// slotOf reads which message of the bot this is from its metadata.
func slotOf(m fakeslack.Message) string {
	if m.Metadata == nil {
		return ""
	}
	slot, _ := m.Metadata.EventPayload["slot"].(string)
	return slot
}

// walk visits every object in v, which is made of decoded JSON, in an order
// that is always the same.
func walk(v any, visit func(o map[string]any)) {
	switch v := v.(type) {
	case map[string]any:
		visit(v)
		for _, key := range slices.Sorted(maps.Keys(v)) {
			walk(v[key], visit)
		}
	case []any:
		for _, inner := range v {
			walk(inner, visit)
		}
	case []blockkit.Block:
		for _, inner := range v {
			walk(inner, visit)
		}
	}
}

// closingTime is the last date that a message names: when it closes.
func closingTime(blocks []blockkit.Block) time.Time {
	last := 0
	walk(blocks, func(o map[string]any) {
		if seconds, ok := wire.Whole(o, "timestamp"); ok && o["type"] == "date" {
			last = max(last, seconds)
		}
	})
	if last == 0 {
		return time.Time{}
	}
	return time.Unix(int64(last), 0).UTC()
}

// allText is every text of a message's blocks, one after the other.
func allText(blocks []blockkit.Block) string {
	var out strings.Builder
	walk(blocks, func(o map[string]any) {
		if text, ok := o["text"].(string); ok {
			out.WriteString(text + "\n")
		}
	})
	return out.String()
}

// flat is a text with single blanks, as words are compared.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

// beginning is the first characters of a text.
func beginning(text string, most int) string {
	runes := []rune(text)
	return string(runes[:min(most, len(runes))])
}
