package fakeslack

import (
	"unicode/utf8"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

const (
	longestPost   = 40000 // characters of text; the rest is cut off
	longestUpdate = 4000  // more is refused
	mostAttached  = 100
)

// content is what a message says, as a call gave it. What a call left out is
// not touched by an update.
type content struct {
	text        string
	blocks      []blockkit.Block
	attachments []any
	metadata    *Metadata

	hasText, hasBlocks, hasAttachments, hasMetadata bool
}

// readContent checks everything a call says about a message. What it returns
// is a copy.
func (w *messages) readContent(a args) (content, error) {
	c := content{text: a.str("text"), hasText: a.str("text") != ""}
	for _, read := range []struct {
		key  string
		take func(v any) error
	}{
		{"blocks", c.takeBlocks}, {"markdown_text", c.takeMarkdown},
		{"attachments", c.takeAttachments}, {"metadata", c.takeMetadata},
	} {
		if v := wire.Clone(a.values[read.key]); v != nil && v != "" {
			if err := read.take(v); err != nil {
				return content{}, err
			}
		}
	}
	if !c.hasBlocks {
		return c, nil
	}
	return c, blockkit.CheckMessage(c.blocks, w.files.uploadedFile)
}

func (c *content) takeBlocks(v any) error {
	c.blocks, c.hasBlocks = blockkit.BlockList(v)
	if !c.hasBlocks {
		return wire.Refuse("invalid_blocks_format")
	}
	return nil
}

// takeMarkdown takes text in Markdown instead of blocks and text.
func (c *content) takeMarkdown(v any) error {
	if _, said := v.(string); !said {
		return nil
	}
	if c.hasText || c.hasBlocks {
		return wire.Refuse("markdown_text_conflict")
	}
	c.blocks, c.hasBlocks = []blockkit.Block{{"type": "markdown", "text": v}}, true
	return nil
}

func (c *content) takeAttachments(v any) error {
	c.attachments, c.hasAttachments = v.([]any)
	switch {
	case !c.hasAttachments:
		return wire.Refuse("invalid_attachments")
	case len(c.attachments) > mostAttached:
		return wire.Refuse("too_many_attachments")
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
	return !c.hasText && len(c.blocks) == 0 && len(c.attachments) == 0
}

// newMessage makes a message of the bot's out of c.
func (w *messages) newMessage(c content) *Message {
	blockkit.NameParts(c.blocks, w.nextID)
	return &Message{
		TS: w.nextTS(), User: w.bot, BotID: w.botID,
		Text: cut(c.text, longestPost), Blocks: c.blocks, Attachments: c.attachments, Metadata: c.metadata,
	}
}

// applyTo is m with what c says in it. Text alone drops the blocks and shows
// as edited; blocks show no mark; what is not named stays. Source: the
// reference page of chat.update.
func (w *messages) applyTo(m Message, c content) Message {
	switch {
	case c.hasBlocks:
		blockkit.NameParts(c.blocks, w.nextID)
		m.Blocks, m.Text = c.blocks, c.text
	case c.hasText:
		m.Blocks, m.Text = nil, c.text
		m.Edited = &Edited{User: w.bot, TS: w.nextTS()}
	}
	if c.hasAttachments {
		m.Attachments = c.attachments
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
