package keeping

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/flows"
	"soundings/flows/state"
)

// removed stands where somebody's name or words were.
const removed = "(removed)"

// marksOf are the events by which somebody says something about themselves
// alone, or judges. They go with the person. What was computed of them, and
// stands in an event of its own, stays: others decided on it.
var marksOf = map[string]bool{
	"brief-read": true, "finished-stage": true, "close-wished": true, "reminder-muted": true, "hours-changed": true,
	"framing-voted": true, "placed-self": true, "person-named": true, "rated": true, "kind-voted": true, "weeks-voted": true, "outlook-voted": true, "foreseen": true,
	"evidence-rerated": true, "confidence-voted": true, "decision-voted": true, "join-asked": true,
}

// wordsOf are the events in which somebody's words stand for themselves, and
// the field with the words. Wordings, assumptions and tests are what others
// judged and decided on: they stay, and nobody is named for them.
var wordsOf = map[string]string{"question-asked": "Ask", "question-answered": "Answer", "reason-given": "Text"}

// Erase removes a person from everything kept of a team: name, words and marks.
// Where they still take part, they leave first. It returns in how many kickoffs
// they were found, and can be repeated.
func (k *Keeper) Erase(ctx context.Context, team, user string) (found int, err error) {
	keys, err := k.Journal.Index.All(ctx, team)
	if err != nil {
		return 0, err
	}
	for _, key := range keys {
		here, err := k.eraseIn(ctx, key, user)
		if err != nil {
			return found, fmt.Errorf("erase a person from kickoff %s: %w", key.Kickoff, err)
		}
		if here {
			found++
		}
	}
	k.Kickoffs.Forget(team)
	err = errors.Join(k.Journal.Profiles.Forget(ctx, team, user), k.Journal.Index.ForgetPerson(ctx, team, user))
	if err == nil && found > 0 {
		k.Logger.Warn("audit: a person was removed from everything kept", "team", team, "person", user, "kickoffs", found)
	}
	return found, err
}

func (k *Keeper) eraseIn(ctx context.Context, key journal.Key, user string) (found bool, err error) {
	who := newPerson(user)
	kickoff, err := k.Kickoffs.Load(ctx, key)
	if err != nil {
		return false, err
	}
	if u := state.UserID(user); kickoff.Stage != state.StageEnded && kickoff.Takes(u) {
		if err := k.Kickoffs.Do(ctx, key, flows.Left{Person: u}, kickoffs.Origin{}); err != nil {
			return false, err
		}
	}
	for range rewrites {
		found, err = k.rewrite(ctx, key, who)
		if !errors.Is(err, journal.ErrConflict) {
			break
		}
	}
	if err != nil {
		return found, err
	}
	marks, err := k.Journal.Marks.Named(ctx, key, who.id.MatchString)
	if err != nil || !found && len(marks) == 0 {
		return found, err
	}
	if err := k.Journal.Marks.Rename(ctx, key, who.hide); err != nil {
		return true, err
	}
	if err := k.Journal.DropSnapshot(ctx, key); err != nil { // it may have been saved meanwhile
		return true, err
	}
	// Jobs hold ids, and name entries that are others now. Forgotten, they are
	// found again by the sweeper; what was done is found done.
	if err := k.Queue.Forget(ctx, jobs.OfKickoff(key.Team, key.Kickoff)); err != nil {
		return true, err
	}
	return true, k.Journal.Marks.ResetQueued(ctx, key)
}

// rewrites is how often it is tried to be faster than those who write.
const rewrites = 10

