package flows

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/state"
)

// clock writes a time as people do; all transcripts play in 2027, in UTC.
func clock(t time.Time) string {
	if t.Second() != 0 {
		return t.UTC().Format("Mon 2 Jan 15:04:05")
	}
	return t.UTC().Format("Mon 2 Jan 15:04")
}

// printRecord writes a record in plain words: when, who, each event with its
// fields, and after an arrow what the world should now do. A wake is told
// only where it is another than the one expected so far.
func printRecord(out *strings.Builder, r event.Record, effects []Effect, expected time.Time) {
	fmt.Fprintf(out, "%s, %s\n", clock(r.At), author(r))
	for _, e := range r.Events {
		fmt.Fprintf(out, "  %s%s\n", event.KindOf(e), eventFields(e))
	}
	for _, do := range []EffectKind{DestroyKeys, Show, Refresh, RefreshLater, ShareMap, ShareFiles, Pin, Unpin, ReleaseChannel, ListKickoff, Redraw, LookUpPeople, InspectChannel, AddBookmark, RemoveBookmark, UpdateCanvas, RefreshCanvas} {
		if names := slotsOf(effects, do); names != "" {
			fmt.Fprintf(out, "  → %s%s\n", do, names)
		}
	}
	for _, e := range effects {
		if e.Do == Wake && !e.At.Equal(expected) {
			fmt.Fprintf(out, "  → wake %s\n", clock(e.At))
		}
	}
}

// author says whose doing a record is. Without a name it is the clock's, or
// what the platform or the store brought about, or a reason that somebody gave unsigned.
func author(r event.Record) string {
	if r.By != "" {
		return string(r.By)
	}
	switch r.Events[0].(type) {
	case event.EntriesLost:
		return "the store"
	case event.ReasonGiven:
		return "unsigned"
	case event.PersonLeft, event.PeopleKnown, event.ChannelMoved, event.ChannelSeen, event.CanvasMade, event.CanvasLost, event.BookmarkAdded, event.BookmarkRemoved, event.ExtraMissed:
		return "the platform"
	}
	return "the clock"
}

func slotsOf(effects []Effect, do EffectKind) string {
	var names string
	for _, e := range effects {
		if e.Do != do {
			continue
		}
		if e.Slot.Screen == "" {
			return "."
		}
		names += " " + e.Slot.Name()
		if e.Slot.Under != "" {
			names += " (under " + e.Slot.Under + ")"
		}
	}
	return names
}

// eventFields writes the fields of an event that are set.
func eventFields(e event.Event) string {
	switch e := e.(type) {
	case event.RoundCounted:
		partly := ""
		if e.Partly > 0 {
			partly = fmt.Sprintf(" partly=%d", e.Partly)
		}
		return fmt.Sprintf(" n=%d%s%s", e.N, partly, mapLines(e.Result, e.Splits))
	case event.WeeksProposed:
		return fmt.Sprintf(" weeks=%d: %s", e.Proposal.Weeks, e.Proposal.Why)
	}
	return fields(reflect.ValueOf(e))
}

func fields(v reflect.Value) string {
	var out strings.Builder
	for i := range v.NumField() {
		f := v.Type().Field(i)
		switch text := value(v.Field(i)); {
		case text == "" || text == "0" && (strings.HasSuffix(f.Name, "Round") || slices.Contains([]string{"Weeks", "Corrects", "Entry", "Figure", "At", "Since", "Each", "Second"}, f.Name)):
		case f.Anonymous:
			out.WriteString(fields(v.Field(i)))
		default:
			fmt.Fprintf(&out, " %s=%s", strings.ToLower(f.Name), text)
		}
	}
	return out.String()
}

// value writes one field; empty when it is not set.
func value(v reflect.Value) string {
	switch x := v.Interface().(type) {
	case time.Time:
		if x.IsZero() {
			return ""
		}
		return "“" + clock(x) + "”"
	case time.Weekday:
		return x.String()
	case engine.Figure:
		return figure(x)
	case state.Person:
		return string(x.ID)
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return value(v.Elem())
	case reflect.String:
		return quoted(v.String())
	case reflect.Struct:
		if inner := strings.TrimSpace(fields(v)); inner != "" {
			return "{" + inner + "}"
		}
		return ""
	case reflect.Slice:
		var items []string
		for i := range v.Len() {
			items = append(items, value(v.Index(i)))
		}
		return bracket(items)
	case reflect.Map:
		var items []string
		for each := v.MapRange(); each.Next(); {
			items = append(items, fmt.Sprint(each.Key())+":"+value(each.Value()))
		}
		slices.Sort(items)
		return bracket(items)
	}
	if v.IsZero() && v.Kind() != reflect.Int {
		return ""
	}
	return fmt.Sprint(v)
}

