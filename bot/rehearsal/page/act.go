package page

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
)

// An action is what a person does by a form of the page. What it returns as an
// error is told to them in their own words.
type action func(ctx context.Context, who fakeslack.User, form url.Values) error

// heaviestForm is more than a form of ours ever sends.
const heaviestForm = 1 << 20

// acting does something for the person in the address, lets the bot answer, and
// leads back to where they were.
func (p *Page) acting(do action) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		who, ok := p.person(r)
		if !ok {
			http.NotFound(w, r)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, heaviestForm)
		if err := r.ParseMultipartForm(heaviestForm); err != nil && !errors.Is(err, http.ErrNotMultipart) {
			http.Error(w, "This form cannot be read: "+err.Error(), http.StatusBadRequest)
			return
		}
		p.mu.Lock()
		clear(p.notices) // what others were told is past as well
		p.mu.Unlock()
		// It ends with the page, not with the request, so that no act is left half done.
		err := p.room.Act(p.life, func(ctx context.Context) error {
			if err := do(ctx, who, r.PostForm); err != nil {
				return err
			}
			return p.seeWaiting(ctx)
		})
		if err != nil {
			p.mu.Lock()
			p.notices[who.ID] = notice{Text: p.sentence(err), Wrong: true}
			p.mu.Unlock()
		}
		p.news.tell()
		http.Redirect(w, r, back(r), http.StatusSeeOther)
	}
}

// A notice is what somebody is told above the messages.
type notice struct {
	Text  string
	Wrong bool // something went wrong, or nothing happened
}

// back is the page on which something was done; never one elsewhere.
func back(r *http.Request) string {
	own := "/as/" + r.PathValue("who") + "/"
	if path := r.PostFormValue("back"); strings.HasPrefix(path, own) {
		return path
	}
	return "/"
}

