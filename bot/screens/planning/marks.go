package planning

import (
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// What counts as support is asked for in two fields: what kind of result, and how
// much of what, as people write it: "60%", "15 minutes".

// The kinds of a pass mark, as they travel.
const (
	markShare  = "share"
	markCensus = "census"
	markLeast  = "least"
	markMost   = "most"
	markYes    = "yes"
)

var markOptions = []block.Option{
	{Value: markShare, Text: "A share of people or cases"},
	{Value: markCensus, Text: "A share of all there are"},
	{Value: markLeast, Text: "A figure of at least …"},
	{Value: markMost, Text: "A figure of at most …"},
	{Value: markYes, Text: "A yes"},
}

// markOf is a pass mark as it stands in the two fields.
func markOf(t state.Test) (kind, much string) {
	figure := func() string { return strconv.FormatFloat(t.Bound.At, 'f', -1, 64) + " " + t.Bound.Unit }
	switch {
	case t.YesNo:
		return markYes, ""
	case t.Bound.Unit != "" && t.Bound.AtMost:
		return markMost, figure()
	case t.Bound.Unit != "":
		return markLeast, figure()
	case t.Census:
		kind = markCensus
	case t.PassShare > 0:
		kind = markShare
	}
	if t.PassShare > 0 {
		much = words.Number(engine.Figure(t.PassShare*100)) + "%"
	}
	return kind, much
}

// markEntries ask what counts as support.
func markEntries(f *block.Form, t state.Test, plan *state.Plan) {
	kind, much := markOf(t)
	kind = f.Select("mark", "What counts as support", kind, markOptions, block.Optional)
	much = f.Text("pass", "How much", much, block.Optional, block.OneLine, block.Longest(60),
		block.Hint("Such as 60%, or 15 minutes. Empty for a yes."))
	switch kind {
	case markYes:
		plan.YesNo = true
		if much != "" {
			f.Fault("pass", "A yes needs no figure. Leave this empty, or choose another kind of result above.")
		}
	case markLeast, markMost:
		at, unit := amount(f, much)
		plan.Bound = state.Bound{At: at, Unit: unit, AtMost: kind == markMost}
		if unit == "" {
			f.Fault("pass", "How much, and of what? For instance 15 minutes.")
		}
	default:
		shareEntry(f, kind, much, plan)
	}
}

// shareEntry reads a share; a percentage alone is one, whatever was chosen or not.
func shareEntry(f *block.Form, kind, much string, plan *state.Plan) {
	plan.Census = kind == markCensus
	if much == "" {
		if kind == markShare {
			f.Fault("pass", "How large a share? For instance 60%.")
		}
		return
	}
	at, unit := amount(f, much)
	switch {
	case unit != "" && unit != "%" && kind == "":
		f.Fault("mark", "Is that a figure of at least, or of at most?")
	case unit != "" && unit != "%" || at < 0 || at > 100:
		f.Fault("pass", "A share is 0 to 100%. Such as 60%.")
	}
	plan.PassShare = at / 100
}

// figureIn is a number within what people write: the unit may stand on either side.
var figureIn = regexp.MustCompile(`[-−]?\d+(?:[.,]\d+)*`)

// inThousands is a number that may be meant in one way or the other.
var inThousands = regexp.MustCompile(`^[-−]?[1-9]\d{0,2}(?:[.,]\d{3})+$`)

// amount reads a number and what it is of, or leaves a fault.
func amount(f *block.Form, much string) (at float64, unit string) {
	place := figureIn.FindStringIndex(much)
	if place == nil {
		f.Fault("pass", "Please begin with a number, such as 15 minutes.")
		return 0, strings.TrimSpace(much)
	}
	number := much[place[0]:place[1]]
	if inThousands.MatchString(number) {
		f.Fault("pass", "Please write the number without a mark between the thousands, such as 1500.")
	}
	unit = strings.Join(strings.Fields(much[:place[0]]+" "+much[place[1]:]), " ")
	number = strings.NewReplacer(",", ".", "−", "-").Replace(number)
	return screen.Decimal(f, "pass", number, "Please begin with a number, such as 15 minutes."), unit
}

// faultsOf are the faults of a filled-in plan, those among them that flows finds in
// what one field here asks for.
func faultsOf(p screen.Page, f *block.Form, intent flows.Intent) map[string]string {
	if len(f.Faults) > 0 {
		return f.Faults
	}
	var r *flows.Refusal
	_, err := flows.Decide(p.Kickoff, intent, p.Now)
	if errors.As(err, &r) && slices.Contains([]string{"bound", "unit", "census"}, r.Field) {
		return map[string]string{"pass": r.Reason}
	}
	return nil
}