func bracket(items []string) string {
	if len(items) == 0 {
		return ""
	}
	return "[" + strings.Join(items, " ") + "]"
}

// quoted puts text of several words into quotes, and cuts a long one short.
func quoted(s string) string {
	if utf8.RuneCountInString(s) > 48 {
		s = string([]rune(s)[:47]) + "…"
	}
	if strings.ContainsAny(s, " \n") {
		return "“" + strings.ReplaceAll(s, "\n", "⏎") + "”"
	}
	return s
}

func figure(f engine.Figure) string {
	if !f.Defined() {
		return "none"
	}
	return strconv.FormatFloat(float64(f), 'g', 4, 64)
}

// mapLines writes a map in test order, a line for each assumption.
func mapLines(m engine.Result, splits []string) string {
	var out strings.Builder
	if len(splits) > 0 {
		fmt.Fprintf(&out, " splits=%v", splits)
	}
	for _, id := range m.Order {
		for _, a := range m.Assumptions {
			if a.ID == id {
				fmt.Fprintf(&out, "\n    %s importance %s (%s), evidence %s (%s)", a.ID, figure(a.Importance.Median),
					orNone(string(a.Importance.Agreement)), figure(a.Evidence.Median), orNone(string(a.Evidence.Agreement)))
				fmt.Fprintf(&out, ": %s%s", orNone(string(a.Zone)), map[bool]string{true: ", thin"}[a.Thin])
			}
		}
	}
	return out.String()
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// printState writes where the kickoff stands: the open window with its close
// on everybody's own clock, who has finished, who leads.
func printState(k *state.Kickoff, now time.Time) string {
	var out strings.Builder
	fmt.Fprintf(&out, "now %s\n", clock(now))
	w := k.Window
	fmt.Fprintf(&out, "stage %s, %s\n", StageArg(k.Stage, w.Round), w.Phase)
	if w.Phase == state.PhaseOpen {
		fmt.Fprintf(&out, "closes %s%s\n", clock(w.Closes), onClocks(k, w.Closes))
		fmt.Fprintf(&out, "asked %s; finished %s; heard %d, quorum %d\n", names(w.Asked), names(finishers(w)), Heard(k, w), w.Quorum())
	}
	if w.Phase == state.PhaseSettling {
		fmt.Fprintf(&out, "to be settled until %s%s\n", clock(w.Until), onClocks(k, w.Until))
	}
	fmt.Fprintf(&out, "leads %s; taking part %s\n", names(k.Leads), names(k.Participants()))
	if at := NextWake(k); at.IsZero() {
		out.WriteString("wakes no more\n")
	} else {
		fmt.Fprintf(&out, "wakes %s\n", clock(at))
	}
	return out.String()
}

func onClocks(k *state.Kickoff, t time.Time) string {
	var each []string
	for _, p := range k.People {
		if !p.Gone {
			each = append(each, fmt.Sprintf("%s %s", p.ID, t.In(k.HoursOf(p).Zone).Format("Mon 15:04")))
		}
	}
	return " (" + strings.Join(each, ", ") + ")"
}

func finishers(w state.Window) []state.UserID {
	var out []state.UserID
	for _, u := range w.Asked {
		if _, done := w.Done[u]; done {
			out = append(out, u)
		}
	}
	return out
}

func names(people []state.UserID) string {
	if len(people) == 0 {
		return "nobody"
	}
	var out []string
	for _, u := range people {
		out = append(out, string(u))
	}
	return strings.Join(out, " ")
}

// tree writes a part of the state, a line for each field or entry that is set.
func tree(part any) string {
	var out strings.Builder
	v := reflect.ValueOf(part)
	if v.Kind() == reflect.Slice {
		branches(&out, "", v)
	} else {
		for i := range v.NumField() {
			name, f := strings.ToLower(v.Type().Field(i).Name), v.Field(i)
			if f.Kind() == reflect.Slice && f.Len() > 0 && f.Type().Elem().Kind() == reflect.Struct {
				fmt.Fprintf(&out, "%s\n", name)
				branches(&out, "  ", f)
			} else if text := value(f); text != "" {
				fmt.Fprintf(&out, "%s %s\n", name, text)
			}
		}
	}
	if out.Len() == 0 {
		return "nothing\n"
	}
	return out.String()
}

func branches(out *strings.Builder, indent string, list reflect.Value) {
	for i := range list.Len() {
		fmt.Fprintf(out, "%s-%s\n", indent, fields(list.Index(i)))
	}
}