// sentence is an error as people are told of it.
func (p *Page) sentence(err error) string {
	var input *blockkit.InputError
	switch {
	case errors.As(err, &input):
		return capital(input.Reason) + "."
	case errors.Is(err, fakeslack.ErrNotShown):
		return "That is no longer there. The page shows what stands now."
	case errors.Is(err, fakeslack.ErrNoAck):
		if p.room.Guest() {
			return "The bot did not take that. See whether it runs, what its log says, and whether its settings are those that this rehearsal printed at its start."
		}
		return "The bot did not take that, and the platform would say so too. Try it once more."
	}
	return strings.TrimSuffix(capital(err.Error()), ".") + "."
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// act fills in fields, and presses or submits what the form's button says.
func (p *Page) act(ctx context.Context, who fakeslack.User, form url.Values) error {
	at, err := readWhere(form.Get("at"))
	if err != nil {
		return err
	}
	do, err := readControl(form.Get("do"))
	if err != nil {
		return err
	}
	view, elements, err := p.before(who, at)
	if err != nil {
		return err
	}
	stopped := map[string]string{}
	if do.verb != "close" && do.verb != "closeall" {
		stopped = p.fill(who, view, elements, form)
	}
	switch do.verb {
	case "submit":
		if len(stopped) == 0 {
			err = p.room.ByHand(who.ID, p.formOf(who), func() (bool, error) { return p.submit(ctx, who, view, stopped) })
		}
	case "close":
		err = p.room.Team().Client.CloseView(who.ID, view)
	case "closeall":
		err = p.room.Team().Client.CloseAll(who.ID)
	case pressVerb:
		err = p.press(ctx, who, at, elements, do, form)
	default:
		err = fmt.Errorf("there is nothing to do by the name %q", do.verb)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.stopped[view] = stopped
	return err
}

// readWhere reads where something stands: message:C…:1.2, view:V… or home.
func readWhere(s string) (fakeslack.Where, error) {
	parts := strings.Split(s, ":")
	switch {
	case s == "home":
		return fakeslack.Where{Home: true}, nil
	case len(parts) == 2 && parts[0] == "view":
		return fakeslack.Where{ViewID: parts[1]}, nil
	case len(parts) == 3 && parts[0] == "message":
		return fakeslack.Where{Channel: parts[1], TS: parts[2]}, nil
	}
	return fakeslack.Where{}, fmt.Errorf("nothing stands at %q", s)
}

// before finds what who has before them there. view is empty for a message.
func (p *Page) before(who fakeslack.User, at fakeslack.Where) (view string, elements []blockkit.Placed, err error) {
	team := p.room.Team()
	if at.Home {
		v, ok := team.Client.Home(who.ID)
		if !ok {
			return "", nil, fakeslack.ErrNotShown
		}
		return v.ID, blockkit.Interactive(v.Blocks), nil
	}
	if at.ViewID != "" {
		v, ok := team.Client.TopView(who.ID)
		if !ok || v.ID != at.ViewID {
			return "", nil, fakeslack.ErrNotShown
		}
		return v.ID, blockkit.Interactive(v.Blocks), nil
	}
	for _, m := range team.Client.Seen(at.Channel, who.ID) {
		if m.TS == at.TS {
			return "", blockkit.Interactive(m.Blocks), nil
		}
	}
	return "", nil, fakeslack.ErrNotShown
}

// fill types what the page's form holds into the fields of a view, and
// returns what they do not take by block id.
func (p *Page) fill(who fakeslack.User, view string, elements []blockkit.Placed, form url.Values) map[string]string {
	stopped := map[string]string{}
	for _, at := range elements {
		if view == "" || !at.InInput() {
			continue
		}
		err := p.room.Team().Client.Type(who.ID, view, at.BlockID(), at.ActionID(), valueIn(at, form))
		var input *blockkit.InputError
		if errors.As(err, &input) {
			stopped[at.BlockID()] = capital(input.Reason) + "."
		}
	}
	return stopped
}

// valueIn reads what a control of the page's form holds.
func valueIn(at blockkit.Placed, form url.Values) blockkit.Value {
	values := form[controlName(fieldVerb, at.BlockID(), at.ActionID())]
	one := ""
	if len(values) > 0 {
		one = values[0]
	}
	field, _, many := blockkit.ValueFields(at.Kind())
	switch {
	case field == "selected_option":
		return blockkit.Value{Option: one}
	case field == "selected_options":
		return blockkit.Value{Options: values}
	case field == "selected_date":
		return blockkit.Value{Date: one}
	case field == "value":
		return blockkit.Value{Text: strings.ReplaceAll(one, "\r\n", "\n")}
	case many:
		return blockkit.Value{IDs: values}
	}
	return blockkit.Value{ID: one}
}

// formOf is the button that opens the form that somebody has before them.
func (p *Page) formOf(who fakeslack.User) string {
	v, _ := p.room.Team().Client.TopView(who.ID)
	return "open/" + v.CallbackID
}

// submit reports whether the form was taken, and notes what the platform's client
// would not let through.
func (p *Page) submit(ctx context.Context, who fakeslack.User, view string, stopped map[string]string) (bool, error) {
	faults, err := p.room.Team().Client.Submit(ctx, who.ID, view)
	var input *blockkit.InputError
	if errors.As(err, &input) {
		stopped[input.BlockID] = capital(input.Reason) + "."
		return false, nil
	}
	return len(faults) == 0, err
}

func (p *Page) press(ctx context.Context, who fakeslack.User, where fakeslack.Where, elements []blockkit.Placed, do control, form url.Values) error {
	at, ok := do.in(elements)
	if !ok {
		return fakeslack.ErrNotShown
	}
	does := at.ActionID()
	opens := strings.HasPrefix(does, "open/") || strings.HasPrefix(does, "turn/") // and says nothing yet
	if where.ViewID != "" && !strings.HasPrefix(does, "do/") {
		does = p.formOf(who) // a choice in a form is a part of it
	}
	return p.room.ByHand(who.ID, does, func() (bool, error) {
		return !opens, p.room.Team().Client.Press(ctx, who.ID, where, at.ActionID(), at.BlockID(), valueIn(at, form))
	})
}

// named is a person named in passing: @tui.
var named = regexp.MustCompile(`(^|[\s(])@([a-z0-9_.-]*[a-z0-9])`)

// say writes a message, or runs a command that begins with a slash.
func (p *Page) say(ctx context.Context, who fakeslack.User, form url.Values) error {
	text, channel, thread := strings.TrimSpace(form.Get("text")), form.Get("channel"), form.Get("thread")
	if text == "" {
		return errors.New("there is nothing to send: write something first")
	}
	team := p.room.Team()
	if command, rest, _ := strings.Cut(text, " "); strings.HasPrefix(command, "/") {
		if ours := p.room.Command(); command != ours {
			return fmt.Errorf("there is no command %s here: try %s", command, ours)
		}
		if thread != "" {
			return errors.New("commands do not work in threads: type it into the channel")
		}
		return team.Client.Command(ctx, who.ID, channel, command, strings.TrimSpace(rest))
	}
	byName := map[string]string{}
	for _, u := range team.Users() {
		byName[u.Name] = u.ID
	}
	text = named.ReplaceAllStringFunc(text, func(found string) string {
		before, name, _ := strings.Cut(found, "@")
		if id, ok := byName[name]; ok {
			return before + "<@" + id + ">"
		}
		return found
	})
	_, err := team.Client.Say(ctx, who.ID, channel, text, thread)
	return err
}

// shortcut runs one of the app's shortcuts, on a message or on none.
func (p *Page) shortcut(ctx context.Context, who fakeslack.User, form url.Values) error {
	if form.Get("ts") == "" {
		return p.room.Team().Client.Shortcut(ctx, who.ID, form.Get("id"))
	}
	return p.room.Team().Client.MessageShortcut(ctx, who.ID, form.Get("channel"), form.Get("ts"), form.Get("id"))
}

// faultEvery is how often something goes wrong that is ticked on the page.
const faultEvery = 3

// setFaults lets what is ticked go wrong, and nothing else.
func (p *Page) setFaults(_ context.Context, _ fakeslack.User, form url.Values) error {
	var parts []string
	for _, name := range form["fault"] {
		parts = append(parts, fmt.Sprintf("%s=%d", name, faultEvery))
	}
	f, err := fakeslack.ParseFaults(strings.Join(parts, ","))
	if err == nil {
		p.room.Team().Faults.Set(f)
	}
	return err
}

// share lets another company into the kickoff's channel, or out of it.
func (p *Page) share(ctx context.Context, _ fakeslack.User, form url.Values) error {
	return p.room.Team().Share(ctx, p.room.Channel(), form.Get("do") == "share")
}