func (k *Keeper) rewrite(ctx context.Context, key journal.Key, who *person) (found bool, err error) {
	entries, err := k.Journal.Read(ctx, key, journal.Position{})
	if err != nil {
		return false, err
	}
	opened, sealed, err := k.Kickoffs.Unsealed(ctx, key, entries) // ballots that are not counted yet
	if err != nil || !who.in(opened) {
		return false, err
	}
	records := make([]map[string]any, len(entries))
	for i, e := range opened {
		if records[i], err = decode(e.Data); err != nil {
			return false, fmt.Errorf("read entry %d: %w", e.Version, err)
		}
		who.learnNames(records[i])
	}
	without := make([]journal.Entry, len(entries))
	for i, r := range records {
		without[i] = entries[i]
		data, err := json.Marshal(who.erase(r))
		if err == nil {
			without[i].Data, err = sealed(i, data)
		}
		if err != nil {
			return false, err
		}
	}
	return true, k.Journal.Rewrite(ctx, key, entries, without)
}

// A person is somebody to be found in entries and marks, and put out of them.
type person struct {
	user  string
	id    *regexp.Regexp // matches the id and no longer one
	alias string         // stands for the id from now on
	names []*regexp.Regexp
}

func newPerson(user string) *person {
	return &person{user: user, id: regexp.MustCompile(`\b` + regexp.QuoteMeta(user) + `\b`), alias: "erased-" + strings.ToLower(rand.Text()[:10])}
}

func (w *person) in(entries []journal.Entry) bool {
	for _, e := range entries {
		if w.id.Match(e.Data) {
			return true
		}
	}
	return false
}

// hide puts the person out of a text.
func (w *person) hide(text string) string {
	text = w.id.ReplaceAllLiteralString(text, w.alias)
	for _, name := range w.names {
		text = name.ReplaceAllString(text, "${1}"+removed+"${2}")
	}
	return text
}

// shortestName is the shortest name that is looked for in texts: shorter ones
// are words of their own.
const shortestName = 2

// learnNames notes under which names people knew the person.
func (w *person) learnNames(v any) {
	each(v, func(at map[string]any) {
		name, _ := at["Name"].(string)
		if (at["ID"] == w.user || at["User"] == w.user) && len([]rune(name)) >= shortestName {
			w.names = append(w.names, regexp.MustCompile(`(^|[^\p{L}\p{N}])`+regexp.QuoteMeta(name)+`($|[^\p{L}\p{N}])`))
		}
	})
}

// erase is a record without the person.
func (w *person) erase(record map[string]any) any {
	theirs := record["by"] == w.user
	events, _ := record["events"].([]any)
	kept := []any{} // an entry without events says nothing, and keeps its number
	for _, e := range events {
		event, _ := e.(map[string]any)
		kind, _ := event["kind"].(string)
		data, _ := event["data"].(map[string]any)
		if theirs && marksOf[kind] {
			continue
		}
		if field := wordsOf[kind]; theirs && field != "" && data[field] != "" {
			data[field] = removed
		}
		kept = append(kept, e)
	}
	record["events"] = kept
	each(record, func(at map[string]any) {
		if _, is := at["Zone"]; is && at["ID"] == w.user {
			at["Name"], at["Zone"] = removed, "UTC"
			for _, hours := range []string{"Days", "From", "To"} {
				delete(at, hours)
			}
		}
	})
	return w.hidden(record)
}

// hidden is a value in which the person is put out of every text and name.
func (w *person) hidden(v any) any {
	switch v := v.(type) {
	case string:
		return w.hide(v)
	case []any:
		for i := range v {
			v[i] = w.hidden(v[i])
		}
	case map[string]any:
		hidden := make(map[string]any, len(v))
		for name, value := range v {
			hidden[w.hide(name)] = w.hidden(value)
		}
		return hidden
	}
	return v
}

// each goes through all objects in a value.
func each(v any, visit func(map[string]any)) {
	switch v := v.(type) {
	case []any:
		for _, item := range v {
			each(item, visit)
		}
	case map[string]any:
		visit(v)
		for _, value := range v {
			each(value, visit)
		}
	}
}

// decode reads an entry as plain values, numbers as they were written.
func decode(data []byte) (record map[string]any, err error) {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	return record, d.Decode(&record)
}

