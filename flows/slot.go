package flows

import (
	"slices"
	"strconv"
	"strings"

	"soundings/flows/state"
)

// A Slot is the place of one message of ours: posted once, then kept
// current. Its name is the same in every replay.
type Slot struct {
	Screen string       `json:"screen"`
	Arg    string       `json:"arg,omitempty"`   // which one of its kind
	To     state.UserID `json:"to,omitempty"`    // a private message; else it stands in the channel
	Under  string       `json:"under,omitempty"` // name of the slot in whose thread it stands
}

// Name identifies the slot within its kickoff.
func (s Slot) Name() string {
	parts := []string{s.Screen}
	if s.Arg != "" {
		parts = append(parts, s.Arg)
	}
	if s.To != "" {
		parts = append(parts, "@"+string(s.To))
	}
	return strings.Join(parts, "/")
}

// The screens that a slot can show.
const (
	ScreenStage       = "stage"      // arg: stage, for rating stage/round; what is asked, and the progress
	ScreenReopened    = "reopened"   // arg: stage, and version; a stage that people had left is open again
	ScreenQuestion    = "question"   // arg: number; in the brief's thread
	ScreenAsked       = "asked"      // arg: number; the same question, to a lead
	ScreenResult      = "result"     // arg: as for stage; what came out
	ScreenRatings     = "ratings"    // arg: as for stage; in the thread of its result, the whole list
	ScreenForesight   = "foresight"  // in the thread of the plan of tests; asks what people expect of each
	ScreenSplit       = "split"      // arg: assumption; asks for what others may not know
	ScreenReason      = "reason"     // arg: number; in the split's thread
	ScreenGist        = "gist"       // arg: assumption; what its unsigned reasons say, in the same thread
	ScreenDesk        = "desk"       // to a lead: the controls
	ScreenQuorum      = "quorum"     // to a lead: too few have answered
	ScreenSettle      = "settle"     // to a lead: confirm or change a result
	ScreenBack        = "back"       // arg: assumption; to whoever wrote it: a lead asks them to look at it again
	ScreenAlike       = "alike"      // to a person: which assumptions say the same
	ScreenReminder    = "reminder"   // to a person: what is still open
	ScreenJoin        = "join"       // to a lead: somebody asks to take part
	ScreenStanding    = "standing"   // arg: version, or back/ and a stage; to somebody who came later or came back: where things stand
	ScreenUnreachable = "shut"       // arg: number; to a lead: the channel is out of reach
	ScreenSummary     = "summary"    // the agreed kickoff, and how the discovery stands
	ScreenPart        = "part"       // arg: a part of the summary; in its thread
	ScreenCheckin     = "checkin"    // arg: number; asks for results and confidence
	ScreenMoved       = "moved"      // arg: number; what a check-in moved
	ScreenDigest      = "digest"     // arg: number; to the informed
	ScreenDecision    = "decision"   // arg: number; build, stop, or another box
	ScreenOutcome     = "outcome"    // arg: number of the decision; what was decided
	ScreenCalledOff   = "called-off" // why the kickoff ended before its time
	ScreenExtras      = "extras"     // to a lead: what of the extras is not there
	ScreenOutside     = "outside"    // to a lead: another company reads the channel
	ScreenLoss        = "loss"       // arg: version up to which all is intact; to a lead: what was lost, and of whom
)

// ParseSlot undoes Name, but for the thread, which the message of a slot needs
// before it stands and not afterwards.
func ParseSlot(name string) Slot {
	var s Slot
	if i := strings.LastIndex(name, "/@"); i >= 0 {
		name, s.To = name[:i], state.UserID(name[i+2:])
	}
	s.Screen, s.Arg, _ = strings.Cut(name, "/")
	return s
}

// Parts lists the parts of a summary, in the order of its thread.
func Parts() []string {
	return []string{"problem", "roles", "map", "backlog", "timebox", "questions", "actions"}
}

// PartsOf lists the parts that the summary of a kickoff has: not those of stages that
// it left out.
func PartsOf(k *state.Kickoff) []string {
	from := map[string]state.Stage{"roles": state.StageRoles, "backlog": state.StageBacklog, "timebox": state.StageTimebox}
	return slices.DeleteFunc(Parts(), func(part string) bool { s, is := from[part]; return is && k.LeavesOut(s) })
}

// StageArg names a stage, and its round where it has rounds.
func StageArg(s state.Stage, round int) string {
	if round > 0 {
		return string(s) + "/" + strconv.Itoa(round)
	}
	return string(s)
}

// ParseStageArg undoes StageArg.
func ParseStageArg(arg string) (state.Stage, int) {
	stage, round, _ := strings.Cut(arg, "/")
	n, _ := strconv.Atoi(round)
	return state.Stage(stage), n
}
