package blockkit

// Rich text: sections, lists, quotes and preformatted text, made of pieces.
// Pieces carry literal text; nothing in them is parsed.

func richPart() check {
	pieces := must(items(0, 1000, richPiece()))
	section := shape{"type": must(anything), "elements": pieces}
	return typed(map[string]shape{
		"rich_text_section":      section,
		"rich_text_quote":        section.with(shape{"border": may(number(0, 8))}),
		"rich_text_preformatted": section.with(shape{"border": may(number(0, 8)), "language": may(upTo(100))}),
		"rich_text_list": {
			"type": must(anything), "style": must(oneOf("bullet", "ordered")),
			"elements": must(items(1, 1000, typed(map[string]shape{"rich_text_section": section}))),
			"indent":   may(number(0, 8)), "border": may(number(0, 8)), "offset": may(number(0, 100000)),
		},
	})
}

func richPiece() check {
	style := shape{"style": may(anything)}
	piece := func(more shape) shape { return shape{"type": must(anything)}.with(more).with(style) }
	id := must(text(1, 255))
	return typed(map[string]shape{
		"text":      piece(shape{"text": must(text(1, 1<<20))}),
		"link":      piece(shape{"url": must(text(1, 3000)), "text": may(upTo(longestText)), "unsafe": may(boolean)}),
		"emoji":     piece(shape{"name": id, "unicode": may(upTo(255)), "skin_tone": may(number(0, 6)), "url": may(upTo(3000))}),
		"user":      piece(shape{"user_id": id}),
		"usergroup": piece(shape{"usergroup_id": id}),
		"channel":   piece(shape{"channel_id": id}),
		"team":      piece(shape{"team_id": id}),
		"broadcast": piece(shape{"range": must(oneOf("here", "channel", "everyone"))}),
		"color":     piece(shape{"value": must(text(1, 20))}),
		"tag":       piece(shape{"text": must(text(1, 255)), "color": may(text(1, 20))}),
		"date": piece(shape{
			"timestamp": must(anyNumber), "format": must(text(1, 255)),
			"timezone": may(upTo(255)), "url": may(upTo(3000)), "fallback": may(upTo(longestText)),
		}),
	})
}
