package blockkit

import (
	"maps"
	"regexp"
	"slices"
)

// Shapes of the interactive elements. Sources: the platform's reference pages
// on block elements and the limits in @slack/types 3.2.0.

var (
	datePattern   = regexp.MustCompile(`^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$`)
	timePattern   = regexp.MustCompile(`^([01]\d|2[0-3]):[0-5]\d$`)
	numberPattern = regexp.MustCompile(`^-?\d+(\.\d+)?$`)
)

func matching(pattern *regexp.Regexp) check {
	return func(c *checker, v any, at string) {
		if s, ok := v.(string); !ok || !pattern.MatchString(s) {
			c.fault(at, "must match the following pattern: %s", pattern)
		}
	}
}

// elements has every element that can be shown. It never changes.
var elements = func() map[string]shape {
	out := map[string]shape{}
	for _, some := range []map[string]shape{pressShapes(), selectShapes(), pickerShapes(), typingShapes()} {
		maps.Copy(out, some)
	}
	return out
}()

// base is what every interactive element may have.
func base(more shape) shape {
	return shape{"type": must(anything), "action_id": may(text(1, 255))}.with(more)
}

func focusable(more shape) shape {
	return base(shape{"focus_on_load": may(boolean)}.with(more))
}

func pressShapes() map[string]shape {
	visible := shape{"visible_to_user_ids": may(items(1, 1000, text(1, 255)))}
	reaction := shape{"text": must(plain(75)), "value": must(text(1, 2000)), "accessibility_label": may(upTo(75))}.check
	return map[string]shape{
		"button": base(shape{
			"text": must(plain(75)), "value": may(upTo(2000)), "url": may(upTo(3000)),
			"style": may(oneOf("primary", "danger")), "confirm": may(confirmation()),
			"accessibility_label": may(upTo(75)),
		}.with(visible)),
		"overflow": base(shape{
			"options": must(items(1, 5, option(plain, shape{"url": may(upTo(3000))}))),
			"confirm": may(confirmation()),
		}),
		"icon_button": base(shape{
			"icon": must(text(1, 255)), "text": must(plain(75)), "value": may(upTo(2000)),
			"confirm": may(confirmation()), "accessibility_label": may(upTo(75)),
		}.with(visible)),
		"feedback_buttons": base(shape{"positive_button": must(reaction), "negative_button": must(reaction)}),
		"image": {
			"type": must(anything), "alt_text": must(text(1, 2000)),
			"image_url": may(text(1, 3000)), "slack_file": may(slackFile()),
		},
		"checkboxes": focusable(shape{
			"options": must(items(1, 10, option(anyText, nil))), "confirm": may(confirmation()),
			"initial_options": may(items(1, 10, option(anyText, nil))),
		}),
		"radio_buttons": focusable(shape{
			"options": must(items(1, 10, option(anyText, nil))), "confirm": may(confirmation()),
			"initial_option": may(option(anyText, nil)),
		}),
	}
}

func selectShapes() map[string]shape {
	one := focusable(shape{"placeholder": may(plain(150)), "confirm": may(confirmation())})
	many := one.with(shape{"max_selected_items": may(number(1, 1000))})
	listed := shape{
		"options": may(items(1, 100, plainOption())), "option_groups": may(items(1, 100, optionGroup())),
	}
	asked := shape{"min_query_length": may(number(0, 1000))}
	here := shape{"default_to_current_conversation": may(boolean), "filter": may(conversationFilter())}
	reply := shape{"response_url_enabled": may(boolean)}
	id, ids := text(1, 255), items(0, 1000, text(1, 255))
	return map[string]shape{
		"static_select":              one.with(listed).with(shape{"initial_option": may(plainOption())}),
		"multi_static_select":        many.with(listed).with(shape{"initial_options": may(items(1, 100, plainOption()))}),
		"external_select":            one.with(asked).with(shape{"initial_option": may(plainOption())}),
		"multi_external_select":      many.with(asked).with(shape{"initial_options": may(items(1, 100, plainOption()))}),
		"users_select":               one.with(shape{"initial_user": may(id)}),
		"multi_users_select":         many.with(shape{"initial_users": may(ids)}),
		"channels_select":            one.with(reply).with(shape{"initial_channel": may(id)}),
		"multi_channels_select":      many.with(shape{"initial_channels": may(ids)}),
		"conversations_select":       one.with(here).with(reply).with(shape{"initial_conversation": may(id)}),
		"multi_conversations_select": many.with(here).with(shape{"initial_conversations": may(ids)}),
	}
}

func pickerShapes() map[string]shape {
	picker := focusable(shape{"confirm": may(confirmation())})
	hinted := picker.with(shape{"placeholder": may(plain(150))})
	return map[string]shape{
		"datepicker": hinted.with(shape{"initial_date": may(matching(datePattern))}),
		"timepicker": hinted.with(shape{"initial_time": may(matching(timePattern)), "timezone": may(text(1, 255))}),
		// Unix seconds of ten digits.
		"datetimepicker": picker.with(shape{"initial_date_time": may(number(1e9, 1e10-1))}),
	}
}

func typingShapes() map[string]shape {
	typing := focusable(shape{"placeholder": may(plain(150)), "dispatch_action_config": may(dispatchConfig())})
	word := typing.with(shape{"initial_value": may(upTo(longestText))})
	return map[string]shape{
		"plain_text_input": word.with(shape{
			"multiline":  may(boolean),
			"min_length": may(number(0, longestText)), "max_length": may(number(1, longestText)),
		}),
		"email_text_input": word,
		"url_text_input":   word,
		"number_input": typing.with(shape{
			"is_decimal_allowed": must(boolean), "initial_value": may(matching(numberPattern)),
			"min_value": may(matching(numberPattern)), "max_value": may(matching(numberPattern)),
		}),
		"rich_text_input": typing.with(shape{"initial_value": may(anything), "min_lines": may(number(1, 100)), "max_lines": may(number(1, 100))}),
		"file_input":      base(shape{"filetypes": may(items(1, 100, text(1, 20))), "max_files": may(number(1, 10))}),
	}
}

// Where each element may stand.

func selects() []string { return slices.Sorted(maps.Keys(selectShapes())) }

func accessoryKinds() []string {
	return append(selects(),
		"button", "overflow", "image", "checkboxes", "radio_buttons", "datepicker", "timepicker")
}

func actionKinds() []string {
	return append(selects(),
		"button", "overflow", "checkboxes", "radio_buttons",
		"datepicker", "timepicker", "datetimepicker", "rich_text_input",
	)
}

// inputKinds leaves the file input to modals.
func inputKinds(on surface) []string {
	kinds := append(selects(),
		"checkboxes", "radio_buttons", "datepicker", "timepicker", "datetimepicker",
		"plain_text_input", "number_input", "email_text_input", "url_text_input", "rich_text_input",
	)
	if on == inModal {
		kinds = append(kinds, "file_input")
	}
	return kinds
}
