package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"soundings/bot/words"
)

// A Part of the summary as it stands in the thread, without a platform's
// markup. Whoever draws it makes its texts safe.
type Part struct {
	Title  string  // empty at its head and foot
	Above  []Block // what leads put to it
	Blocks []Block
}

// A Block is one of the types below it.
type Block interface{ isBlock() }

type (
	Para  Text   // a paragraph
	Lines []Text // lines that keep together
	Quote string // somebody's words
	Note  string // small print
	Code  string // lines of figures

	// A List shows its items, and says how many of all it leaves out.
	List struct {
		Items []Text
		All   int
	}
)

func (Para) isBlock()  {}
func (Lines) isBlock() {}
func (Quote) isBlock() {}
func (Note) isBlock()  {}
func (Code) isBlock()  {}
func (List) isBlock()  {}

// A Text is a sequence of runs.
type Text []Run

// A Run is text of one kind and one style.
type Run struct {
	Text         string
	Bold, Italic bool

	// At is a moment, in the place of text. Of a Day only the date is told.
	At  time.Time
	Day bool
}

// say is a text of ours, where ** begins and ends bold. It is formatted as by
// fmt, and a Text among args is put in as it is: nothing in it is parsed.
func say(format string, args ...any) Text {
	plain := append([]any{}, args...)
	for i, arg := range args {
		if _, ok := arg.(Text); ok {
			plain[i] = fmt.Sprintf("\x00%d\x00", i)
		}
	}
	var out Text
	bold := false
	for i, piece := range strings.Split(fmt.Sprintf(format, plain...), "\x00") {
		if i%2 == 1 {
			n, _ := strconv.Atoi(piece)
			for _, run := range args[n].(Text) {
				run.Bold = run.Bold || bold
				out = append(out, run)
			}
			continue
		}
		for j, ours := range strings.Split(piece, "**") {
			bold = bold != (j > 0)
			if ours != "" {
				out = append(out, Run{Text: ours, Bold: bold})
			}
		}
	}
	return out
}

// day and moment are told in the reader's own time.
func day(t time.Time) Text    { return Text{{At: t, Day: true}} }
func moment(t time.Time) Text { return Text{{At: t}} }

// listed joins texts, the first few of many.
func listed(texts []Text, most int) Text {
	var out Text
	for i, text := range words.FirstOf(texts, most) {
		if i > 0 {
			out = append(out, Run{Text: ", "})
		}
		out = append(out, text...)
	}
	if left := len(texts) - most; left > 0 {
		out = append(out, say(" and %d more", left)...)
	}
	return out
}

const all = math.MaxInt

func para(format string, args ...any) Block { return Para(say(format, args...)) }

// clip is what somebody typed, at most so long.
func clip(text string, longest int) Text { return Text{{Text: words.Clip(text, longest)}} }

// name is a name within a sentence.
func name(name string) Text { return clip(name, 40) }

// quote sets apart what somebody typed.
func quote(text string, longest int) Block { return Quote(words.Clip(text, longest)) }

// list shows the first of many.
func list[T any](of []T, most int, item func(T) Text) List {
	out := List{All: len(of)}
	for _, it := range words.FirstOf(of, most) {
		out.Items = append(out.Items, item(it))
	}
	return out
}
