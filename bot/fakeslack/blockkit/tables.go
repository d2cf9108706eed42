package blockkit

import (
	"unicode/utf8"

	"soundings/bot/fakeslack/wire"
)

// Tables and charts: messages only. A table's own limits are on the table
// block's page; those of data tables and charts are from Slack's skills
// repository, slack-go v0.35.0 and the documentation of slack-morphism.

const (
	longestTable     = 10000 // characters over all cells
	longestDataTable = 20000
	// longestMessage is how many characters all blocks of a message held when
	// the platform refused more, as somebody measured (slackapi/bolt-js
	// issue 2509); it is not documented.
	longestMessage = 13200
)

func tableShapes() map[string]shape {
	cell := typed(map[string]shape{
		"raw_text":   {"type": must(anything), "text": must(text(1, longestTable))},
		"raw_number": {"type": must(anything), "value": must(anyNumber), "text": may(upTo(longestTable))},
		"rich_text":  block(shape{"elements": must(items(0, 1000, richPart()))}),
	})
	column := shape{"align": may(oneOf("left", "center", "right")), "is_wrapped": may(boolean)}.check
	return map[string]shape{
		"table": block(shape{
			"rows":            must(items(1, 100, items(1, 20, orEmpty(cell)))),
			"column_settings": may(items(0, 20, orEmpty(column))),
		}),
		"data_table": block(shape{
			"caption":   must(text(1, 255)),
			"rows":      must(dataRows(cell)),
			"page_size": may(number(1, 100)), "row_header_column_index": may(number(0, 19)),
		}),
		"data_visualization": block(shape{"title": must(text(1, 50)), "chart": must(chart())}),
	}
}

// orEmpty also takes null, which is how an empty cell arrives.
func orEmpty(is check) check {
	return func(c *checker, v any, at string) {
		if v != nil {
			is(c, v, at)
		}
	}
}

// dataRows are a header without rich text and up to 200 rows of the same
// length.
func dataRows(cell check) check {
	each := items(2, 201, items(1, 20, cell))
	return func(c *checker, v any, at string) {
		each(c, v, at)
		rows, _ := v.([]any)
		if len(rows) == 0 {
			return
		}
		header, _ := rows[0].([]any)
		for _, h := range header {
			if o, ok := h.(map[string]any); ok && wire.Str(o, "type") == "rich_text" {
				c.fault(at+"/0", "unsupported type: rich_text")
			}
		}
		for _, row := range rows[1:] {
			if r, ok := row.([]any); ok && len(r) != len(header) {
				c.fault(at, "all rows must have the same number of cells")
				return
			}
		}
	}
}

func chart() check {
	label := text(1, 20)
	point := shape{"label": must(label), "value": must(anyNumber)}.check
	series := shape{"name": must(label), "data": must(items(1, 20, point))}.check
	axes := shape{"categories": must(items(1, 20, label)), "x_label": may(upTo(50)), "y_label": may(upTo(50))}.check
	lines := shape{"type": must(anything), "series": must(items(1, 12, series)), "axis_config": must(axes)}
	return typed(map[string]shape{
		"pie":  {"type": must(anything), "segments": must(items(1, 12, point))},
		"line": lines, "bar": lines, "area": lines,
	})
}

// characters counts all text under v that people would read.
func characters(v any) int {
	n := 0
	switch v := v.(type) {
	case map[string]any:
		for key, inner := range v {
			if s, ok := inner.(string); ok && key == "text" {
				n += utf8.RuneCountInString(s)
				continue
			}
			n += characters(inner)
		}
	case []any:
		for _, inner := range v {
			n += characters(inner)
		}
	case []Block:
		for _, inner := range v {
			n += characters(inner)
		}
	}
	return n
}
