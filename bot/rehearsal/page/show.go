package page

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/rehearsal"
)

// What the templates are given.

type pageData struct {
	Title, Heading, Topic string
	Base                  string // where this person's pages begin
	Back                  string // this page
	Viewer                drawnPerson
	People                []drawnPerson
	Places                []drawnPlace
	Shortcuts             []shortcutItem // those that belong to no message
	Clock                 drawnClock
	Notice                notice
	Waits                 string // for whom the kickoff waits
	Faults                []drawnFault
	Faulty                bool
	Up                    *drawnPlace // where a thread belongs
	Stream                []drawnMessage
	Home                  *drawnForm
	Canvas                []drawnCanvas
	Bookmarks             []drawnPlace // of the channel that is shown
	Shared                bool         // the kickoff's channel, with another company
	Empty                 string
	Start                 bool // nothing has been started yet
	Demo                  string
	Guest                 bool // the bot is somebody else's, and the clock the machine's
	Write                 *drawnComposer
	Form                  *drawnForm

	undrawn []error // what of it the page cannot draw
}

type drawnPerson struct {
	Key, Name, Local, Zone, Path string
	Lead, Here                   bool
}

type drawnPlace struct {
	Name, Path string
	Here       bool
}

type drawnClock struct{ Day, Time, Zone, UTC, ISO string }

type drawnComposer struct{ Label, Channel, Thread string }

type drawnMessage struct {
	ID, At, Channel, TS, Who string
	Time, ISO                string
	Bot, Mine, Pinned        bool
	Private, Edited          bool
	Text                     template.HTML
	Blocks                   []drawnBlock
	Files                    []drawnFile
	Thread                   string // path
	Replies                  int
	Shortcuts                []shortcutItem
}

type drawnFile struct {
	Name, Title, Path, Size, Alt string
	Picture                      bool
}

type drawnForm struct {
	At, ID, Title, Submit, Close string
	Blocks                       []drawnBlock
	Depth                        int
}

type drawnCanvas struct {
	Title string
	HTML  template.HTML
}

// A place fills in what the page shows there, or reports that there is nothing
// at this address.
type place func(r *http.Request, who fakeslack.User, d *pageData) bool

// serve draws a place for the person in the address.
func (p *Page) serve(show place) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		who, ok := p.person(r)
		if !ok {
			http.NotFound(w, r)
			return
		}
		d := p.frame(who, r.URL.Path)
		if !show(r, who, d) {
			http.NotFound(w, r)
			return
		}
		p.form(who, d)
		if err := errors.Join(d.undrawn...); err != nil {
			p.log.Error("a part of the page cannot be drawn", "error", err)
		}
		var out bytes.Buffer
		if err := p.templates.ExecuteTemplate(&out, "page.html", d); err != nil {
			p.log.Error("the page cannot be drawn", "error", err)
			http.Error(w, "The page cannot be drawn. The program's log says why.", http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		_, _ = out.WriteTo(w) // the reader may have gone
	}
}

// person is whoever the address says is looking.
func (p *Page) person(r *http.Request) (fakeslack.User, bool) {
	for _, u := range p.room.Team().Users() {
		if u.Name == r.PathValue("who") && !u.Bot && !u.Deleted {
			return u, true
		}
	}
	return fakeslack.User{}, false
}

// frame is what every page has around its place.
func (p *Page) frame(who fakeslack.User, path string) *pageData {
	team, base := p.room.Team(), "/as/"+who.Name
	d := &pageData{Base: base, Back: path, Notice: p.noticeFor(who.ID), Waits: p.waitsFor(who), Clock: clockOf(team.Now(), who.Zone), Faults: p.faults(), Faulty: team.Faults.Now().Any(),
		Shortcuts: p.shortcuts["global"], Guest: p.room.Guest()}
	if c, ok := team.Channel(p.room.Channel()); ok {
		d.Shared = c.ExtShared
	}
	rest := strings.TrimPrefix(path, base)
	for i, id := range p.room.People() {
		u, _ := team.User(id)
		person := personOf(u, team.Now())
		person.Lead, person.Here = i == 0, u.ID == who.ID
		person.Path = "/as/" + u.Name + strings.Replace(rest, team.DM(who.ID), team.DM(u.ID), 1) // they see the same place
		d.People = append(d.People, person)
	}
	d.Viewer = personOf(who, team.Now())
	d.Places = []drawnPlace{{Name: "Channel", Path: base + "/in/" + p.room.Channel()},
		{Name: "Private", Path: base + "/in/" + team.DM(who.ID)}, {Name: "Home tab", Path: base + "/home"}}
	if len(team.Canvases()) > 0 {
		d.Places = append(d.Places, drawnPlace{Name: "Canvas", Path: base + "/canvas"})
	}
	for i := range d.Places {
		d.Places[i].Here = path == d.Places[i].Path || strings.HasPrefix(path, d.Places[i].Path+"/")
	}
	return d
}

