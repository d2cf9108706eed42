package screens

import (
	"strings"
	"testing"

	"soundings/flows"
)

// add fills in the form for an assumption, and gives its answer.
func add(t *testing.T, sure bool, fill map[string]string) (moment, Answer) {
	t.Helper()
	return filled{moment: "assumptions", form: "assumptions.add", who: "U3", args: Args{Sure: sure}, fill: fill}.submit(t)
}

func TestASecondLook(t *testing.T) {
	for _, c := range []struct{ rule, text, says string }{
		{"what says the same already", "Passengers look at their phones before they set out to the pier.", "A1 Passengers look at their phone"},
		{"a question", "Do crews count bicycles at night?", "reads like a question"},
		{"something to build", "We should build a counter.", "something to build"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			m, answer := add(t, false, map[string]string{"text": c.text, "because": "Seen", "id": "X1"})
			if answer.Next == nil || len(answer.Intents) > 0 {
				t.Fatalf("answer = %+v, want the form once more and nothing taken", answer)
			}
			checkView(t, c.rule, *answer.Next)
			if drawn := PlainForm(*answer.Next); !strings.Contains(drawn, c.says) {
				t.Errorf("it does not say %q:\n%s", c.says, drawn)
			}
			p := pageFor(m, "U3")
			var err error
			if p.Args, err = ParseArgs(answer.Next.PrivateMetadata); err != nil || !p.Args.Sure {
				t.Fatalf("its args are %+v, %v, want it to be sure", p.Args, err)
			}
			again, err := Submit(answer.Next.CallbackID, p, fillIn(t, *answer.Next, nil))
			if err != nil || len(again.Intents) != 1 || again.Next != nil {
				t.Fatalf("sent as it is it gives %+v, %v", again, err)
			}
			got := again.Intents[0].(flows.AddAssumption)
			if got.Text != c.text || got.Because != "Seen" || got.ID != "X1" {
				t.Errorf("what was typed became %+v", got)
			}
			take(t, m, got)
		})
	}
}

func TestNoSecondLookWhereThereIsNothingToSay(t *testing.T) {
	if _, answer := add(t, false, map[string]string{"text": "The harbour office shares its counts."}); len(answer.Intents) != 1 || answer.Next != nil {
		t.Errorf("answer = %+v, want it taken at once", answer)
	}
	if _, answer := add(t, true, map[string]string{"text": "Is it so?"}); len(answer.Intents) != 1 || answer.Next != nil {
		t.Errorf("answer = %+v, want it taken as it is by whoever is sure", answer)
	}
}

// An answer to a form has to stay under 20 kB, or the platform drops it in
// silence: of the longest texts the second look is left out, and they are
// taken.
func TestTheSecondLookFitsAnAnswer(t *testing.T) {
	for rule, text := range map[string]string{
		"ordinary words":         strings.Repeat("word ", 599) + "end?",
		"hostile words":          long("Is", flows.MaxText-1) + "?",
		"four bytes a character": strings.Repeat("𝄞", 2999) + "?",
	} {
		_, answer := add(t, false, map[string]string{"text": text, "because": text})
		if answer.Next != nil {
			checkSize(t, rule, *answer.Next, answerBytes)
		} else if len(answer.Intents) != 1 {
			t.Errorf("%s: answer = %+v, want a second look or the text taken", rule, answer)
		}
	}
	if _, answer := add(t, false, map[string]string{"text": strings.Repeat("word ", 599) + "end?"}); answer.Next == nil {
		t.Error("3,000 ordinary characters get no second look")
	}
}

func TestTheLeadSeesWhatLooksAlike(t *testing.T) {
	m := momentAt(t, "assumptions")
	m = take(t, m, flows.AddAssumption{By: flows.By{Who: "U3"}, Text: "Crews can count bicycles without slowing the boarding down."})
	view, err := Open("assumptions.join", pageFor(m, "U1"))
	if err != nil {
		t.Fatal(err)
	}
	drawn := PlainForm(view)
	for _, want := range []string{"These look alike", "• A2 The crew can count", "A6 Crews can count"} {
		if !strings.Contains(drawn, want) {
			t.Errorf("it does not show %q:\n%s", want, drawn)
		}
	}
}
