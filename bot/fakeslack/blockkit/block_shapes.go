package blockkit

import "maps"

// Shapes of the blocks. Sources: the platform's reference pages on blocks,
// the limits in @slack/types 3.2.0, and for the newer ones Slack's own skills
// repository and slack-go v0.35.0.

// rules checks one block, for each surface that it may stand on.
var rules = map[surface]check{
	onMessage: typed(blockShapes(onMessage)),
	inModal:   typed(blockShapes(inModal)),
	onHome:    typed(blockShapes(onHome)),
}

// blockShapes has every block that may stand on a surface. A block that is
// missing here is refused as of unsupported type, as the platform refuses it
// there. Blocks that only answer agents (tasks, plans, sign-in) and files,
// which apps cannot place, are missing everywhere.
func blockShapes(on surface) map[string]shape {
	out := map[string]shape{}
	maps.Copy(out, everywhereShapes(on))
	switch on {
	case onMessage:
		maps.Copy(out, messageShapes())
		maps.Copy(out, tableShapes())
		maps.Copy(out, cardShapes(on))
	case onHome:
		maps.Copy(out, cardShapes(on))
		delete(out, "container") // refused on home tabs, says a public test that met it
	case inModal:
		out["alert"] = block(shape{
			"text":  must(anyText(200)),
			"level": may(oneOf("default", "info", "warning", "error", "success")),
		})
	}
	return out
}

// block is what every block may have.
func block(more shape) shape {
	return shape{"type": must(anything), "block_id": may(upTo(255))}.with(more)
}

func everywhereShapes(on surface) map[string]shape {
	contextual := textShapes(longestText)
	contextual["image"] = elements["image"]
	return map[string]shape{
		"divider": block(nil),
		"section": block(shape{
			"text": may(anyText(longestText)), "fields": may(items(1, 10, anyText(2000))),
			"accessory": may(typed(elements, accessoryKinds()...)), "expand": may(boolean),
		}),
		"header":  block(shape{"text": must(plain(150)), "level": may(number(1, 4))}),
		"context": block(shape{"elements": must(items(1, 10, typed(contextual)))}),
		"actions": block(shape{"elements": must(items(1, 25, typed(elements, actionKinds()...)))}),
		"image": block(shape{
			"alt_text": must(text(1, 2000)), "title": may(plain(2000)),
			"image_url": may(text(1, 3000)), "slack_file": may(slackFile()),
		}),
		"input": block(shape{
			"label": must(plain(2000)), "hint": may(plain(2000)),
			"element":  must(typed(elements, inputKinds(on)...)),
			"optional": may(boolean), "dispatch_action": may(boolean),
		}),
		"rich_text": block(shape{"elements": must(items(0, 1000, richPart()))}),
		"video": block(shape{
			"video_url": must(text(1, 3000)), "thumbnail_url": must(text(1, 3000)), "alt_text": must(text(1, 2000)),
			"title": must(plain(199)), "title_url": may(upTo(3000)), "author_name": may(upTo(49)),
			"provider_name": may(upTo(255)), "provider_icon_url": may(upTo(3000)), "description": may(plain(200)),
		}),
	}
}

// longestMarkdown is shared by all markdown blocks of a payload.
const longestMarkdown = 12000

func messageShapes() map[string]shape {
	return map[string]shape{
		"markdown":        block(shape{"text": must(text(1, longestMarkdown))}),
		"context_actions": block(shape{"elements": must(items(1, 5, typed(elements, "feedback_buttons", "icon_button")))}),
	}
}

func cardShapes(on surface) map[string]shape {
	image := typed(elements, "image")
	card := block(shape{
		"title": may(anyText(150)), "subtitle": may(anyText(150)), "body": may(anyText(200)), "subtext": may(anyText(200)),
		"hero_image": may(image), "icon": may(image), "slack_icon": may(anything),
		"actions": may(items(1, 3, typed(elements, "button"))),
	})
	return map[string]shape{
		"card":     card,
		"carousel": block(shape{"elements": must(items(1, 10, typed(map[string]shape{"card": card})))}),
		"container": block(shape{
			"title": may(plain(150)), "rich_text_title": may(anything), "subtitle": may(anyText(150)), "icon": may(image),
			"width": may(text(1, 20)), "is_collapsible": may(boolean), "default_collapsed": may(boolean), "has_header_divider": may(boolean),
			"child_blocks": must(items(1, 10, childBlock(on))),
		}),
	}
}

// childBlock is a block inside a container; some may not be.
func childBlock(on surface) check {
	inner := everywhereShapes(on)
	if on == onMessage {
		maps.Copy(inner, messageShapes())
		inner["table"] = tableShapes()["table"]
	}
	return typed(inner)
}
