package screens

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

// Tests fill in forms as a person does: into the inputs that are there, with
// the choices that are offered.

// fillIn enters answers, by field, into a view as it stands; several choices
// are parted by commas. What is not answered keeps what it began with.
func fillIn(t *testing.T, view slack.ModalViewRequest, answers map[string]string) block.Values {
	t.Helper()
	v := block.Values{}
	for _, b := range view.Blocks.BlockSet {
		in, ok := b.(*slack.InputBlock)
		if !ok {
			continue
		}
		answer, given := answers[in.BlockID]
		entry := entered(t, in, answer, given)
		v[block.FieldOf(in.BlockID)] = map[string]slack.BlockAction{block.InputAction: entry}
		empty := fmt.Sprint(entry) == fmt.Sprint(slack.BlockAction{})
		assert.True(t, in.Optional || !empty, "the field %s is needed and empty: the platform would not send the form", in.BlockID)
	}
	for field := range answers {
		_, ok := v[field]
		assert.True(t, ok, "the form has no field %q", field)
	}
	return v
}

func entered(t *testing.T, in *slack.InputBlock, answer string, given bool) slack.BlockAction {
	t.Helper()
	switch e := in.Element.(type) {
	case *slack.PlainTextInputBlockElement:
		if !given {
			answer = e.InitialValue
		}
		assert.LessOrEqual(t, len([]rune(answer)), e.MaxLength, "characters in the field %s", in.BlockID)
		return slack.BlockAction{Value: answer}
	case *slack.NumberInputBlockElement:
		return slack.BlockAction{Value: orFirst(answer, e.InitialValue, given)}
	case *slack.DatePickerBlockElement:
		return slack.BlockAction{SelectedDate: orFirst(answer, e.InitialDate, given)}
	case *slack.SelectBlockElement:
		return chosenIn(t, in.BlockID, e, answer, given)
	case *slack.RadioButtonsBlockElement:
		return slack.BlockAction{SelectedOption: offered(t, in.BlockID, e.Options, orInitial(answer, given, e.InitialOption))}
	case *slack.CheckboxGroupsBlockElement:
		return many(t, in.BlockID, e.Options, e.InitialOptions, answer, given)
	case *slack.MultiSelectBlockElement:
		if e.Type == slack.MultiOptTypeUser {
			return slack.BlockAction{SelectedUsers: parts(orFirst(answer, strings.Join(e.InitialUsers, ","), given))}
		}
		return many(t, in.BlockID, e.Options, e.InitialOptions, answer, given)
	}
	t.Errorf("the field %s has an element of type %T, which no test fills in", in.BlockID, in.Element)
	return slack.BlockAction{}
}

func orFirst(answer, initial string, given bool) string {
	if given {
		return answer
	}
	return initial
}

func orInitial(answer string, given bool, initial *slack.OptionBlockObject) string {
	if !given && initial != nil {
		return initial.Value
	}
	return answer
}

func parts(answer string) []string {
	if answer == "" {
		return nil
	}
	return strings.Split(answer, ",")
}

func chosenIn(t *testing.T, field string, e *slack.SelectBlockElement, answer string, given bool) slack.BlockAction {
	t.Helper()
	switch e.Type {
	case slack.OptTypeUser:
		return slack.BlockAction{SelectedUser: orFirst(answer, e.InitialUser, given)}
	case slack.OptTypeConversations:
		return slack.BlockAction{SelectedConversation: answer}
	}
	return slack.BlockAction{SelectedOption: offered(t, field, e.Options, orInitial(answer, given, e.InitialOption))}
}

func many(t *testing.T, field string, options, initial []*slack.OptionBlockObject, answer string, given bool) slack.BlockAction {
	t.Helper()
	values := parts(answer)
	if !given {
		for _, o := range initial {
			values = append(values, o.Value)
		}
	}
	var entry slack.BlockAction
	for _, value := range values {
		entry.SelectedOptions = append(entry.SelectedOptions, offered(t, field, options, value))
	}
	return entry
}

// offered is the option of that value; a person can choose no other.
func offered(t *testing.T, field string, options []*slack.OptionBlockObject, value string) slack.OptionBlockObject {
	t.Helper()
	if value == "" {
		return slack.OptionBlockObject{}
	}
	at := slices.IndexFunc(options, func(o *slack.OptionBlockObject) bool { return o.Value == value })
	if !assert.GreaterOrEqual(t, at, 0, "the field %s does not offer %q", field, value) {
		return slack.OptionBlockObject{}
	}
	return *options[at]
}

// A filled form is somebody who opens a form at a moment and fills it in.
type filled struct {
	moment string
	form   string
	who    state.UserID
	args   screen.Args
	fill   map[string]string
}

// submit opens, fills in and submits.
func (f filled) submit(t *testing.T) (moment, screen.Answer) {
	t.Helper()
	m := momentAt(t, f.moment)
	p := pageFor(m, f.who)
	p.Args.Assumption, p.Args.N, p.Args.Choice, p.Args.Sure, p.Args.Saw = f.args.Assumption, f.args.N, f.args.Choice, f.args.Sure, f.args.Saw
	view, err := Open(f.form, p)
	require.NoError(t, err, "open")
	p.Args, err = screen.ParseArgs(view.PrivateMetadata)
	require.NoError(t, err)
	answer, err := Submit(f.form, p, fillIn(t, view, f.fill))
	require.NoError(t, err, "submit")
	return m, answer
}

// taken is the kickoff after flows took what the form means.
func (f filled) taken(t *testing.T) state.Kickoff {
	t.Helper()
	m, answer := f.submit(t)
	require.Empty(t, answer.Errors, "the form answers %+v, want intents", answer)
	require.NotEmpty(t, answer.Intents, "the form answers %+v, want intents", answer)
	for _, in := range answer.Intents {
		m = take(t, m, in)
	}
	return m.K
}

// optionValues are the values that the first list of a view offers.
func optionValues(t *testing.T, view slack.ModalViewRequest) []string {
	t.Helper()
	for _, b := range view.Blocks.BlockSet {
		in, ok := b.(*slack.InputBlock)
		if !ok {
			continue
		}
		if e, ok := in.Element.(*slack.SelectBlockElement); ok {
			var values []string
			for _, o := range e.Options {
				values = append(values, o.Value)
			}
			return values
		}
	}
	t.Fatal("the view has no list to choose from")
	return nil
}