// Held is all that is kept about a person in a team.
type Held struct {
	Team     string          `json:"team"`
	Person   string          `json:"person"`
	Profile  json.RawMessage `json:"profile,omitempty"` // as the platform told it today
	Kickoffs []HeldKickoff   `json:"kickoffs"`
}

// A HeldKickoff is what is kept about a person in one kickoff.
type HeldKickoff struct {
	Kickoff string      `json:"kickoff"`
	Channel string      `json:"channel"`
	Listed  bool        `json:"listed"` // the home tab lists it for them
	Entries []HeldEntry `json:"entries"`
	Marks   []string    `json:"marks"` // what was sent to them
}

// A HeldEntry is what one entry of the journal says about a person: all of it
// where they wrote it, else the places that name them.
type HeldEntry struct {
	Version int64          `json:"version"`
	At      any            `json:"at"`
	Events  any            `json:"events,omitempty"`
	Named   map[string]any `json:"named,omitempty"`
}

// Held gives out all that is kept about a person.
func (k *Keeper) Held(ctx context.Context, team, user string) (Held, error) {
	held := Held{Team: team, Person: user, Kickoffs: []HeldKickoff{}}
	profiles, err := k.Journal.Profiles.Get(ctx, team, k.Clock(), []string{user})
	if err != nil {
		return held, err
	}
	held.Profile = profiles[user]
	keys, err := k.Journal.Index.All(ctx, team)
	if err != nil {
		return held, err
	}
	listed, err := k.Journal.Index.Of(ctx, team, user)
	if err != nil {
		return held, err
	}
	for _, key := range keys {
		h, err := k.heldIn(ctx, key, newPerson(user))
		if err != nil {
			return held, err
		}
		for _, kickoff := range listed {
			h.Listed = h.Listed || kickoff == key.Kickoff
		}
		if h.Listed || len(h.Entries)+len(h.Marks) > 0 {
			held.Kickoffs = append(held.Kickoffs, h)
		}
	}
	return held, nil
}

func (k *Keeper) heldIn(ctx context.Context, key journal.Key, who *person) (HeldKickoff, error) {
	h := HeldKickoff{Kickoff: key.Kickoff, Entries: []HeldEntry{}, Marks: []string{}}
	kickoff, err := k.Kickoffs.Load(ctx, key)
	if err != nil {
		return h, err
	}
	h.Channel = kickoff.Channel
	entries, err := k.Journal.Read(ctx, key, journal.Position{})
	if err != nil {
		return h, err
	}
	if entries, _, err = k.Kickoffs.Unsealed(ctx, key, entries); err != nil {
		return h, err
	}
	for _, e := range entries {
		if !who.id.Match(e.Data) {
			continue
		}
		record, err := decode(e.Data)
		if err != nil {
			return h, fmt.Errorf("read entry %d of kickoff %s: %w", e.Version, key.Kickoff, err)
		}
		one := HeldEntry{Version: e.Version, At: record["at"]}
		if record["by"] == who.user {
			one.Events = record["events"]
		} else {
			one.Named = map[string]any{}
			who.places(record["events"], "events", one.Named)
		}
		h.Entries = append(h.Entries, one)
	}
	marks, err := k.Journal.Marks.Named(ctx, key, who.id.MatchString)
	h.Marks = append(h.Marks, marks...)
	return h, err
}

// places notes where a value names the person, with the object that does so:
// what it says of others stays out.
func (w *person) places(v any, path string, into map[string]any) {
	switch v := v.(type) {
	case string:
		if w.id.MatchString(v) {
			into[path] = v
		}
	case []any:
		for i, item := range v {
			w.places(item, fmt.Sprintf("%s.%d", path, i), into)
		}
	case map[string]any:
		if v["ID"] == w.user { // a person: all of it is about them
			into[path] = v
			return
		}
		for name, value := range v {
			if w.id.MatchString(name) {
				into[path+"."+name] = value
				continue
			}
			w.places(value, path+"."+name, into)
		}
	}
}
