package prompts

import (
	"encoding/json"
	"io"
	"strings"
)

// readAnswer reads the JSON object that an answer consists of. Two habits of
// models are forgiven, since nothing can hide in them: a code fence around the
// object, and thoughts between think tags before it. Anything else beside the
// object is a fault, as is a field that into does not have.
func readAnswer(content string, into any) bool {
	d := json.NewDecoder(strings.NewReader(unwrap(content)))
	d.DisallowUnknownFields()
	if d.Decode(into) != nil {
		return false
	}
	_, err := d.Token()
	return err == io.EOF
}

// unwrap takes off thoughts and a code fence.
func unwrap(content string) string {
	content = strings.TrimSpace(content)
	if rest, ok := strings.CutPrefix(content, "<think>"); ok {
		_, rest, _ = strings.Cut(rest, "</think>")
		content = strings.TrimSpace(rest)
	}
	const fence = "```"
	rest, opened := strings.CutPrefix(content, fence)
	rest, closed := strings.CutSuffix(rest, fence)
	if !opened || !closed {
		return content
	}
	language, object, ok := strings.Cut(rest, "\n")
	if language = strings.TrimSpace(language); !ok || language != "" && !strings.EqualFold(language, "json") {
		return content
	}
	return object
}
