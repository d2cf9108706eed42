package rating

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// The end of a ballot: what is still blank is said before it is finished, and
// whoever gave nearly everything the same number is asked which three come first, and
// whoever finds the evidence solid what it rests on. All only ask; each can be left.

// endBallot is what the last page of a ballot leads to.
func endBallot(p screen.Page, answer screen.Answer) screen.Answer {
	if p.Args.Round == 1 && len(openChoices(p)) > 0 {
		answer.Next = screen.Redrawn(Forms(), "rating.blank", p)
		return answer
	}
	return endRated(p, answer)
}

// endRated asks about a ballot that tells nothing apart, or finishes it.
func endRated(p screen.Page, answer screen.Answer) screen.Answer {
	if same, is := sameOn(p); is {
		p.Args.Choice = same.String()
		answer.Next = screen.Redrawn(Forms(), "rating.same", p)
		return answer
	}
	return endTold(p, answer)
}

// endTold asks what solid evidence rests on, or finishes the ballot.
func endTold(p screen.Page, answer screen.Answer) screen.Answer {
	if len(solid(p)) == 0 {
		return finishBallot(p, answer)
	}
	answer.Next = screen.Redrawn(Forms(), "rating.because", p)
	return answer
}

// mostSolid is about how many assumptions somebody is asked what their evidence rests on.
const mostSolid = 3

// solid are the assumptions whose evidence the viewer rated as solid, the most solid
// first: at most mostSolid of them, and none once they have finished, or said it of one.
// It is asked once, and of few: a ballot is to stay short.
func solid(p screen.Page) []string {
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	said := func(id string) bool { return ballot[id].Because != "" }
	if p.Args.Round > 1 || lists.Has(p.Kickoff.Window.Done, p.Viewer) || slices.ContainsFunc(shareOf(p), said) {
		return nil
	}
	ids := lists.Keep(shareOf(p), func(id string) bool { return ballot[id].Evidence >= state.SolidEvidence })
	slices.SortStableFunc(ids, func(a, b string) int {
		return cmp.Or(cmp.Compare(ballot[b].Evidence, ballot[a].Evidence), cmp.Compare(ballot[b].Importance, ballot[a].Importance))
	})
	return ids[:min(len(ids), mostSolid)]
}

func drawBecause(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit, f.Close = "What do we know?", "Finish", "Later"
	f.Add(block.Text("You say that we know much about this. What makes you think so? A few words or a link help the others. Or leave it empty and press Finish."),
		block.Note("Your name is not shown. Everybody can read it once the rating is closed."))
	for _, id := range solid(p) {
		a, _ := p.Kickoff.Assumption(id)
		f.Text("because/"+id, words.Clip(id+": "+a.Text, 150), "", block.OneLine, block.Optional, block.Longest(flows.MaxSentence))
	}
	return nil
}

func endBecause(p screen.Page, v block.Values) (screen.Answer, error) {
	if err := mayRate(p); err != nil {
		return screen.Answer{}, err
	}
	var rates []flows.Intent
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, id := range solid(p) {
		if text := v.Text("because/" + id); text != "" {
			rates = append(rates, flows.Rate{By: screen.By(p), Round: p.Args.Round, Assumption: id, Scale: state.Evidence, Value: ballot[id].Evidence, Because: text})
		}
	}
	return finishBallot(withChoices(p, rates), screen.Answer{Intents: rates}), nil
}

func finishBallot(p screen.Page, answer screen.Answer) screen.Answer {
	answer.Intents = append(answer.Intents, flows.Finish{By: screen.By(p), Stage: state.StageRating, Round: p.Args.Round})
	answer.Next = screen.Redrawn(Forms(), "rating.thanks", p)
	return answer
}

// withChoices is the page once these ratings are taken.
func withChoices(p screen.Page, rates []flows.Intent) screen.Page {
	if len(rates) == 0 {
		return p
	}
	rounds := slices.Clone(p.Kickoff.Rounds)
	r := &rounds[p.Args.Round-1]
	ballot := map[string]state.Marking{}
	maps.Copy(ballot, r.Ballots[p.Viewer])
	for _, in := range rates {
		rate := in.(flows.Rate)
		m := ballot[rate.Assumption]
		if rate.Scale == state.Importance {
			m.Importance = rate.Value
		} else {
			m.Evidence, m.Because = rate.Value, rate.Because
		}
		ballot[rate.Assumption] = m
	}
	ballots := map[state.UserID]map[string]state.Marking{}
	maps.Copy(ballots, r.Ballots)
	ballots[p.Viewer] = ballot
	r.Ballots = ballots
	p.Kickoff.Rounds = rounds
	return p
}

// shareOf is what the viewer's ballot asks about.
func shareOf(p screen.Page) []string { return p.Kickoff.Rounds[p.Args.Round-1].Share(p.Viewer) }

