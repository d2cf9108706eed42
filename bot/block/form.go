package block

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// InputAction is the action id of every input. Its block id is the name of its
// field, by which a refusal names it.
const InputAction = "in"

// A Form is a modal, drawn or read back by one and the same function: each of
// its inputs is added with what stands in it, and gives what was entered. As
// it is drawn, and where the form that was sent does not have the field, that
// is what stood in it.
type Form struct {
	Title  string // at most 24 characters
	Submit string // names the outcome; empty for a form that only shows something
	Close  string // in place of “Not Now”

	Blocks []slack.Block
	Faults map[string]string // by field, as it is read back

	values Values
}

// Read is a form that reads back what was entered.
func Read(v Values) *Form { return &Form{values: v} }

// View is the form as it is sent.
func (f *Form) View() slack.ModalViewRequest {
	view := slack.ModalViewRequest{Type: slack.VTModal, Title: Label(f.Title), Close: Label(cmp.Or(f.Close, "Close")), Blocks: slack.Blocks{BlockSet: f.Blocks}}
	if f.Submit != "" {
		view.Submit, view.Close = Label(f.Submit), Label(cmp.Or(f.Close, "Not Now"))
	}
	return view
}

// Add puts blocks at the end of the form.
func (f *Form) Add(blocks ...slack.Block) { f.Blocks = append(f.Blocks, blocks...) }

// Fault says what is amiss at a field, the first fault of it.
func (f *Form) Fault(field, reason string) {
	if f.Faults == nil {
		f.Faults = map[string]string{}
	}
	if _, told := f.Faults[field]; !told {
		f.Faults[field] = reason
	}
}

// A Setting changes an input as it is built.
type Setting func(*slack.InputBlock)

// Optional lets an input stay empty.
func Optional(b *slack.InputBlock) { b.Optional = true }

// Hint is a rule in small print under an input.
func Hint(text string) Setting {
	return func(b *slack.InputBlock) { b.Hint = Label(text) }
}

// OneLine makes a text input one of a single line.
func OneLine(b *slack.InputBlock) { b.Element.(*slack.PlainTextInputBlockElement).Multiline = false }

// Longest is how many characters a text input takes, in place of the most that
// flows takes.
func Longest(n int) Setting {
	return func(b *slack.InputBlock) { b.Element.(*slack.PlainTextInputBlockElement).MaxLength = n }
}

// AtMost is how many of a list may be chosen.
func AtMost(n int) Setting {
	return func(b *slack.InputBlock) { b.Element.(*slack.MultiSelectBlockElement).MaxSelectedItems = &n }
}

func (f *Form) input(field, name string, element slack.BlockElement, settings []Setting) {
	b := slack.NewInputBlock(field, Label(name), nil, element)
	for _, s := range settings {
		s(b)
	}
	f.Add(b)
}

// entered is what was entered in a field, or what stood in it.
func entered[T any](f *Form, field string, stood T, read func(string) T) T {
	if _, sent := f.values[field]; !sent {
		return stood
	}
	return read(field)
}

// Text asks for text, of several lines unless it is set to one.
func (f *Form) Text(field, name, stood string, settings ...Setting) string {
	e := slack.NewPlainTextInputBlockElement(nil, InputAction)
	e.InitialValue, e.Multiline, e.MaxLength = stood, true, flows.MaxText
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.Text)
}

// Figure asks for a whole number. It is given as it was entered.
func (f *Form) Figure(field, name, stood, least, most string, settings ...Setting) string {
	e := slack.NewNumberInputBlockElement(nil, InputAction, false)
	e.InitialValue, e.MinValue, e.MaxValue = stood, least, most
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.Text)
}

// longestDecimal is more than any number has that somebody types.
const longestDecimal = 24

// Decimal asks for a number that may have a fraction, given as it was entered. It is
// asked for as text: where people write 2,5, a field for numbers refuses it.
func (f *Form) Decimal(field, name, stood string, settings ...Setting) string {
	return f.Text(field, name, stood, append([]Setting{OneLine, Longest(longestDecimal)}, settings...)...)
}

