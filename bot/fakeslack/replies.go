package fakeslack

import (
	"encoding/json"
	"net/http"
	"time"

	"soundings/bot/fakeslack/wire"
)

const (
	replyUses = 5
	replyLife = 30 * time.Minute // in the team's clock
)

// A replyURL lets the bot answer an act for a while, also in places where it
// is not a member.
type replyURL struct {
	channel, user string
	source        string // ts of the message acted on; empty after a command
	born          time.Time
	uses          int
}

// replies are the addresses at which the bot may answer what people do.
type replies struct {
	*core
	dir      *directory
	messages *messages
	urls     map[string]*replyURL
}

func (rs *replies) newReplyURL(channelID, user, source string) string {
	id := rs.nextID("R")
	rs.urls[id] = &replyURL{channel: channelID, user: user, source: source, born: rs.Now()}
	return rs.baseURL + "/response/" + id
}

// serveResponse takes an answer to an act. It says "ok" as the platform does,
// or a refusal as JSON.
func (api *webAPI) serveResponse(rw http.ResponseWriter, r *http.Request) {
	a, err := readArgs(rw, r)
	if err != nil {
		writeJSON(rw, http.StatusBadRequest, wire.Failed(err))
		return
	}
	api.calls.Lock()
	defer api.calls.Unlock()
	status, err := api.replies.respond(r.PathValue("id"), a)
	out := reply{"ok": true}
	if err != nil {
		out = wire.Failed(err)
	}
	api.trace(ResponseURL, a.values, status, out)
	if err != nil {
		writeJSON(rw, status, out)
		return
	}
	rw.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = rw.Write([]byte("ok")) // the reader may have gone
}

// respond checks the address and applies the answer. The codes for a URL
// that is used up or too old are from public clients' tests.
func (rs *replies) respond(id string, a args) (status int, err error) {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	u, ok := rs.urls[id]
	switch {
	case !ok:
		return http.StatusNotFound, wire.Refuse("invalid_url")
	case rs.Now().Sub(u.born) > replyLife:
		return http.StatusNotFound, wire.Refuse("expired_url")
	case u.uses >= replyUses:
		return http.StatusNotFound, wire.Refuse("used_url")
	}
	u.uses++
	return http.StatusOK, rs.answerTo(u, a)
}

func (rs *replies) answerTo(u *replyURL, a args) error {
	c, ok := rs.dir.channels[u.channel]
	if !ok {
		return wire.Refuse("channel_not_found")
	}
	source := c.findFor(u.user, u.source)
	said, err := rs.messages.readContent(a)
	switch {
	case err != nil:
		return err
	case said.empty():
		return wire.Refuse("no_text")
	case a.flag("replace_original") && source != nil:
		c.replace(source, rs.messages.applyTo(*source, said))
		return nil
	}
	rs.messages.ephemeral(c, u.user, said, a.str("thread_ts"))
	return nil
}

// answerArgs reads an answer given as the body of an acknowledgement: plain
// text, or JSON like that of a message.
func answerArgs(body []byte) args {
	if o, ok := wire.DecodeObject(body); ok {
		return args{values: o}
	}
	text := string(body)
	var quoted string
	if json.Unmarshal(body, &quoted) == nil {
		text = quoted
	}
	return args{values: map[string]any{"text": text}}
}
