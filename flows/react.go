package flows

import (
	"fmt"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// An EffectKind is what an effect does to the world.
type EffectKind string

// The kinds of effect. Their values stand in queued jobs and never change.
const (
	Show           EffectKind = "show"    // post the slot's message, or bring it up to date, now
	Refresh        EffectKind = "refresh" // bring the slot's message up to date soon; many become one
	ShareMap       EffectKind = "picture" // put the map of a round, or what a check-in moved on it, into the slot's thread
	ShareFiles     EffectKind = "files"   // put the summary's files into the slot's thread
	RefreshLater   EffectKind = "later"   // bring it up to date within some hours; many become one
	Pin            EffectKind = "pin"     // pin the slot's message
	Unpin          EffectKind = "unpin"   // and let it go
	ReleaseChannel EffectKind = "free"    // the channel may hold another kickoff
	ListKickoff    EffectKind = "enlist"  // list the kickoff for each of those who now take part, and for nobody else
	Resume         EffectKind = "resume"  // show what could not be shown while the channel was out of reach
	Redraw         EffectKind = "redraw"  // take away what shows what was lost, and bring every message up to date
	LookUpPeople   EffectKind = "people"  // find out who those are who are still sought
	Wake           EffectKind = "wake"    // look at the clock at At

	UpdateCanvas   EffectKind = "canvas"      // bring the summary's canvas up to date, now
	RefreshCanvas  EffectKind = "canvas-soon" // within some hours; many become one
	AddBookmark    EffectKind = "bookmark"    // put a link to the slot's message into the channel's header
	RemoveBookmark EffectKind = "unbookmark"  // and take it out again
	InspectChannel EffectKind = "look"        // see who reads the channel, and whether it has a canvas

	DestroyKeys EffectKind = "keys" // of the boxes of ballots that were emptied
)

// An Effect is something that the world should now do, as data. Effects are
// safe to repeat; ID tells one from another within its record.
type Effect struct {
	Do   EffectKind
	Slot Slot
	At   time.Time // for Wake
}

// ID is the same in every replay of the record that caused the effect.
func (e Effect) ID() string {
	if e.Do == Wake {
		return fmt.Sprintf("wake/%d", e.At.Unix())
	}
	return string(e.Do) + "/" + e.Slot.Name()
}

// React lists what should follow from one record, in the order in which
// people should see it. k is the state with the record applied; effects show
// the state as it is when they are done, which may be later.
func React(k state.Kickoff, r event.Record) []Effect {
	var b reaction
	b.k = &k
	for _, e := range r.Events {
		for _, row := range stages {
			row.after(&b, e)
		}
		for _, after := range inAnyStage {
			after(&b, e)
		}
	}
	b.cameBack(r)
	if at := NextWake(&k); !at.IsZero() && !onlyBookkeeping(r.Events) {
		b.add(Effect{Do: Wake, At: at})
	}
	return withoutNeedlessRefreshes(b.effects)
}

// inAnyStage says what should follow from events that belong to no stage's file.
var inAnyStage = []func(b *reaction, happened event.Event){
	afterSummary, afterResults, afterDecision, afterWindow, afterReminders, afterLead, afterJoining, afterProfiles,
	afterBallots, afterGist, afterChannel, afterCallOff, afterLeftOut, afterOutside, afterExtras, afterLost,
}

// withoutNeedlessRefreshes leaves out what a message shown at once would show
// again later.
func withoutNeedlessRefreshes(effects []Effect) []Effect {
	shown := map[string]bool{}
	for _, e := range effects {
		if e.Do == Show {
			shown[e.Slot.Name()] = true
		}
	}
	return slices.DeleteFunc(effects, func(e Effect) bool { return e.Do == Refresh && shown[e.Slot.Name()] })
}

// onlyBookkeeping reports that nothing happened but messages being sent.
func onlyBookkeeping(events []event.Event) bool {
	return !slices.ContainsFunc(events, func(e event.Event) bool {
		_, posted := e.(event.MessagePosted)
		return !posted
	})
}

type reaction struct {
	k       *state.Kickoff
	effects []Effect
}

func (b *reaction) add(e Effect) {
	if !slices.Contains(b.effects, e) {
		b.effects = append(b.effects, e)
	}
}

func (b *reaction) show(screen, arg string) {
	b.add(Effect{Do: Show, Slot: Slot{Screen: screen, Arg: arg}})
}

func (b *reaction) showUnder(screen, arg, under string) {
	b.add(Effect{Do: Show, Slot: Slot{Screen: screen, Arg: arg, Under: under}})
}

func (b *reaction) tell(screen, arg string, to state.UserID) {
	b.add(Effect{Do: Show, Slot: Slot{Screen: screen, Arg: arg, To: to}})
}

func (b *reaction) tellLeads(screen, arg string) {
	for _, u := range state.Leading(b.k) {
		b.tell(screen, arg, u)
	}
}

// update brings private messages of a kind up to date wherever they stand, so
// that no button is left that only earns a refusal. It posts none.
func (b *reaction) update(screen, arg string) {
	for _, u := range b.k.Participants() {
		slot := Slot{Screen: screen, Arg: arg, To: u}
		if _, posted := b.k.Posted[slot.Name()]; posted {
			b.add(Effect{Do: Show, Slot: slot})
		}
	}
}

// progress keeps the open stage's message current.
func (b *reaction) progress() {
	w := b.k.Window
	if w.Phase == state.PhaseOpen {
		b.refresh(ScreenStage, StageArg(w.Stage, w.Round))
	}
}

// contents keeps the message of stage s current when something is put into
// it, which in an earlier or later stage it does not show.
func (b *reaction) contents(s state.Stage) {
	if b.k.Stage == s {
		b.progress()
	}
}

// desksLater lets the leads' desks say in some hours who is still missing, if
// anybody is by then.
func (b *reaction) desksLater() {
	if len(Owing(b.k)) == 0 {
		return
	}
	for _, u := range state.Leading(b.k) {
		b.add(Effect{Do: RefreshLater, Slot: Slot{Screen: ScreenDesk, To: u}})
	}
}

// controls brings the leads' controls up to date soon: what follows at once,
// as when a lead settles without delay, then changes them only once.
func (b *reaction) controls() {
	for _, u := range state.Leading(b.k) {
		b.add(Effect{Do: Refresh, Slot: Slot{Screen: ScreenDesk, To: u}})
	}
}

func (b *reaction) refresh(screen, arg string) {
	b.add(Effect{Do: Refresh, Slot: Slot{Screen: screen, Arg: arg}})
}

// settled tells the leads what is settled. What is changed again in the
// summary only brings up to date what they were told.
func (b *reaction) settled(s state.Stage) {
	if yetToCome(b.k, state.StageClose) {
		b.refresh(ScreenStage, string(s)) // it said who would settle it, and by when
		b.tellLeads(ScreenSettle, string(s))
	} else {
		b.update(ScreenSettle, string(s))
	}
}