// Person asks for one person of the team.
func (f *Form) Person(field, name string, stood state.UserID, settings ...Setting) state.UserID {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeUser, Label("Choose"), InputAction)
	e.InitialUser = string(stood)
	f.input(field, name, e, settings)
	return entered(f, field, stood, func(b string) state.UserID { return state.UserID(f.values.field(b).SelectedUser) })
}

// People asks for several people of the team.
func (f *Form) People(field, name string, stood []state.UserID, settings ...Setting) []state.UserID {
	e := slack.NewOptionsMultiSelectBlockElement(slack.MultiOptTypeUser, Label("Choose"), InputAction)
	for _, u := range stood {
		e.InitialUsers = append(e.InitialUsers, string(u))
	}
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.People)
}

// Channel asks for one channel of the team.
func (f *Form) Channel(field, name string, settings ...Setting) string {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeConversations, Label("Choose"), InputAction)
	e.DefaultToCurrentConversation = true
	e.Filter = &slack.SelectBlockElementFilter{Include: []string{"public", "private"}, ExcludeBotUsers: true}
	f.input(field, name, e, settings)
	return f.values.Channel(field)
}

// Day asks for a date.
func (f *Form) Day(field, name string, stood state.LocalDay, settings ...Setting) state.LocalDay {
	e := slack.NewDatePickerBlockElement(InputAction)
	e.InitialDate = string(stood)
	f.input(field, name, e, settings)
	return entered(f, field, stood, func(b string) state.LocalDay { return state.LocalDay(f.values.field(b).SelectedDate) })
}

// An Option of a list: Value comes back, Text is shown.
type Option struct{ Value, Text, About string }

// Numbered are the options 1 to most, each with a name for its number.
func Numbered(most int, name func(int) string) []Option {
	out := make([]Option, most)
	for i := range out {
		out[i] = Option{Value: strconv.Itoa(i + 1), Text: name(i + 1)}
	}
	return out
}

// LongestOption is how many characters of an option the platform takes.
const LongestOption = 75

func optionObjects(options []Option) []*slack.OptionBlockObject {
	out := make([]*slack.OptionBlockObject, len(options))
	for i, o := range options {
		var about *slack.TextBlockObject
		if o.About != "" {
			about = Label(words.Clip(o.About, LongestOption))
		}
		out[i] = slack.NewOptionBlockObject(o.Value, Label(words.Clip(cmp.Or(o.Text, o.Value), LongestOption)), about)
	}
	return out
}

// chosen finds the options whose values are given.
func chosen(all []*slack.OptionBlockObject, values ...string) []*slack.OptionBlockObject {
	return slices.DeleteFunc(slices.Clone(all), func(o *slack.OptionBlockObject) bool { return !slices.Contains(values, o.Value) })
}

// Select asks for one of a list of at most MostOptions.
func (f *Form) Select(field, name, stood string, options []Option, settings ...Setting) string {
	all := optionObjects(options)
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, Label("Choose"), InputAction, all...)
	if at := chosen(all, stood); len(at) > 0 {
		e.InitialOption = at[0]
	}
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.Choice)
}

// mostShown is how many radio buttons or boxes the platform shows at once.
const mostShown = 10

// Radio shows all choices at once, of which one is chosen; where they are too
// many for that, it is a list.
func (f *Form) Radio(field, name, stood string, options []Option, settings ...Setting) string {
	if len(options) > mostShown {
		return f.Select(field, name, stood, options, settings...)
	}
	all := optionObjects(options)
	e := slack.NewRadioButtonsBlockElement(InputAction, all...)
	if at := chosen(all, stood); len(at) > 0 {
		e.InitialOption = at[0]
	}
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.Choice)
}

// Ticks shows at most ten boxes to tick. What is read back is what was ticked
// in the form that was sent, whatever stood there.
func (f *Form) Ticks(field, name string, stood []string, options []Option, settings ...Setting) []string {
	all := optionObjects(options)
	e := slack.NewCheckboxGroupsBlockElement(InputAction, all...)
	e.InitialOptions = chosen(all, stood...)
	f.input(field, name, e, settings)
	return f.values.Choices(field)
}

