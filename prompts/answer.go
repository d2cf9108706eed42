package prompts

import (
	"encoding/json"
	"io"
	"regexp"
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
	if len(texts) > 0 && share(units(original, lettersOfMany), units(texted, lettersOfMany)) < k.kept {
		faults = append(faults, Fault{all[0].where, CheckTopic})
	}
	return texts, faults
}

// find takes the texts out of an answer.
func (k kind) find(content string) (all []found, faults []Fault) {
	if k.list != "" {
		lists, ok := decode[[]string](content)
		if !ok || len(lists) != 1 {
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
	fields, ok := decode[string](content)
	if !ok {
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

// wrapping is what models like to put around an object, and nothing can hide
// in: thoughts between think tags before it, and a code fence.
var wrapping = regexp.MustCompile("(?is)^\\s*(?:<think>.*?</think>)?\\s*(?:```(?:json)?[ \t\r]*\n(.*)```|(.*?))\\s*$")

// decode reads the JSON object that an answer consists of. Anything else
// beside the object is a fault.
func decode[T any](content string) (object map[string]T, ok bool) {
	inner := wrapping.FindStringSubmatch(content)
	d := json.NewDecoder(strings.NewReader(inner[1] + inner[2]))
	if d.Decode(&object) != nil {
		return nil, false
	}
	_, err := d.Token()
	return object, err == io.EOF
}
