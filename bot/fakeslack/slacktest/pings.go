package slacktest

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// pingToken is what notifies people when it stands in text that is parsed.
var pingToken = regexp.MustCompile(`<(?:!(?:channel|here|everyone)|!subteam\^[A-Z0-9]+|@[UW][A-Z0-9]+)(?:\|[^<>]*)?>`)

// bareWord is what a client may take for a mention where text is not marked
// as verbatim.
var bareWord = regexp.MustCompile(`(?:^|[^\w@])(@(?:channel|here|everyone))\b`)

// Blocks reads a JSON list of blocks, for example of a typed client's.
func Blocks(data []byte) ([]blockkit.Block, error) {
	v, err := wire.Decode(data)
	if err != nil {
		return nil, fmt.Errorf("read blocks: %w", err)
	}
	blocks, ok := blockkit.BlockList(v)
	if !ok {
		return nil, errors.New("read blocks: not a list of objects")
	}
	return blocks, nil
}

// Pings lists whom a message would notify, in reading order: mention tokens
// in its text and in every text object that is parsed, mentions in rich text,
// and the bare words @channel, @here and @everyone in mrkdwn that is not
// marked verbatim. Plain text and the literal text of rich text notify
// nobody.
//
// A call that sets link_names or parse has to be looked at besides. Source:
// the page on formatting text, whose warning about bare words is taken at its
// strictest.
func Pings(text string, blocks []blockkit.Block) []string {
	out := tokens(text)
	for _, b := range blocks {
		out = append(out, pingsIn(b)...)
	}
	return out
}

func tokens(s string) []string {
	var out []string
	for _, t := range pingToken.FindAllString(s, -1) {
		name, _, _ := strings.Cut(t, "|")
		out = append(out, strings.TrimSuffix(name, ">")+">")
	}
	return out
}

func pingsIn(v any) []string {
	switch v := v.(type) {
	case []any:
		var out []string
		for _, inner := range v {
			out = append(out, pingsIn(inner)...)
		}
		return out
	case map[string]any:
		return pingsOf(v)
	}
	return nil
}

// pingsOf looks at one object: a piece that notifies by itself, text that is
// parsed, or something that holds more objects. Keys are walked in the order
// in which people read them.
func pingsOf(o map[string]any) []string {
	switch wire.Str(o, "type") {
	case "user":
		return []string{"<@" + wire.Str(o, "user_id") + ">"}
	case "usergroup":
		return []string{"<!subteam^" + wire.Str(o, "usergroup_id") + ">"}
	case "broadcast":
		return []string{"<!" + wire.Str(o, "range") + ">"}
	case "plain_text", "text", "raw_text":
		return nil
	case "mrkdwn":
		out := tokens(wire.Str(o, "text"))
		if !wire.Flag(o, "verbatim") {
			out = append(out, bareWords(wire.Str(o, "text"))...)
		}
		return out
	case "markdown":
		return append(tokens(wire.Str(o, "text")), bareWords(wire.Str(o, "text"))...)
	}
	var out []string
	for _, key := range []string{
		"pretext", "title", "subtitle", "label", "text", "body", "subtext", "fields", "rows", "blocks", "child_blocks",
		"element", "elements", "accessory", "actions", "options", "option_groups", "description", "hint",
	} {
		if s, ok := o[key].(string); ok {
			out = append(out, tokens(s)...)
			continue
		}
		out = append(out, pingsIn(o[key])...)
	}
	return out
}

func bareWords(s string) []string {
	var out []string
	for _, m := range bareWord.FindAllStringSubmatch(s, -1) {
		out = append(out, m[1])
	}
	return out
}
