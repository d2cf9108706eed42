package blockkit

// Text and composition objects. Sources: the platform's reference pages on
// text, option, option group and confirmation objects, and the limits in the
// comments of @slack/types 3.2.0.

// longestText is the most that any text object holds.
const longestText = 3000

func textShapes(high int) map[string]shape {
	return map[string]shape{
		"plain_text": {"type": must(anything), "text": must(text(1, high)), "emoji": may(boolean)},
		"mrkdwn":     {"type": must(anything), "text": must(text(1, high)), "verbatim": may(boolean)},
	}
}

// plain is a plain_text object; anyText may also be mrkdwn.
func plain(high int) check   { return typed(textShapes(high), "plain_text") }
func anyText(high int) check { return typed(textShapes(high)) }

func confirmation() check {
	return shape{
		"title": must(plain(100)), "text": must(anyText(300)),
		"confirm": must(plain(30)), "deny": may(plain(30)), "style": may(oneOf("primary", "danger")),
	}.check
}

// option is one choice. Checkboxes and radio buttons may format theirs, and
// only an overflow's choices may be links. A value holds 150 characters on
// the option page, 75 in @slack/types: the larger is enforced.
func option(label func(int) check, more shape) check {
	return shape{
		"text": must(label(75)), "value": must(text(1, 150)), "description": may(label(75)),
	}.with(more).check
}

func plainOption() check { return option(plain, nil) }

func optionGroup() check {
	return shape{"label": must(plain(75)), "options": must(items(1, 100, plainOption()))}.check
}

func dispatchConfig() check {
	return shape{"trigger_actions_on": may(items(1, 2, oneOf("on_enter_pressed", "on_character_entered")))}.check
}

func conversationFilter() check {
	return shape{
		"include":                          may(items(1, 4, oneOf("im", "mpim", "private", "public"))),
		"exclude_external_shared_channels": may(boolean),
		"exclude_bot_users":                may(boolean),
	}.check
}

func slackFile() check {
	return shape{"id": may(text(1, 255)), "url": may(text(1, 3000))}.check
}
