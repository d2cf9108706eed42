package closing

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/plaintext"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// The preview of the summary, for a lead: each part as it will stand, and from
// there a page for everything about it that can be changed. It is one form that
// turns its pages by answering the platform, as a ballot does, so that reading
// and changing costs no further call. What people rated or voted is shown and
// has no page.

// The pages of the preview, by the name under which a page is sent.
const (
	previewAll    = "close.preview" // the root of the summary, and all parts
	previewPart   = "close.part"    // Args.Choice is the part, Args.Round its page from 0
	previewChange = "close.change"  // Args.Choice is the part and the change, as in problem/brief
)

// The ways to go on from a page, besides the changes.
const (
	goNext = "next" // the next part
	goMore = "more" // the rest of a part that fills several pages
	goAll  = "all"
	goPost = "post"
)

// rootPart names the root among the parts: it comes before them, and is made of them, so
// that nothing in it can be changed by itself.
const rootPart = "root"

// pagesOf lists what the preview has a page for, in order.
func pagesOf(p screen.Page) []string {
	return append([]string{rootPart}, flows.PartsOf(&p.Kickoff)...)
}

// goField is the field in which a page asks how to go on.
const goField = "go"

// mayRevise refuses whoever cannot change the summary, or not now.
func mayRevise(p screen.Page) error {
	if err := screen.MayLead(p); err != nil {
		return err
	}
	if p.Kickoff.Stage == state.StageUnderway || screen.TakesAnswers(p.Kickoff, state.Window{Stage: state.StageClose}) {
		return nil
	}
	return screen.Refuse("The summary is put together in the last step, “%s”, which is not open now.", flows.TitleOf(state.StageClose))
}

// drawPreview lists the root of the summary and its parts, and leads to them.
func drawPreview(p screen.Page, f *block.Form) flows.Intent {
	posted := p.Kickoff.Stage == state.StageUnderway
	intro := "Nothing is posted yet. Look at any part, and change it."
	if posted {
		intro = "What you change here is changed in the thread, which says so."
	}
	f.Title = "The summary"
	f.Add(block.Text("%s", intro))
	if !posted {
		f.Add(looseBlocks(p.Kickoff)...)
	}
	ways := []block.Option{{Value: rootPart, Text: "The first message"}}
	for _, part := range flows.PartsOf(&p.Kickoff) {
		ways = append(ways, block.Option{Value: part, Text: report.Name(part), About: report.Gist(p.Kickoff, part)})
	}
	if !posted {
		ways = append(ways, block.Option{Value: goPost, Text: "Post the summary", About: postingText(p.Kickoff)})
	}
	goingOn(f, "Look at which part?", rootPart, ways)
	return nil
}

// goingOn asks at the end of a page how to go on.
func goingOn(f *block.Form, question, initial string, ways []block.Option) {
	f.Submit, f.Close = "Go On", "Close"
	f.Add(block.Divider())
	f.Radio(goField, question, initial, ways)
}

// submitWay goes on from the page of all parts, or from that of one.
func submitWay(p screen.Page, v block.Values) (screen.Answer, error) {
	if err := mayRevise(p); err != nil {
		return screen.Answer{}, err
	}
	parts, part := pagesOf(p), p.Args.Choice
	at := slices.Index(parts, part)
	switch way := v.Choice(goField); {
	case way == goPost:
		return screen.Wants(flows.PostSummary{ByLead: screen.ByLead(p)})
	case way == goAll:
		return turnTo(p, previewAll, "", 0)
	case way == goMore:
		return turnTo(p, previewPart, part, p.Args.Round+1)
	case way == goNext && at >= 0 && at < len(parts)-1:
		return turnTo(p, previewPart, parts[at+1], 0)
	case slices.Contains(parts, way):
		return turnTo(p, previewPart, way, 0)
	case strings.Contains(way, "/"):
		return turnTo(p, previewChange, part+":"+way, 0)
	}
	return screen.Faulty(goField, "Choose how to go on.")
}