func personOf(u fakeslack.User, now time.Time) drawnPerson {
	c := clockOf(now, u.Zone)
	return drawnPerson{Key: u.Name, Name: cmp.Or(u.RealName, u.Name), Local: c.Day + ", " + c.Time, Zone: c.Zone}
}

// clockOf reads a time as somebody in zone would. A place is named by its
// last part: Lisbon, not Europe/Lisbon.
func clockOf(now time.Time, zone string) drawnClock {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	t := now.In(loc)
	name := strings.ReplaceAll(zone[strings.LastIndex(zone, "/")+1:], "_", " ")
	return drawnClock{Day: t.Format("Mon 2 Jan"), Time: t.Format("15:04"), Zone: name,
		UTC: now.UTC().Format("15:04 UTC"), ISO: now.UTC().Format(time.RFC3339)}
}

func (p *Page) noticeFor(user string) notice {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.notices[user]
}

// channelPage shows a channel or a private conversation.
func (p *Page) channelPage(r *http.Request, who fakeslack.User, d *pageData) bool {
	team := p.room.Team()
	c, ok := team.Channel(r.PathValue("channel"))
	if !ok || c.IM && c.User != who.ID {
		return false
	}
	d.Heading, d.Topic, d.Empty = "#"+c.Name, c.Topic, "Nothing has been said here yet."
	if c.IM {
		d.Heading, d.Empty = "Private messages", "The bot has sent "+who.RealName+" nothing yet. Reminders and whatever is meant for one person alone come here."
	} else {
		d.Write = &drawnComposer{Label: "Write to #" + c.Name, Channel: c.ID}
		d.Start, d.Demo = c.ID == p.room.Channel() && len(team.Messages(c.ID)) == 0, p.room.DemoTitle()
		d.Bookmarks = p.bookmarks(d.Base, c.ID)
	}
	d.Title = d.Heading + ", as " + who.RealName
	p.stream(who, c, d, func(m fakeslack.Message) bool { return !m.InThread() })
	return true
}

// stream draws the messages of a channel that are wanted.
func (p *Page) stream(who fakeslack.User, c fakeslack.Channel, d *pageData, wanted func(fakeslack.Message) bool) {
	seen := p.room.Team().Client.Seen(c.ID, who.ID)
	replies := map[string]int{}
	for _, m := range seen {
		if m.InThread() {
			replies[m.ThreadTS]++
		}
	}
	for _, m := range seen {
		if wanted(m) {
			drawn := p.message(who, c, m, d)
			drawn.Replies = replies[m.TS]
			d.Stream = append(d.Stream, drawn)
		}
	}
}

// bookmarks are the links in a channel's header. One to a message leads to it
// on this page.
func (p *Page) bookmarks(base, channel string) []drawnPlace {
	var out []drawnPlace
	for _, b := range p.room.Team().Bookmarks(channel) {
		path := b.Link
		if _, rest, ok := strings.Cut(b.Link, "/archives/"+channel+"/p"); ok && len(rest) > 6 {
			path = base + "/in/" + channel + "/" + rest[:len(rest)-6] + "." + rest[len(rest)-6:]
		}
		out = append(out, drawnPlace{Name: b.Title, Path: path})
	}
	return out
}

// threadPage shows a message and what was answered to it.
func (p *Page) threadPage(r *http.Request, who fakeslack.User, d *pageData) bool {
	team, ts := p.room.Team(), r.PathValue("thread")
	c, ok := team.Channel(r.PathValue("channel"))
	if _, there := team.Message(c.ID, ts); !ok || !there {
		return false
	}
	d.Heading, d.Title = "Thread", "Thread in #"+c.Name+", as "+who.RealName
	d.Up = &drawnPlace{Name: "#" + c.Name, Path: d.Base + "/in/" + c.ID + "#" + messageID(ts)}
	if !c.IM {
		d.Write = &drawnComposer{Label: "Answer in this thread", Channel: c.ID, Thread: ts}
	}
	p.stream(who, c, d, func(m fakeslack.Message) bool { return m.TS == ts || m.ThreadTS == ts })
	for i := range d.Stream {
		d.Stream[i].Thread = "" // this is it
	}
	return true
}

// refreshing marks a page's request for itself, as opposed to somebody's.
const refreshing = "X-Refresh"