// openChoices are the assumptions of a ballot with a scale that is blank, once for
// each such scale.
func openChoices(p screen.Page) (open []string) {
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, id := range shareOf(p) {
		if ballot[id].Importance == 0 {
			open = append(open, id)
		}
		if ballot[id].Evidence == 0 {
			open = append(open, id)
		}
	}
	return open
}

func drawBlank(p screen.Page, f *block.Form) flows.Intent {
	open := openChoices(p)
	ids := slices.Compact(slices.Clone(open))
	f.Title, f.Submit, f.Close = "Is that all?", "That Is All", "Later"
	if len(open) == 0 {
		f.Add(block.Text("Nothing is open on your ballot."))
		return nil
	}
	f.Add(block.Text("%s still open: %s.", words.Count(len(open), "choice is", "choices are"), words.Listed(ids, 12)),
		block.Text("Go back, or is that all? A blank counts as “can't say”."))
	back := p.Args
	back.N = slices.IndexFunc(Pages(p), func(ids []string) bool { return slices.Contains(ids, open[0]) })
	f.Add(block.Buttons(screen.Button("Go Back", "turn/rating.ballot", back)))
	return nil
}

func endBlank(p screen.Page, _ block.Values) (screen.Answer, error) {
	if err := mayRate(p); err != nil {
		return screen.Answer{}, err
	}
	return endRated(p, screen.Answer{}), nil
}

// A sameness is that somebody gave nearly everything the same number on one scale,
// and what they chose to do about it.
type sameness struct {
	scale  state.Scale
	mark   int
	chosen []string // at most mostChosen of their assumptions; empty until they chose
}

// mostChosen is how many of those rated alike somebody may put before the others.
const mostChosen = 3

// String is the form in which it travels: "importance/9/A1,A4".
func (s sameness) String() string {
	return fmt.Sprintf("%s/%d/%s", s.scale, s.mark, strings.Join(s.chosen, ","))
}

// samenessFrom reads what String wrote.
func samenessFrom(args string) (s sameness, ok bool) {
	parts := strings.SplitN(args, "/", 3)
	if len(parts) != 3 {
		return s, false
	}
	mark, err := strconv.Atoi(parts[1])
	s = sameness{scale: state.Scale(parts[0]), mark: mark}
	if parts[2] != "" {
		s.chosen = strings.Split(parts[2], ",")
	}
	return s, err == nil && mark >= 1 && mark <= 9
}

func entryOn(m state.Marking, scale state.Scale) int {
	if scale == state.Importance {
		return m.Importance
	}
	return m.Evidence
}

// sameOn reports on which scale the viewer's ballot puts hardly anything before
// anything else, importance before evidence. A second round asks about few, which
// may well be alike.
func sameOn(p screen.Page) (sameness, bool) {
	if p.Args.Round != 1 {
		return sameness{}, false
	}
	ballot := p.Kickoff.Ballot(1, p.Viewer)
	for _, scale := range []state.Scale{state.Importance, state.Evidence} {
		var ratings []engine.Rating
		for _, id := range shareOf(p) {
			ratings = append(ratings, engine.Rating(max(entryOn(ballot[id], scale), 0)))
		}
		if at := engine.FlatAt(ratings); at != 0 {
			return sameness{scale: scale, mark: int(at)}, true
		}
	}
	return sameness{}, false
}

func isSame(p screen.Page) error {
	if _, ok := samenessFrom(p.Args.Choice); !ok {
		return screen.Refuse("There is nothing to tell apart on your ballot.")
	}
	return nil
}

// changes are the ratings that change: those chosen stay and the others go one
// down, or at the foot of the scale those chosen go one up.
func (s sameness) changes(p screen.Page) (rates []flows.Intent) {
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	for _, id := range shareOf(p) {
		chosen := slices.Contains(s.chosen, id)
		rate := flows.Rate{By: screen.By(p), Round: p.Args.Round, Assumption: id, Scale: s.scale, Value: s.others()}
		if s.mark == 1 {
			chosen, rate.Value = !chosen, 2
		}
		if entryOn(ballot[id], s.scale) == s.mark && !chosen {
			rates = append(rates, rate)
		}
	}
	return rates
}

// others is the rating of those that were not chosen.
func (s sameness) others() int { return max(s.mark-1, 1) }

// those is the rating of those that were chosen.
func (s sameness) those() int { return max(s.mark, 2) }