// turnTo answers with another page of the preview.
func turnTo(p screen.Page, name, choice string, page int) (screen.Answer, error) {
	p.Args.Choice, p.Args.Round = choice, page
	view, err := Forms()[name].Open(name, p)
	if err != nil {
		return screen.Answer{}, err
	}
	return screen.Answer{Next: &view}, nil
}

// An answer to a form is bounded, and the ways to go on take a share of it.
const (
	waysBytes  = 6_000
	shownBytes = block.AnswerBytes - waysBytes + block.PageFrame
)

// mostTall is how many points the text of a page takes at most on a phone: with the ways to
// go on a page takes two screens of 844 points (our choice, no source). mostChanges is how
// many changes a page offers, where a part fills several.
const (
	mostTall    = 950
	mostChanges = 3
)

// tall is about how many points a block takes on a phone of 390 points: 24 a line of 40
// letters, and 16 below it. It was measured on the page of the rehearsal.
func tall(b slack.Block) int {
	lines := 0
	for line := range strings.Lines(strings.TrimSpace(plaintext.Blocks([]slack.Block{b}))) {
		lines += 1 + utf8.RuneCountInString(strings.TrimSpace(line))/40
	}
	return 24*lines + 16
}

// readingPages divides a part into pages that fit an answer and two screens.
func readingPages(blocks []slack.Block) [][]slack.Block {
	blocks = block.Fitted(blocks, func(b slack.Block) bool { return block.Size(b) <= shownBytes-block.PageFrame },
		func(slack.Block) slack.Block {
			return block.Note("Here stands a text that is too long to be shown in this form. In the thread it is whole.")
		})
	blocks = block.Fitted(blocks, func(b slack.Block) bool { return tall(b) <= mostTall/2 }, func(b slack.Block) slack.Block { return b })
	var pages [][]slack.Block
	for _, some := range block.Pages(blocks, mostTall+block.PageFrame, tall) {
		pages = append(pages, block.Pages(some, shownBytes, func(b slack.Block) int { return block.Size(b) })...)
	}
	for i := range pages[1:] {
		pages[i], pages[i+1] = keptTogether(pages[i], pages[i+1])
	}
	return pages
}

// keptTogether has a line that leads to a list stand on the page of the list.
func keptTogether(page, next []slack.Block) (_, _ []slack.Block) {
	last := len(page) - 1
	if last < 1 || isList(page[last]) || len(next) == 0 || !isList(next[0]) {
		return page, next
	}
	if both := append([]slack.Block{page[last]}, next...); block.Size(both...) <= shownBytes-block.PageFrame {
		return page[:last], both
	}
	return page, next
}

func isList(b slack.Block) bool {
	text, is := b.(*slack.RichTextBlock)
	if !is || len(text.Elements) == 0 {
		return false
	}
	_, is = text.Elements[0].(interface{ List() *slack.RichTextList })
	return is
}

func hasPart(p screen.Page) error {
	if !slices.Contains(pagesOf(p), p.Args.Choice) {
		return screen.Refuse("The summary has no such part. Open it again from your newest message.")
	}
	return nil
}

// drawPart shows a part as it will stand, and what can be changed about it.
func drawPart(p screen.Page, f *block.Form) flows.Intent {
	parts, part := pagesOf(p), p.Args.Choice
	at := slices.Index(parts, part)
	drawn := report.Root(p.Kickoff, p.Now)
	if part != rootPart {
		drawn, _ = report.Thread(p.Kickoff, part)
	}
	shown, all := readingPages(titled(drawn)), changesOf(p, part)
	changes := block.PagesOf(all, max(mostChanges, (len(all)+len(shown)-1)/len(shown)), waysBytes, change.bytes)
	pages := max(len(shown), len(changes))
	page := min(max(p.Args.Round, 0), pages-1)
	f.Title = fmt.Sprintf("The summary, %d of %d", at+1, len(parts))
	if page < len(shown) {
		f.Add(shown[page]...)
	}
	if stays := revisable[part].stays; stays != "" {
		f.Add(block.Note(stays))
	}
	var ways []block.Option
	if page < pages-1 {
		ways = append(ways, block.Option{Value: goMore, Text: "The rest of this part"})
	}
	if at < len(parts)-1 {
		ways = append(ways, block.Option{Value: goNext, Text: "Next: " + report.Name(parts[at+1])})
	}
	if page < len(changes) {
		for _, c := range changes[page] {
			ways = append(ways, c.way())
		}
	}
	back := block.Option{Value: goAll, Text: "Back to all parts"}
	initial := back.Value
	if page < pages-1 || at < len(parts)-1 {
		initial = ways[0].Value
	}
	goingOn(f, "And now?", initial, append(ways, back))
	return nil
}

