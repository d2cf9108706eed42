package planning

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/state"
)

// Once a test is planned people see what its results will count as, and how
// often it would mislead. The number of another size is one press away.

// planned is the page that follows test Args.N as it is about to be saved; nil
// where it has no pass mark and needs no care, so that there is nothing to say.
func planned(p screen.Page, plan state.Plan) *slack.ModalViewRequest {
	var f block.Form
	planEntries(&f, p, state.Test{N: p.Args.N, PassShare: plan.PassShare, Size: plan.Size, Census: plan.Census, Care: plan.Care})
	if len(f.Blocks) == 0 {
		return nil
	}
	p.Args.Assumption = plan.Assumption
	view := screen.Seal("backlog.plan", p, &f)
	return &view
}

// numberOf is the number that a plan will have as a test, or has: a form that is
// sent twice is answered alike.
func numberOf(p screen.Page, plan state.Plan) int {
	plan = flows.WithCare(plan)
	for _, t := range p.Kickoff.TestsOf(plan.Assumption) {
		if t.By == p.Viewer && state.PlanOf(t) == plan {
			return t.N
		}
	}
	return len(p.Kickoff.Backlog.Tests) + 1
}

func planEntries(f *block.Form, p screen.Page, t state.Test) (better int) {
	text := words.PlanText(t.Planned())
	if text == "" && !t.Care {
		return 0
	}
	f.Title, f.Close = "What will count", "Done"
	if t.Care {
		careBlocks(f)
	}
	if text == "" {
		return 0
	}
	args := screen.StageArgs(p, state.StageBacklog)
	args.N = t.N
	f.Add(block.Text("Your test is saved. %s", text), block.Buttons(screen.Button("How This Is Counted", "open/backlog.counted", args)))
	if better = words.BetterSize(t.Planned()); better > 0 {
		f.Submit = fmt.Sprintf("Take %d Instead", better)
	}
	return better
}

// plannedTest shows what results of test Args.N will count as.
func plannedTest(p screen.Page, f *block.Form) flows.Intent {
	t, _ := p.Kickoff.Test(p.Args.N)
	planEntries(f, p, t)
	return nil
}

// submitPlanned takes the number that was offered for test Args.N.
func submitPlanned(p screen.Page, _ block.Values) (screen.Answer, error) {
	if err := mayPlan(p); err != nil {
		return screen.Answer{}, err
	}
	t, _ := p.Kickoff.Test(p.Args.N)
	plan := state.PlanOf(t)
	plan.Size = words.BetterSize(t.Planned())
	if plan.Size == 0 || p.Args.Assumption != "" && t.Assumption != p.Args.Assumption { // two who add tests at once may be shown each other's number
		return screen.Answer{}, screen.Refuse("This test was changed meanwhile, so nothing was taken. Press See the Tests in the channel to look at it.")
	}
	return screen.Wants(flows.EditTest{By: screen.By(p), N: t.N, Plan: plan})
}

// howCounted explains the figures of test Args.N.
func howCounted(p screen.Page, f *block.Form) flows.Intent {
	t, _ := p.Kickoff.Test(p.Args.N)
	f.Title = "How this is counted"
	f.Add(block.Text("%s", words.HowCounted(t.Planned())))
	return nil
}

// careBlocks say what follows from a test that touches health, children, or people
// who depend on whoever asks.
func careBlocks(f *block.Form) {
	f.Title = "Before it begins"
	f.Add(block.Para(block.Bold("%s. ", guide.Approval), block.Plain("An action for it is noted. Their yes takes about %d working days, so the plan counts as many; "+
		"change that if you know better.", guide.ApprovalDays)),
		block.Text("%s", guide.CautionFor(true)))
}
