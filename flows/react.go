package flows

import (
	"fmt"
	"slices"
	"strconv"
	"time"
)

// An EffectKind is what an effect does to the world.
type EffectKind string

// The kinds of effect. Their values stand in queued jobs and never change.
const (
	Show           EffectKind = "show"    // post the slot's message, or bring it up to date, now
	Refresh        EffectKind = "refresh" // bring the slot's message up to date soon; many become one
	ShareMap       EffectKind = "picture" // put the map of a round into the slot's thread
	ShareFiles     EffectKind = "files"   // put the summary's files into the slot's thread
	Pin            EffectKind = "pin"     // pin the slot's message
	Unpin          EffectKind = "unpin"   // and let it go
	ReleaseChannel EffectKind = "free"    // the channel may hold another kickoff
	ListKickoff    EffectKind = "enlist"  // list the kickoff for each of those who now take part
	Resume         EffectKind = "resume"  // show what could not be shown while the channel was out of reach
	Wake           EffectKind = "wake"    // look at the clock at At

	UpdateCanvas   EffectKind = "canvas"      // bring the summary's canvas up to date, now
	RefreshCanvas  EffectKind = "canvas-soon" // within some hours; many become one
	AddBookmark    EffectKind = "bookmark"    // put a link to the slot's message into the channel's header
	RemoveBookmark EffectKind = "unbookmark"  // and take it out again
	InspectChannel EffectKind = "look"        // see who reads the channel, and whether it has a canvas
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
func React(k Kickoff, r Record) []Effect {
	var b reaction
	b.k = &k
	for _, e := range r.Events {
		if reacting, ok := e.(interface{ react(*reaction) }); ok {
			reacting.react(&b)
		}
	}
	if at := k.NextWake(); !at.IsZero() && !onlyBookkeeping(r.Events) {
		b.add(Effect{Do: Wake, At: at})
	}
	return withoutNeedlessRefreshes(b.effects)
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
func onlyBookkeeping(events []Event) bool {
	return !slices.ContainsFunc(events, func(e Event) bool {
		_, posted := e.(MessagePosted)
		return !posted
	})
}

type reaction struct {
	k       *Kickoff
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

func (b *reaction) tell(screen, arg string, to UserID) {
	b.add(Effect{Do: Show, Slot: Slot{Screen: screen, Arg: arg, To: to}})
}

func (b *reaction) tellLeads(screen, arg string) {
	for _, u := range leading(b.k) {
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
	if w.Phase == PhaseOpen {
		b.refresh(ScreenStage, StageArg(w.Stage, w.Round))
	}
}

// contents keeps the message of stage s current when something is put into
// it, which in an earlier or later stage it does not show.
func (b *reaction) contents(s Stage) {
	if b.k.Stage == s {
		b.progress()
	}
}

// controls brings the leads' controls up to date soon: what follows at once,
// as when a lead settles without delay, then changes them only once.
func (b *reaction) controls() {
	for _, u := range leading(b.k) {
		b.add(Effect{Do: Refresh, Slot: Slot{Screen: ScreenDesk, To: u}})
	}
}

func (b *reaction) refresh(screen, arg string) {
	b.add(Effect{Do: Refresh, Slot: Slot{Screen: screen, Arg: arg}})
}

func (Started) react(b *reaction) {
	b.add(Effect{Do: ListKickoff})
}

func (e StageOpened) react(b *reaction) {
	b.show(ScreenStage, StageArg(e.Stage, e.Round))
	b.tellLeads(ScreenDesk, "")
	if stageOf(e.Stage).settles == leadsWhileOpen {
		b.tellLeads(ScreenSettle, string(e.Stage))
	}
}

func (e StageReopened) react(b *reaction) {
	if e.Left != "" {
		b.show(ScreenStage, StageArg(e.Left, e.LeftRound))
		b.update(ScreenSettle, string(e.Left))
	}
	b.show(ScreenStage, StageArg(e.Stage, e.Round))
	b.tellLeads(ScreenDesk, "")
	b.update(ScreenSettle, string(e.Stage))
}

func (e WindowClosed) react(b *reaction) {
	for _, w := range slices.Backward(append(slices.Clone(b.k.Past), b.k.Window)) {
		if w.Stage == e.Stage && w.Phase != PhaseOpen {
			b.show(ScreenStage, StageArg(w.Stage, w.Round))
			break
		}
	}
	if !e.Until.IsZero() {
		b.tellLeads(ScreenSettle, string(e.Stage))
		b.controls() // closing and extending are over; opening again is not
	}
	b.quorumAnswered(e.Stage)
	stageOf(e.Stage).closed(b)
}

// quorumAnswered takes the question whether to wait off the leads' screens.
func (b *reaction) quorumAnswered(s Stage) {
	b.update(ScreenQuorum, string(s))
	for n := range b.k.Rounds {
		b.update(ScreenQuorum, StageArg(s, n+1))
	}
}

func (e QuorumMissed) react(b *reaction) {
	b.tellLeads(ScreenQuorum, StageArg(e.Stage, b.k.Window.Round))
	stageOf(e.Stage).extended(b)
	b.progress()
}

// A wish below quorum waits for the other leads', so they are asked.
func (CloseWished) react(b *reaction) {
	if w := b.k.Window; w.Phase == PhaseOpen && len(leading(b.k)) > 1 {
		b.tellLeads(ScreenQuorum, StageArg(w.Stage, w.Round))
	}
}

func (WindowMoved) react(b *reaction)   { b.progress() }
func (FinishedStage) react(b *reaction) { b.progress() }
func (BriefEdited) react(b *reaction)   { b.contents(StageBrief) }
func (WordingAdded) react(b *reaction)  { b.contents(StageFraming) }
func (WordingEdited) react(b *reaction) { b.contents(StageFraming) }

func (AssumptionAdded) react(b *reaction)     { b.contents(StageAssumptions) }
func (AssumptionEdited) react(b *reaction)    { b.contents(StageAssumptions) }
func (AssumptionWithdrawn) react(b *reaction) { b.contents(StageAssumptions) }
func (AssumptionsJoined) react(b *reaction)   { b.contents(StageAssumptions) }
func (TestAdded) react(b *reaction)           { b.contents(StageBacklog) }
func (TestWithdrawn) react(b *reaction)       { b.contents(StageBacklog) }

func (TestEdited) react(b *reaction) {
	b.contents(StageBacklog)
	if !yetToCome(b.k, StageClose) {
		b.refresh(ScreenResult, string(StageBacklog))
	}
}

func (MarksChanged) react(b *reaction) { b.refresh(ScreenResult, string(StageTimebox)) }

// What people have read in the thread of the summary is kept true, and so is
// its root, which holds the title, the problem and what is tested first.
func (e PartChanged) react(b *reaction) {
	b.showUnder(ScreenPart, e.Part, ScreenSummary)
	b.canvas(RefreshCanvas)
	if e.Part == "problem" {
		b.refresh(ScreenSummary, "")
	}
}

func (e PeopleJoined) react(b *reaction) {
	b.add(Effect{Do: ListKickoff})
	b.progress()
	for _, p := range e.People {
		b.update(ScreenJoin, string(p.ID))
	}
}

func (PersonLeft) react(b *reaction) { b.progress() }

// Whoever leads from now on gets the controls, and what is to be settled.
func (e LeadsChanged) react(b *reaction) {
	b.update(ScreenDesk, "") // of those who led until now
	b.tellLeads(ScreenDesk, "")
	w := b.k.Window
	switch {
	case b.k.Underway.Decision.Phase == PhaseSettling:
		b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
	case w.Phase == PhaseSettling || w.Phase == PhaseOpen && stageOf(w.Stage).settles == leadsWhileOpen:
		b.tellLeads(ScreenSettle, string(w.Stage))
	}
}

func (e JoinAsked) react(b *reaction) { b.tellLeads(ScreenJoin, string(e.Person.ID)) }

func (e RemindersSent) react(b *reaction) {
	for _, u := range b.k.Participants() {
		if day, ok := e.Days[u]; ok {
			b.tell(ScreenReminder, string(day), u)
		}
	}
}

func (e QuestionAsked) react(b *reaction) { b.question(e.N) }

func (e QuestionAnswered) react(b *reaction) { b.question(e.N) }

func (b *reaction) question(n int) {
	b.showUnder(ScreenQuestion, strconv.Itoa(n), Slot{Screen: ScreenStage, Arg: string(StageBrief)}.Name())
	b.contents(StageBrief)
	if b.k.Stage == StageUnderway {
		b.showUnder(ScreenPart, "questions", ScreenSummary)
		b.canvas(RefreshCanvas)
	}
}

// settled tells the leads what is settled. What is changed again in the
// summary only brings up to date what they were told.
func (b *reaction) settled(s Stage) {
	if yetToCome(b.k, StageClose) {
		b.tellLeads(ScreenSettle, string(s))
	} else {
		b.update(ScreenSettle, string(s))
	}
}

func (FramingSettled) react(b *reaction) {
	b.settled(StageFraming)
	b.show(ScreenResult, string(StageFraming))
}

func (e RolesSettled) react(b *reaction) {
	if e.Skipped {
		b.tellLeads(ScreenDesk, "")
		b.update(ScreenSettle, string(StageRoles))
		return
	}
	b.settled(StageRoles)
	b.show(ScreenResult, string(StageRoles))
}

func (e RoundCounted) react(b *reaction) {
	result := Slot{Screen: ScreenResult, Arg: StageArg(StageRating, e.N)}
	b.add(Effect{Do: Show, Slot: result})
	b.add(Effect{Do: ShareMap, Slot: result})
	if e.N == 1 {
		for _, id := range e.Splits {
			b.show(ScreenSplit, id)
		}
	}
}

func (e ReasonGiven) react(b *reaction) {
	b.showUnder(ScreenReason, strconv.Itoa(e.N), Slot{Screen: ScreenSplit, Arg: e.Assumption}.Name())
	if !e.Signed && len(b.k.UnsignedReasons(e.Assumption)) == FewestReasons {
		b.tellLeads(ScreenDesk, "") // from now on they may sum them up
	}
}

func (e GistPosted) react(b *reaction) {
	b.showUnder(ScreenGist, e.Assumption, Slot{Screen: ScreenSplit, Arg: e.Assumption}.Name())
}

func (TimeboxSet) react(b *reaction) {
	b.tellLeads(ScreenSettle, string(StageTimebox))
	b.show(ScreenResult, string(StageTimebox))
}

func (ActionAdded) react(b *reaction)  { b.actions() }
func (ActionEdited) react(b *reaction) { b.actions() }

func (ActionWithdrawn) react(b *reaction) { b.actions() }

func (b *reaction) actions() {
	b.contents(StageClose)
	if b.k.Stage == StageUnderway {
		b.showUnder(ScreenPart, "actions", ScreenSummary)
		b.canvas(RefreshCanvas)
	}
}

func (SummaryPosted) react(b *reaction) {
	b.tellLeads(ScreenSettle, string(StageClose))
	b.show(ScreenSummary, "")
	for _, part := range Parts() {
		b.showUnder(ScreenPart, part, ScreenSummary)
	}
	summary := Slot{Screen: ScreenSummary}
	b.add(Effect{Do: ShareFiles, Slot: summary})
	b.add(Effect{Do: Pin, Slot: summary})
	b.add(Effect{Do: AddBookmark, Slot: summary})
	b.canvas(UpdateCanvas)
}

func (BoxStarted) react(b *reaction) {
	b.tellLeads(ScreenDesk, "")
	b.refresh(ScreenSummary, "")
}

func (e CheckinOpened) react(b *reaction) { b.show(ScreenCheckin, strconv.Itoa(e.N)) }

func (ResultReported) react(b *reaction)  { b.checkin() }
func (EvidenceRerated) react(b *reaction) { b.checkin() }
func (ConfidenceVoted) react(b *reaction) { b.checkin() }

func (b *reaction) checkin() {
	if c := openCheckin(b.k); c != nil {
		b.refresh(ScreenCheckin, strconv.Itoa(c.N))
	}
}

func (e CheckinClosed) react(b *reaction) {
	n := strconv.Itoa(e.N)
	b.show(ScreenCheckin, n)
	b.show(ScreenMoved, n)
	b.show(ScreenSummary, "")
	for _, u := range b.k.InRing(Informed) {
		b.tell(ScreenDigest, n, u)
	}
	b.canvas(UpdateCanvas)
}

// Once the vote is open there is none to open, so the controls change too.
func (DecisionOpened) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.controls()
}

func (DecisionVoted) react(b *reaction) { b.refresh(ScreenDecision, b.decisionArg()) }

func (b *reaction) decisionArg() string { return strconv.Itoa(b.k.Underway.DecisionNumber()) }

func (e DecisionCounted) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
}

func (e DecisionMade) react(b *reaction) {
	n := strconv.Itoa(e.N)
	b.show(ScreenDecision, n)
	b.tellLeads(ScreenSettle, "decision/"+n)
	b.show(ScreenOutcome, n)
	b.show(ScreenSummary, "")
	if e.Choice != Another {
		b.tellLeads(ScreenDesk, "")
		if !b.k.Held() {
			b.add(Effect{Do: ShareFiles, Slot: Slot{Screen: ScreenOutcome, Arg: n}})
		}
		b.add(Effect{Do: Unpin, Slot: Slot{Screen: ScreenSummary}})
		b.add(Effect{Do: ReleaseChannel})
		b.add(Effect{Do: RemoveBookmark})
	}
	b.canvas(UpdateCanvas)
}
