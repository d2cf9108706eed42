package fakeslack

import (
	"unicode/utf8"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

const (
	longestPost   = 40000 // characters of text; the rest is cut off
	longestUpdate = 4000  // more is refused
)

// content is what a message says, as a call gave it. What a call left out is
// not touched by an update.
type content struct {
	text     string
	blocks   []blockkit.Block
	metadata *Metadata

	hasText, hasBlocks, hasMetadata bool
}

// readContent checks everything a call says about a message. What it returns
// is a copy. Other ways to say something than text and blocks, and answers or
// replies shown to the whole channel, are not played here, and refused so that
// no bot comes to rely on them.
func (ms *messages) readContent(a args) (content, error) {
	if a.values["attachments"] != nil || a.values["markdown_text"] != nil {
		return content{}, wire.Refuse("invalid_arguments", "attachments and markdown_text are not played here")
	}
	if a.flag("reply_broadcast") || a.str("response_type") == "in_channel" {
		return content{}, wire.Refuse("invalid_arguments", "reply_broadcast and answers in_channel are not played here")
	}
	c := content{text: a.str("text"), hasText: a.str("text") != ""}
	for _, read := range []struct {
		key  string
		take func(v any) error
	}{{"blocks", c.takeBlocks}, {"metadata", c.takeMetadata}} {
		if v := wire.Clone(a.values[read.key]); v != nil && v != "" {
			if err := read.take(v); err != nil {
				return content{}, err
			}
		}
	}
	if !c.hasBlocks {
		return c, nil
	}
	return c, blockkit.CheckMessage(c.blocks, ms.files.showable)
}

func (c *content) takeBlocks(v any) error {
	c.blocks, c.hasBlocks = blockkit.BlockList(v)
	if !c.hasBlocks {
		return wire.Refuse("invalid_blocks_format")
	}
	return nil
}

// takeMetadata takes an event type with a payload. An empty object takes
// earlier metadata away, and so does what a typed client sends for none.
func (c *content) takeMetadata(v any) error {
	o, ok := v.(map[string]any)
	if !ok {
		return wire.Refuse("invalid_metadata_format")
	}
	c.hasMetadata = true
	kind, payload := wire.Str(o, "event_type"), wire.Obj(o, "event_payload")
	switch {
	case kind == "" && len(payload) == 0:
		return nil
	case kind == "" || payload == nil:
		return wire.Refuse("invalid_metadata_schema")
	}
	c.metadata = &Metadata{EventType: kind, EventPayload: payload}
	return nil
}

func (c *content) empty() bool {
	return !c.hasText && len(c.blocks) == 0
}

// newMessage makes a message of the bot's out of c.
func (ms *messages) newMessage(c content) *Message {
	blockkit.NameParts(c.blocks, ms.nextID)
	return &Message{
		TS: ms.nextTS(), User: ms.bot, BotID: ms.botID,
		Text: cut(c.text, longestPost), Blocks: c.blocks, Metadata: c.metadata,
	}
}

// applyTo is m with what c says in it. Text alone drops the blocks and shows
// as edited; blocks show no mark; what is not named stays. Source: the
// reference page of chat.update.
func (ms *messages) applyTo(m Message, c content) Message {
	switch {
	case c.hasBlocks:
		blockkit.NameParts(c.blocks, ms.nextID)
		m.Blocks, m.Text = c.blocks, c.text
	case c.hasText:
		m.Blocks, m.Text = nil, c.text
		m.Edited = &Edited{User: ms.bot, TS: ms.nextTS()}
	}
	if c.hasMetadata {
		m.Metadata = c.metadata
	}
	return m
}

func cut(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most])
}