func drawSame(p screen.Page, f *block.Form) flows.Intent {
	s, _ := samenessFrom(p.Args.Choice)
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	alike := lists.Keep(shareOf(p), func(id string) bool { return entryOn(ballot[id], s.scale) == s.mark })
	f.Title, f.Submit, f.Close = "Which come first?", "Go On", "Later"
	if len(s.chosen) > 0 {
		f.Submit = "Finish"
		back := p.Args
		back.N = 0
		f.Add(block.Text("On your ballot %s will have %s %d. The other %d will have %d.",
			words.And(s.chosen, mostChosen), s.scale, s.those(), len(alike)-len(s.chosen), s.others()),
			block.Buttons(screen.Button("Back to My Ballot", "turn/rating.ballot", back)))
		return nil
	}
	ask, all := "Which three would hurt most if they were wrong?", fmt.Sprintf("all %d", len(alike))
	if s.scale == state.Evidence {
		ask = "Of which three do we know most?"
	}
	if rated := ratedOn(p, s.scale); rated > len(alike) {
		all = fmt.Sprintf("%d of %d", len(alike), rated)
	}
	f.Add(block.Text("You gave %s %s of %d. What comes first is then left to the others.", all, "an "+string(s.scale), s.mark))
	var options []block.Option
	for _, id := range alike {
		a, _ := p.Kickoff.Assumption(id)
		options = append(options, block.Option{Value: id, Text: id + " · " + a.Text})
	}
	f.Many("first", ask, nil, options, block.Optional, block.AtMost(mostChosen), block.Hint(s.rule()))
	return nil
}

// rule says what a choice does, before it is made.
func (s sameness) rule() string {
	what := fmt.Sprintf("They keep your %d, and the others get %d.", s.mark, s.others())
	if s.mark == 1 {
		what = "They get a 2, and the others keep your 1."
	}
	return what + " You see it before it is saved. Choose none, and all stay as they are."
}

func ratedOn(p screen.Page, scale state.Scale) (n int) {
	for _, m := range p.Kickoff.Ballot(p.Args.Round, p.Viewer) {
		if entryOn(m, scale) > 0 {
			n++
		}
	}
	return n
}

// endSame shows what would change, then takes it; with nothing chosen all stays.
func endSame(p screen.Page, v block.Values) (screen.Answer, error) {
	if err := mayRate(p); err != nil {
		return screen.Answer{}, err
	}
	s, ok := samenessFrom(p.Args.Choice)
	chosen := v.Choices("first")
	switch {
	case !ok || len(s.chosen) == 0 && len(chosen) == 0:
		return endTold(p, screen.Answer{}), nil
	case len(chosen) > mostChosen:
		return screen.Faulty("first", fmt.Sprintf("Choose %d at most.", mostChosen))
	case len(s.chosen) == 0:
		s.chosen = chosen
		p.Args.Choice = s.String()
		return screen.Answer{Next: screen.Redrawn(Forms(), "rating.same", p)}, nil
	}
	rates := s.changes(p)
	return endTold(withChoices(p, rates), screen.Answer{Intents: rates}), nil
}

// drawThanks says what was rated.
func drawThanks(p screen.Page, f *block.Form) flows.Intent {
	share, ballot, rated := shareOf(p), p.Kickoff.Ballot(p.Args.Round, p.Viewer), 0
	for _, id := range share {
		if m := ballot[id]; m.Importance != 0 && m.Evidence != 0 {
			rated++
		}
	}
	f.Title = "Thank you"
	f.Add(block.Text("You have answered for %d of %s.", rated, words.Count(len(share), "assumption", "assumptions")))
	if text := ownOrder(p); text != "" {
		f.Add(block.Text("Most important to you: %s", text))
	}
	if w, ok := screen.WindowOf(p.Kickoff, state.StageRating, p.Args.Round); ok && !w.Closes.IsZero() {
		f.Add(block.Para(block.Plain("You can change it until "), block.When(w.Closes), block.Plain(" your time, or until everybody has finished. Nobody sees it.")))
	}
	return nil
}

// firstOwn is how many assumptions of their own ballot people are shown.
const firstOwn = 3

// ownOrder is what the viewer has rated as most important: "A3 (9), A1 (8), A7 (8)."
// It is empty before there are as many as it shows.
func ownOrder(p screen.Page) string {
	ballot := p.Kickoff.Ballot(p.Args.Round, p.Viewer)
	rated := lists.Keep(shareOf(p), func(id string) bool { return ballot[id].Importance > 0 })
	if len(rated) < firstOwn {
		return ""
	}
	slices.SortStableFunc(rated, func(a, b string) int { return cmp.Compare(ballot[b].Importance, ballot[a].Importance) })
	least := ballot[rated[firstOwn-1]].Importance
	alike := len(lists.Keep(rated[firstOwn:], func(id string) bool { return ballot[id].Importance == least }))
	var shown []string
	for _, id := range rated[:firstOwn] {
		shown = append(shown, fmt.Sprintf("%s (%d)", id, ballot[id].Importance))
	}
	if alike > 0 {
		shown = append(shown, fmt.Sprintf("and %d more with %d", alike, least))
	}
	return strings.Join(shown, ", ") + "."
}