// Tick is one box, which may be ticked.
func (f *Form) Tick(field, name, value, text string, settings ...Setting) bool {
	return len(f.Ticks(field, name, nil, []Option{{Value: value, Text: text}}, append(settings, Optional)...)) > 0
}

// Many asks for several of a list of at most MostOptions.
func (f *Form) Many(field, name string, stood []string, options []Option, settings ...Setting) []string {
	all := optionObjects(options)
	e := slack.NewOptionsMultiSelectBlockElement(slack.MultiOptTypeStatic, Label("Choose"), InputAction, all...)
	e.InitialOptions = chosen(all, stood...)
	f.input(field, name, e, settings)
	return entered(f, field, stood, f.values.Choices)
}

// Again turns a form that was taken into one for another entry. nth is how many
// times the form was shown again.
func (f *Form) Again(nth int, said string) {
	f.Blocks, f.Close = append([]slack.Block{Text("%s", said)}, f.Blocks...), "Done"
	f.Anew(nth)
}

// Anew makes the fields of a form new ones, of the nth kind; with 0 they stay as
// they are. The platform keeps what was typed under the id of a block, so what is
// to stand in a field needs a new one where another form stood before.
func (f *Form) Anew(nth int) {
	if nth == 0 {
		return
	}
	for _, b := range f.Blocks {
		if in, ok := b.(*slack.InputBlock); ok {
			in.BlockID = fmt.Sprintf("%s%s%d", in.BlockID, againMark, nth)
		}
	}
}

// againMark stands between the name of a field and the number that makes it new.
const againMark = "#"

// FieldOf is the name of the field that a block of a form holds.
func FieldOf(id string) string {
	name, _, _ := strings.Cut(id, againMark)
	return name
}

// Values are the entries of a form, by block id and action id. A block holds
// one input, and its id is the name of the field, the one by which a refusal
// names it.
type Values map[string]map[string]slack.BlockAction

// field is the one input in a block.
func (v Values) field(block string) slack.BlockAction {
	for _, input := range v[block] {
		return input
	}
	return slack.BlockAction{}
}

// Text is what was typed, every character of it; nothing but blanks is no
// text.
func (v Values) Text(block string) string {
	text := v.field(block).Value
	if strings.TrimSpace(text) == "" {
		return ""
	}
	return text
}

// Choice is the value of the option chosen in a select or among radio
// buttons; empty when none was.
func (v Values) Choice(block string) string { return v.field(block).SelectedOption.Value }

// Choices are the values of the options ticked or chosen.
func (v Values) Choices(block string) []string {
	var out []string
	for _, o := range v.field(block).SelectedOptions {
		out = append(out, o.Value)
	}
	return out
}

// Number is a choice or an entry as a whole number; ok is false when it is
// empty or none.
func (v Values) Number(block string) (n int, ok bool) {
	n, err := strconv.Atoi(strings.TrimSpace(cmp.Or(v.Choice(block), v.Text(block))))
	return n, err == nil
}

// People are the people chosen.
func (v Values) People(block string) []state.UserID {
	var out []state.UserID
	for _, u := range v.field(block).SelectedUsers {
		out = append(out, state.UserID(u))
	}
	return out
}

// Channel is the channel chosen.
func (v Values) Channel(block string) string { return v.field(block).SelectedConversation }

// Blocks lists the blocks whose id begins with prefix, sorted: a form with
// one input per assumption names them "kind/A1", "kind/A2" and so on.
func (v Values) Blocks(prefix string) []string {
	var out []string
	for block := range v {
		if strings.HasPrefix(block, prefix) {
			out = append(out, block)
		}
	}
	slices.Sort(out)
	return out
}

// ByField puts entries under the names of their fields.
func (v Values) ByField() Values {
	out := make(Values, len(v))
	for id, inputs := range v {
		out[FieldOf(id)] = inputs
	}
	return out
}
