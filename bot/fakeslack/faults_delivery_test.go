package fakeslack

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"soundings/bot/fakeslack/wire"
)

// heardTexts are the texts of the mentions that the stand-in got, in order.
func heardTexts(t *testing.T, l *lab) []string {
	t.Helper()
	var out []string
	for _, d := range l.bot.all() {
		var e map[string]any
		if err := json.Unmarshal(d.body, &e); err != nil {
			t.Fatal(err)
		}
		text := wire.Str(wire.Obj(e, "event"), "text")
		out = append(out, text[len("<@"+l.ws.BotUser()+"> "):])
	}
	return out
}

func TestRefusedDeliveryNeverArrives(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Refused: 1} })
	wantNoAck(t, "the shortcut", l.ws.Shortcut(t.Context(), l.ana, "log"), "connection_failed")
	if n := len(l.bot.all()); n != 0 {
		t.Errorf("%d deliveries arrived", n)
	}
}

func TestLostDeliveryArrives(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Lost: 1} })
	wantNoAck(t, "the shortcut", l.ws.Shortcut(t.Context(), l.ana, "log"), "http_timeout")
	if n := len(l.bot.all()); n != 1 {
		t.Errorf("%d deliveries arrived, want 1", n)
	}
}

// An event whose acknowledgement was lost comes again at once, as the same
// event.
func TestLostEventComesAgain(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Lost: 2} })
	if err := l.mention("one"); err != nil {
		t.Fatal(err)
	}
	if err := l.mention("two"); err != nil {
		t.Errorf("the second try should have made it: %v", err)
	}
	if got, want := heardTexts(t, l), []string{"one", "two", "two"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if l.bot.last().header.Get("X-Slack-Retry-Num") != "1" {
		t.Error("the second try does not say so")
	}
}

func TestDoubledDeliveriesArriveTwice(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Doubled: 2} })
	ids := func(kind string) (out []string) {
		for _, d := range l.bot.all() {
			var e map[string]any
			if json.Unmarshal(d.body, &e) == nil {
				out = append(out, wire.Str(e, kind))
			}
		}
		return out
	}
	for range 2 {
		if err := l.mention("hello"); err != nil {
			t.Fatal(err)
		}
	}
	if got := ids("event_id"); len(got) != 3 || got[0] == got[1] || got[1] != got[2] {
		t.Errorf("events: got %v, want the second one twice", got)
	}
	if n := l.bot.last().header.Get("X-Slack-Retry-Num"); n != "1" {
		t.Errorf("retry number of the double: got %q", n)
	}
	before := len(l.bot.all())
	for range 2 {
		if err := l.ws.Shortcut(t.Context(), l.ana, "log"); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(l.bot.all()) - before; n != 3 {
		t.Errorf("%d deliveries of two shortcuts, want 3", n)
	}
}

func TestReorderedEventsSwap(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Reordered: 3} })
	for _, text := range []string{"one", "two", "three", "four"} {
		if err := l.mention(text); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := heardTexts(t, l), []string{"one", "two", "four", "three"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestReorderedEventComesInTheEnd(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Reordered: 1} })
	if err := l.mention("alone"); err != nil {
		t.Fatal(err)
	}
	if n := len(l.bot.all()); n != 0 {
		t.Fatalf("%d deliveries came at once", n)
	}
	l.clock.add(heldBy)
	if err := l.ws.Redeliver(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := heardTexts(t, l); !slices.Equal(got, []string{"alone"}) {
		t.Errorf("got %v", got)
	}
}

func TestDroppedSocketsTakeTurns(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Dropped: 1} })
	act := func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }
	before := l.plug()
	wantNoAck(t, "dropped before", act(), "connection_failed")
	before.ends() // without a frame
	after := l.plug()
	err := during(act, func() { after.ack("") })
	wantNoAck(t, "dropped after", err, "connection_failed")
	after.ends()
}

// KeepRedelivering serves a workspace in which no clock leaps.
func TestKeepRedelivering(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Faults = Faults{Reordered: 1} })
	if err := l.mention("alone"); err != nil {
		t.Fatal(err)
	}
	l.clock.add(time.Minute)
	w := l.plug()
	done := make(chan struct{})
	go func() {
		defer close(done)
		l.ws.KeepRedelivering(t.Context())
	}()
	if f := w.ack(""); f.at("payload", "event", "type") != "app_mention" {
		t.Errorf("got %v", f)
	}
	t.Cleanup(func() { <-done }) // t.Context ends before this
}
