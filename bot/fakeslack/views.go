package fakeslack

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// deepestStack is how many forms lie on top of each other at most.
const deepestStack = 3

// triggerLife is how long a trigger lives, in the team's clock.
const triggerLife = 3 * time.Second

// A trigger lets the bot answer one act of a person with one form.
type trigger struct {
	user string
	born time.Time
	used bool
}

// A view is a form or somebody's home tab, as it stands.
type view struct {
	id, kind, user       string
	root, previous, hash string
	body                 map[string]any // as the bot sent it, with every part named
	blocks               []blockkit.Block
	state                blockkit.State
	errors               map[string]string // by block id, from the last submission
}

// A View is a copy of a form or home tab. Blocks is shared between copies and
// must not be changed.
type View struct {
	ID, Type                    string // Type is "modal" or "home"
	CallbackID, PrivateMetadata string
	Title, Submit, Close        string
	Hash                        string
	Blocks                      []blockkit.Block
	State                       map[string]map[string]map[string]any // block id, action id, value as in payloads
	Errors                      map[string]string                    // by block id, as the bot last answered
}

// views are the forms that are open, everybody's home tab, and the triggers
// that open forms.
type views struct {
	*core
	dir   *directory
	files *files

	byID     map[string]*view   // open modals and homes
	stacks   map[string][]*view // open modals by user, root first
	homes    map[string]*view   // by user
	triggers map[string]*trigger
}

func newViews(c *core, dir *directory, f *files) *views {
	return &views{
		core: c, dir: dir, files: f,
		byID: map[string]*view{}, stacks: map[string][]*view{}, homes: map[string]*view{}, triggers: map[string]*trigger{},
	}
}

func (v *view) snapshot() View {
	words := func(key string) string { return wire.Str(wire.Obj(v.body, key), "text") }
	return View{
		ID: v.id, Type: v.kind, Hash: v.hash,
		CallbackID: wire.Str(v.body, "callback_id"), PrivateMetadata: wire.Str(v.body, "private_metadata"),
		Title: words("title"), Submit: words("submit"), Close: words("close"),
		Blocks: v.blocks, State: v.state.Clone(), Errors: maps.Clone(v.errors),
	}
}

func (vs *views) top(user string) *view {
	stack := vs.stacks[user]
	if len(stack) == 0 {
		return nil
	}
	return stack[len(stack)-1]
}

// newTrigger is handed to the bot with everything that may open a form.
func (vs *views) newTrigger(user string) string {
	vs.counters["trigger"]++
	n := vs.counters["trigger"]
	id := fmt.Sprintf("%d.%d.%032x", 1_000_000_000_000+n, 1, n)
	vs.triggers[id] = &trigger{user: user, born: vs.Now()}
	return id
}

// exchange takes a trigger in: once, and within its life.
func (vs *views) exchange(id string) (*trigger, error) {
	t, ok := vs.triggers[id]
	switch {
	case !ok:
		return nil, wire.Refuse("invalid_trigger_id")
	case t.used:
		return nil, wire.Refuse("exchanged_trigger_id")
	case vs.Now().Sub(t.born) > triggerLife:
		return nil, wire.Refuse("expired_trigger_id")
	}
	t.used = true
	return t, nil
}

// nextHash marks a state of a view.
func (vs *views) nextHash() string {
	vs.counters["hash"]++
	return fmt.Sprintf("%d.%08x", vs.Now().Unix(), vs.counters["hash"])
}

// newView names the parts of a checked view and keeps it.
func (vs *views) newView(user, kind string, body map[string]any, blocks []blockkit.Block) *view {
	blockkit.NameParts(blocks, vs.nextID)
	v := &view{
		id: vs.nextID("V"), kind: kind, user: user, hash: vs.nextHash(),
		body: body, blocks: blocks, state: blockkit.NewState(blocks),
	}
	v.root = v.id
	vs.byID[v.id] = v
	return v
}

// renew puts other content into a view that is open.
func (vs *views) renew(v *view, body map[string]any, blocks []blockkit.Block) {
	blockkit.NameParts(blocks, vs.nextID)
	v.state = blockkit.CarriedOver(v.state, blocks)
	v.body, v.blocks, v.hash, v.errors = body, blocks, vs.nextHash(), nil
}

// open shows a new form to user: alone, or on top of what is open.
func (vs *views) open(user string, body map[string]any, blocks []blockkit.Block, alone bool) (*view, error) {
	if alone {
		vs.closeAll(user)
	}
	stack := vs.stacks[user]
	if len(stack) >= deepestStack {
		return nil, wire.Refuse("push_limit_reached")
	}
	v := vs.newView(user, "modal", body, blocks)
	if n := len(stack); n > 0 {
		v.root, v.previous = stack[0].id, stack[n-1].id
	}
	vs.stacks[user] = append(stack, v)
	return v, nil
}

// closeFrom closes v and the forms on top of it.
func (vs *views) closeFrom(v *view) {
	stack := vs.stacks[v.user]
	at := slices.Index(stack, v)
	if at < 0 {
		return
	}
	for _, gone := range stack[at:] {
		delete(vs.byID, gone.id)
	}
	vs.stacks[v.user] = slices.Clone(stack[:at])
}

func (vs *views) closeAll(user string) {
	if stack := vs.stacks[user]; len(stack) > 0 {
		vs.closeFrom(stack[0])
	}
}

// viewJSON is the view as answers and payloads show it.
func (vs *views) viewJSON(v *view, withState bool) reply {
	out := reply{
		"id": v.id, "team_id": vs.team, "app_id": vs.app, "app_installed_team_id": vs.team, "bot_id": vs.botID,
		"type": v.kind, "blocks": v.blocks, "hash": v.hash,
		"private_metadata": wire.Str(v.body, "private_metadata"), "callback_id": wire.Str(v.body, "callback_id"),
		"external_id": "", "root_view_id": v.root, "previous_view_id": nil,
		"clear_on_close": false, "notify_on_close": false, // asking for either is refused
		"title": v.body["title"], "submit": v.body["submit"], "close": v.body["close"],
		"state": reply{"values": reply{}},
	}
	if v.previous != "" {
		out["previous_view_id"] = v.previous
	}
	if withState {
		out["state"] = reply{"values": v.state.Clone()}
	}
	return out
}
