package prompts

import (
	"encoding/json"
	"io"
	"strings"
)

// A found text stands in a field of an answer.
type found struct{ where, text string }

// read makes texts of an answer, and finds their faults.
func (in Input) read(content string) (texts []string, faults []Fault) {
	k := kinds[in.Kind]
	all, faults := k.find(content)
	for _, f := range all {
		faults = append(faults, in.faults(f.where, f.text, texts)...)
		texts = append(texts, f.text)
	}
	original, texted := strings.Join(in.original(), " "), strings.Join(texts, " ")
	if len(texts) > 0 && share(meanings(original, lettersOfMany), meanings(texted, lettersOfMany)) < k.kept {
		faults = append(faults, Fault{all[0].where, CheckTopic})
	}
	return texts, faults
}

// find takes the texts out of an answer.
func (k kind) find(content string) (all []found, faults []Fault) {
	if k.list != "" {
		var lists map[string][]string
		if !readAnswer(content, &lists) || len(lists) != 1 {
			return nil, []Fault{{"answer", CheckShape}}
		}
		for _, text := range lists[k.list] {
			all = append(all, found{k.list, strings.TrimSpace(text)})
		}
		if len(all) < k.fewest || len(all) > k.most {
			return nil, []Fault{{k.list, CheckLevels}}
		}
		return all, nil
	}
	var fields map[string]string
	if !readAnswer(content, &fields) {
		return nil, []Fault{{"answer", CheckShape}}
	}
	for _, where := range k.fields {
		if text := strings.TrimSpace(fields[where]); text != "" {
			all = append(all, found{where, text})
		} else {
			faults = append(faults, Fault{where, CheckLevels})
		}
		delete(fields, where)
	}
	if len(fields) > 0 {
		faults = append(faults, Fault{"answer", CheckLevels})
	}
	return all, faults
}

// readAnswer reads the JSON object that an answer consists of. Two habits of
// models are forgiven, since nothing can hide in them: a code fence around the
// object, and thoughts between think tags before it. Anything else beside the
// object is a fault.
func readAnswer(content string, into any) bool {
	d := json.NewDecoder(strings.NewReader(unwrap(content)))
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
