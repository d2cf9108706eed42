package flows

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/require"

	"soundings/engine"
	"soundings/flows/state"
)

// A line is one command of a transcript, taken apart:
//
//	ana adds wording level=1: Nobody can plan a trip with a bicycle.
//
// is who (ana), what (adds wording), options (level) and text.
type line struct {
	who  state.UserID
	what string
	opts map[string][]string
	text string
}

// parseLine takes a command apart. Text follows the first “: ”, or stands on
// the lines below the command.
func parseLine(s string) (line, error) {
	head, text, _ := strings.Cut(s, ": ")
	who, args, err := datadriven.ParseLine(strings.TrimSuffix(head, ":"))
	if err != nil {
		return line{}, err
	}
	return newLine(who, args, text), nil
}

func newLine(who string, args []datadriven.CmdArg, text string) line {
	l := line{who: state.UserID(who), opts: map[string][]string{}, text: text}
	var words []string
	for _, a := range args {
		if a.Vals == nil {
			words = append(words, a.Key)
		} else {
			l.opts[a.Key] = a.Vals
		}
	}
	l.what = strings.Join(words, " ")
	return l
}

// get takes an option out of the line; what is left at the end is a slip.
func (l line) get(name string) string {
	vals := l.opts[name]
	delete(l.opts, name)
	return strings.Join(vals, ", ")
}

func (l line) list(name string) []string {
	vals := l.opts[name]
	delete(l.opts, name)
	return slices.DeleteFunc(vals, func(v string) bool { return v == "" })
}

func (l line) int(t *testing.T, name string) int { return int(l.number(t, name)) }

// orElse is a whole number, or what is usual where none is named.
func (l line) orElse(t *testing.T, name string, usual int) int {
	t.Helper()
	if _, named := l.opts[name]; named {
		return l.int(t, name)
	}
	return usual
}

func (l line) number(t *testing.T, name string) float64 {
	t.Helper()
	s := l.get(name)
	if s == "" {
		return 0
	}
	n, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err, "%s=%s is no number", name, s)
	return n
}

func (l line) by() By         { return By{Who: l.who} }
func (l line) byLead() ByLead { return ByLead{Who: l.who} }

// ratingOption is the form of an option that names an assumption.
var ratingOption = regexp.MustCompile(`^A\d+$`)

// perAssumption gives the options that name assumptions, in natural order.
func (l line) perAssumption() (ids []string, values map[string]string) {
	values = map[string]string{}
	for name := range l.opts {
		if ratingOption.MatchString(name) {
			ids = append(ids, name)
		}
	}
	slices.SortFunc(ids, engine.CompareIDs)
	for _, id := range ids {
		values[id] = l.get(id)
	}
	return ids, values
}

func ints(t *testing.T, in []string) []int {
	t.Helper()
	var out []int
	for _, s := range in {
		n, err := strconv.Atoi(s)
		require.NoError(t, err, "%q is no whole number", s)
		out = append(out, n)
	}
	return out
}

// minute reads a time of day.
func minute(t *testing.T, s string) int {
	t.Helper()
	var h, m int
	_, err := fmt.Sscanf(s, "%d:%d", &h, &m)
	require.NoError(t, err, "%q is no time of day", s)
	return 60*h + m
}

func weekday(t *testing.T, s string) time.Weekday {
	t.Helper()
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.EqualFold(d.String(), s) {
			return d
		}
	}
	t.Fatalf("%q is no day of the week", s)
	return 0
}