func hasChange(p screen.Page) error {
	_, _, err := changeIn(p)
	return err
}

// drawChange is the page on which something about a part is changed.
func drawChange(p screen.Page, f *block.Form) flows.Intent {
	_, c, err := changeIn(p)
	if err != nil {
		return nil
	}
	c.fill(f)
	if c.page > 0 {
		f.Blocks = fieldPages(f.Blocks)[c.page-1]
	}
	f.Title, f.Submit, f.Close = c.title, "Save", "Close" // all of the preview; Save leads back to the part
	return nil
}

// changeIn finds the change that a page is about, with its part.
func changeIn(p screen.Page) (part string, c change, err error) {
	part, value, _ := strings.Cut(p.Args.Choice, ":")
	for _, c := range changesOf(p, part) {
		if c.way().Value == value {
			return part, c, nil
		}
	}
	return part, change{}, screen.Refuse("That is not in the summary any more, so there is nothing to change.")
}

// submitChange takes a change and goes back to its part, as it stands then.
// What cannot be taken is said at its field, and what was typed stays.
func submitChange(p screen.Page, v block.Values) (screen.Answer, error) {
	if err := mayRevise(p); err != nil {
		return screen.Answer{}, keepTyped(v, err)
	}
	part, c, err := changeIn(p)
	if err != nil {
		return screen.Answer{}, keepTyped(v, err)
	}
	intent := c.fill(block.Read(v))
	after, changed, err := taken(p, intent)
	if err != nil {
		return screen.Answer{}, keepTyped(v, err)
	}
	answer, err := turnTo(after, previewPart, part, 0)
	if err != nil {
		return screen.Answer{}, err
	}
	// Wanted even where it changes nothing: so a page that is sent again, since
	// its answer was lost, is answered with the part as well.
	answer.Intents = []flows.Intent{intent}
	if changed || p.SentBefore != nil && p.SentBefore() {
		saved := "Saved."
		if p.Kickoff.Stage == state.StageUnderway {
			saved = "Saved. The part in the thread is brought up to date now."
		}
		answer.Next.Blocks.BlockSet = append([]slack.Block{block.Note(saved)}, answer.Next.Blocks.BlockSet...)
	}
	return answer, nil
}

// keepTyped says a refusal at the first field of a form where it names none, so
// that the form stays open with all that was typed.
func keepTyped(v block.Values, err error) error {
	var refused *flows.Refusal
	if blocks := v.Blocks(""); errors.As(err, &refused) && refused.Field == "" && len(blocks) > 0 {
		return &flows.Refusal{Field: blocks[0], Reason: refused.Reason}
	}
	return err
}

// taken is the page once an intent is taken: what the next page shows must not
// be what stood there before. flows decides again when it is taken in earnest.
func taken(p screen.Page, in flows.Intent) (after screen.Page, changed bool, err error) {
	k := p.Kickoff
	events, err := flows.Decide(k, in, p.Now)
	if errors.Is(err, flows.ErrDue) {
		var due []event.Event
		if due, err = flows.Decide(k, flows.Tick{}, p.Now); err != nil {
			return p, false, err
		}
		k = flows.Apply(k, k.Version+1, event.Record{At: p.Now, Events: due})
		events, err = flows.Decide(k, in, p.Now)
	}
	if err != nil {
		return p, false, err
	}
	p.Kickoff = flows.Apply(k, k.Version+1, event.Record{At: p.Now, By: p.Viewer, Events: events})
	return p, len(events) > 0, nil
}
