package screen

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// Numbered finds the entry of that number, from 1, in a list of what.
func Numbered[T any](all []T, what, number string) (T, error) {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > len(all) {
		var none T
		return none, fmt.Errorf("there is no %s %q", what, number)
	}
	return all[n-1], nil
}

// ScaleOptions are 1 to 9, with the words that some of them have.
func ScaleOptions(runs map[int]string) []block.Option {
	return block.Numbered(9, func(n int) string { return ScaleStep(n, runs) })
}

// ScaleStep is a step of a scale, with its words where it has some.
func ScaleStep(value int, runs map[int]string) string {
	if means := runs[value]; means != "" {
		return strconv.Itoa(value) + " · " + means
	}
	return strconv.Itoa(value)
}

// ScaleWords say what the ends and the middle of a scale mean, by rating.
func ScaleWords(scale state.Scale) map[int]string {
	if scale == state.Importance {
		return map[int]string{1: "hardly matters", 5: "would hurt", 9: "we could not go on"}
	}
	return map[int]string{1: "a guess", 5: "some signs", 9: "proven"}
}

// Decimal is an entry as a number, or a fault at its field.
func Decimal(f *block.Form, field, entry, fault string) float64 {
	x, err := Number(entry)
	if err != nil {
		f.Fault(field, fault)
		return 0
	}
	return x
}

// Number reads a number as people write it, with a point or a comma before its
// fraction. What may be meant in thousands, as 2,500, is none: it could be either.
func Number(entry string) (float64, error) {
	entry = strings.TrimSpace(entry)
	if whole, fraction, comma := strings.Cut(entry, ","); comma && len(fraction) != 3 {
		entry = whole + "." + fraction
	}
	x, err := strconv.ParseFloat(entry, 64)
	if err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
		err = strconv.ErrRange
	}
	return x, err
}

// FigureOf is a number as it stands in a field; 0 is an empty one.
func FigureOf[N int | float64](x N) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(x), 'f', -1, 64)
}

// TitleEntry asks for a text of one line, as short as a title.
func TitleEntry(f *block.Form, field, name, stood string, settings ...block.Setting) string {
	return f.Text(field, name, stood, append([]block.Setting{block.OneLine, block.Longest(flows.MaxTitle)}, settings...)...)
}

// MostEntries is how many entries a form lists, of two blocks each.
const MostEntries = 40

// MostFields is how many fields a form has at most: what takes more is on further pages
// (our choice, no source).
const MostFields = 10

// RingLists ask who stands in which ring, with a list of names for each, so that the form
// is as short with thirty people as with three. It gives the ring of everybody who was
// listed; the first 100 are.
func RingLists(f *block.Form, k state.Kickoff) map[state.UserID]state.Ring {
	people := words.FirstOf(k.Participants(), block.MostOptions)
	var options []block.Option
	for _, u := range people {
		options = append(options, block.Option{Value: string(u), Text: words.OneLine(k.Name(u))})
	}
	rings := map[state.UserID]state.Ring{}
	for _, r := range Rings {
		ring, field := state.Ring(r.Value), "ring/"+r.Value
		var stood []string
		for _, u := range people {
			if k.RingOf(u) == ring {
				stood = append(stood, string(u))
			}
		}
		for _, u := range f.Many(field, r.Text, stood, options, block.Optional, block.Hint(r.About)) {
			who := state.UserID(u)
			if rings[who] != "" {
				f.Fault(field, words.Clip(k.Name(who), 60)+" stands in two lists. Take the name out of one.")
			}
			rings[who] = ring
		}
	}
	for _, u := range people {
		if k.RingOf(u) != "" && rings[u] == "" {
			f.Fault("ring/"+string(k.RingOf(u)), words.Clip(k.Name(u), 60)+" stands in no list now. Put the name into one.")
		}
	}
	return rings
}

// DaysOptions are the days of a week that somebody may give, by the half, with the one
// that stands now.
func DaysOptions(now string) []block.Option {
	values := []string{now}
	for half := range 11 {
		values = append(values, strconv.FormatFloat(float64(half)/2, 'f', -1, 64))
	}
	slices.Sort(values) // each has one digit before its point
	var options []block.Option
	for _, v := range slices.Compact(values) {
		if d, err := strconv.ParseFloat(v, 64); err == nil {
			options = append(options, block.Option{Value: v, Text: words.Days(d) + " a week"})
		}
	}
	return options
}

// Rungs are the levels of the ladder, the broadest first, each with the
// question that leads to it.
var Rungs = []block.Option{
	{Value: "2", Text: "+2, much broader", About: "And why does that matter?"},
	{Value: "1", Text: "+1, broader", About: "Why does it matter?"},
	{Value: "0", Text: "0, as in the brief"},
	{Value: "-1", Text: "-1, narrower", About: "For whom, when?"},
	{Value: "-2", Text: "-2, much narrower", About: "One such moment"},
}

// Numbers reads options whose values are ours, and numbers.
func Numbers(chosen []string) []int {
	var out []int
	for _, c := range chosen {
		if n, err := strconv.Atoi(c); err == nil {
			out = append(out, n)
		}
	}
	return out
}

// Rings are what people choose among, each with what it asks of somebody.
var Rings = []block.Option{
	{Value: string(state.Core), Text: "Core team", About: "Does the work, some days every week."},
	{Value: string(state.Consulted), Text: "Consulted", About: "Is asked before decisions."},
	{Value: string(state.Informed), Text: "Informed", About: "Hears how it goes."},
}

// Names joins names, the first few of many.
func Names(k state.Kickoff, who []state.UserID, most int) string {
	all := make([]string, len(who))
	for i, u := range who {
		all[i] = words.Clip(k.Name(u), 40)
	}
	return words.Listed(all, most)
}

// WeekdayOptions begin on Monday; their values are Go's weekday numbers.
func WeekdayOptions() []block.Option {
	var options []block.Option
	for i := range 7 {
		day := time.Weekday((i + 1) % 7)
		options = append(options, block.Option{Value: strconv.Itoa(int(day)), Text: day.String()})
	}
	return options
}