// homePage tells the bot that the tab was opened, each time a person opens it.
func (p *Page) homePage(r *http.Request, who fakeslack.User, d *pageData) bool {
	if r.Header.Get(refreshing) == "" {
		err := p.room.Act(p.life, func(ctx context.Context) error { return p.room.Team().Client.OpenHome(ctx, who.ID) })
		if err != nil {
			d.Notice = notice{Text: p.sentence(err), Wrong: true}
		}
	}
	d.Heading, d.Title = "Home tab", "Home tab of "+who.RealName
	v, ok := p.room.Team().Client.Home(who.ID)
	if !ok {
		d.Empty = "The bot has put nothing here yet."
		return true
	}
	paint := newPainter(p.room.Team(), who, v.ID, v.State)
	paint.top = true
	d.Home = &drawnForm{At: "home", ID: v.ID, Blocks: paint.blocks(v.Blocks)}
	d.undrawn = append(d.undrawn, paint.faults...)
	return true
}

func (p *Page) canvasPage(_ *http.Request, who fakeslack.User, d *pageData) bool {
	d.Heading, d.Title = "Canvas", "Canvas, as "+who.RealName
	for _, c := range p.room.Team().Canvases() {
		d.Canvas = append(d.Canvas, drawnCanvas{Title: cmp.Or(c.Title, "Canvas"), HTML: drawMarkdown(c.Markdown)})
	}
	return true
}

// form is the form that this person has open, on whichever page.
func (p *Page) form(who fakeslack.User, d *pageData) {
	open := p.room.Team().Client.Views(who.ID)
	if len(open) == 0 {
		return
	}
	v := open[len(open)-1]
	paint := newPainter(p.room.Team(), who, v.ID, v.State)
	paint.errors = map[string]string{}
	p.mu.Lock()
	maps.Copy(paint.errors, p.stopped[v.ID])
	p.mu.Unlock()
	maps.Copy(paint.errors, v.Errors)
	d.Form = &drawnForm{At: "view:" + v.ID, ID: v.ID, Title: v.Title, Submit: v.Submit, Close: cmp.Or(v.Close, "Cancel"), Depth: len(open)}
	d.Form.Blocks = paint.blocks(v.Blocks)
	d.undrawn = append(d.undrawn, paint.faults...)
}

func messageID(ts string) string { return "m" + strings.ReplaceAll(ts, ".", "-") }

// message draws one message for who, in whose page it will stand.
func (p *Page) message(who fakeslack.User, c fakeslack.Channel, m fakeslack.Message, in *pageData) drawnMessage {
	team := p.room.Team()
	paint := newPainter(team, who, messageID(m.TS), team.Client.Chosen(who.ID, m))
	at := rehearsal.TimeOf(m.TS).In(paint.zone)
	author, _ := team.User(m.User)
	d := drawnMessage{
		ID: messageID(m.TS), At: "message:" + c.ID + ":" + m.TS, Channel: c.ID, TS: m.TS,
		Who: cmp.Or(author.RealName, "The team"), Bot: author.Bot, Mine: m.User == who.ID,
		Time: at.Format("Mon 2 Jan, 15:04"), ISO: at.UTC().Format(time.RFC3339),
		Pinned: m.Pinned, Private: m.EphemeralTo != "", Edited: m.Edited != nil,
		Files: filesOf(team, m),
	}
	if len(m.Blocks) > 0 {
		d.Blocks = paint.blocks(m.Blocks)
	} else {
		d.Text = paint.mrkdwn(m.Text)
	}
	if !d.Private {
		d.Shortcuts = p.shortcuts["message"]
		d.Thread = "/as/" + who.Name + "/in/" + c.ID + "/" + m.TS
	}
	if m.InThread() {
		d.Thread = "/as/" + who.Name + "/in/" + c.ID + "/" + m.ThreadTS
	}
	in.undrawn = append(in.undrawn, paint.faults...)
	return d
}

func filesOf(team *fakeslack.Team, m fakeslack.Message) []drawnFile {
	var out []drawnFile
	for _, id := range m.Files {
		f, ok := team.File(id)
		if !ok {
			continue
		}
		out = append(out, drawnFile{Name: f.Name, Title: cmp.Or(f.Title, f.Name), Path: filePath(f), Alt: f.AltText,
			Size: sizeText(len(f.Content)), Picture: strings.HasPrefix(f.Type, "image/")})
	}
	return out
}

func sizeText(bytes int) string {
	if bytes < 1000 {
		return fmt.Sprintf("%d bytes", bytes)
	}
	return fmt.Sprintf("%d kB", (bytes+500)/1000)
}

// A drawnFault is one thing that can go wrong.
type drawnFault struct {
	Name, Says string
	On         bool
	Struck     int // how often it has
}

func (p *Page) faults() []drawnFault {
	now, struck := p.room.Team().Faults.Now(), p.room.Team().Faults.Struck()
	var out []drawnFault
	for _, k := range fakeslack.FaultKinds {
		out = append(out, drawnFault{Name: k.Name, Says: k.Says, On: now[k.Name].Every > 0, Struck: struck[k.Name]})
	}
	return out
}
