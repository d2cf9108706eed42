package prompts

import (
	"bytes"
	"fmt"

	"go.yaml.in/yaml/v3"
)

// A Sheet is problem statements by which to judge how well a model drafts.
type Sheet struct {
	Version    int              `yaml:"version"`
	Statements []SheetStatement `yaml:"statements"`
}

// A SheetStatement is one problem statement, and what good rungs around it
// are like.
type SheetStatement struct {
	ID       string            `yaml:"id"`
	Trade    string            `yaml:"trade"`
	Problem  string            `yaml:"problem"`
	WhyNow   string            `yaml:"why_now"`
	Broader  SheetSide         `yaml:"broader"`
	Narrower SheetSide         `yaml:"narrower"`
	Good     map[string]string `yaml:"good"` // by field of the answer, such as "broader_1": wordings of ours
	Poor     []SheetPoor       `yaml:"poor"`
}

// A SheetSide is what the rungs on one side, up or down, must keep and must
// not do: for people in a sentence, for counting in words.
type SheetSide struct {
	Must    string     `yaml:"must"`
	MustNot string     `yaml:"must_not"`
	Keep    [][]string `yaml:"keep"`  // a word of each line, or one that starts with it
	Never   []string   `yaml:"never"` // none of these, nor a plural in -s
}

// A SheetPoor is a wording that a check has to stop.
type SheetPoor struct {
	Text  string `yaml:"text"`
	Fails Check  `yaml:"fails"`
}

// OwnSheet is the sheet that comes with the program: twenty statements from
// varied trades, all invented.
func OwnSheet() Sheet {
	raw, err := files.ReadFile("texts/quality.yaml")
	if err != nil {
		panic(fmt.Sprintf("prompts: quality sheet: %v", err))
	}
	s, err := ParseSheet(raw)
	if err != nil {
		panic(fmt.Sprintf("prompts: %v", err)) // held by a test, so a bug
	}
	return s
}

// ParseSheet reads a sheet in YAML. A key that it does not know is an error,
// as is a sheet without statements, or a statement without id or problem.
func ParseSheet(data []byte) (Sheet, error) {
	d := yaml.NewDecoder(bytes.NewReader(data))
	d.KnownFields(true)
	var s Sheet
	if err := d.Decode(&s); err != nil {
		return Sheet{}, fmt.Errorf("quality sheet: %w", err)
	}
	if len(s.Statements) == 0 {
		return Sheet{}, fmt.Errorf("quality sheet: it has no statements; list at least one")
	}
	for i, st := range s.Statements {
		if st.ID == "" || st.Problem == "" {
			return Sheet{}, fmt.Errorf("quality sheet: statement %d needs an id and a problem", i+1)
		}
	}
	return s, nil
}

func (s SheetStatement) input() LadderInput { return LadderInput{Problem: s.Problem, WhyNow: s.WhyNow} }

// side is the side of the ladder on which a level lies.
func (s SheetStatement) side(level int) SheetSide {
	if level > 0 {
		return s.Broader
	}
	return s.Narrower
}

// keeps tells whether a text has a word of each line that it is to keep.
func (s SheetSide) keeps(text string) bool {
	for _, line := range s.Keep {
		if !hasStart(text, line) {
			return false
		}
	}
	return true
}

// avoids tells whether a text has none of the words that it must not have.
func (s SheetSide) avoids(text string) bool { return !hasWord(text, s.Never) }
