package score

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
)

// A Deal is who rates what.
type Deal struct {
	engine.List
	Places [][]int // by rater: the places of their assumptions
}

// NewDeal deals a list out, at most each to a person; people counts those who
// have no name.
func NewDeal(list engine.List, people, each int) Deal {
	list.Raters = slices.Clone(list.Raters)
	for n := 1; len(list.Raters) < people; n++ {
		if name := "person " + strconv.Itoa(n); !slices.Contains(list.Raters, name) {
			list.Raters = append(list.Raters, name)
		}
	}
	deal := engine.Dealing{Items: len(list.IDs), Each: each, People: make([]engine.Hand, len(list.Raters))}
	return Deal{list, engine.Deal(deal)}
}

// Room is a ballot for each person, to be printed: a page each.
func (d Deal) Room(wide int) string {
	var pages []string
	for i, places := range d.Places {
		var b strings.Builder
		say := func(format string, args ...any) {
			for _, line := range words.Wrap(fmt.Sprintf(format, args...), wide, "") {
				b.WriteString(line + "\n")
			}
		}
		say("Ballot of %s: %d of %s\n", words.HarmlessLine(d.Raters[i]), len(places), words.Count(len(d.IDs), "assumption", "assumptions"))
		say("Rate each from 1 to 9 without talking, and leave out what you can't say. Importance: how badly would it hurt to be " +
			"mistaken here? Evidence: how solid is what we know today?")
		for _, place := range places {
			b.WriteByte('\n')
			say("%s  %s", words.HarmlessLine(d.IDs[place]), words.HarmlessLine(d.Statements[place]))
			b.WriteString("    importance ____    evidence ____\n")
		}
		pages = append(pages, b.String())
	}
	return strings.Join(pages, "\f")
}

// Form is the same as a table in which ratings are filled in; score reads it.
func (d Deal) Form() string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.Write([]string{"rater", "assumption", "statement", "importance", "evidence"}) // into memory
	for i, places := range d.Places {
		for _, place := range places {
			_ = w.Write(words.Defused([]string{d.Raters[i], d.IDs[place], d.Statements[place], "", ""}))
		}
	}
	w.Flush()
	return b.String()
}
