package incoming

import (
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"net/url"

	"github.com/slack-go/slack"
)

// maxBody bounds what a request may weigh. The largest form that the platform
// sends is far smaller.
const maxBody = 1 << 20

// Handler serves what the platform sends over HTTP.
func (v *Receiver) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("POST /slack/interactions", v.signed("application/x-www-form-urlencoded", v.serveInteraction))
	mux.Handle("POST /slack/commands", v.signed("application/x-www-form-urlencoded", v.serveCommand))
	mux.Handle("POST /slack/events", v.signed("application/json", v.serveEvent))
	return mux
}

// signed reads a request's body once, holds it to its signature, and hands it
// on. Nothing is parsed before that.
func (v *Receiver) signed(contentType string, next func(w http.ResponseWriter, r *http.Request, body []byte)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != contentType {
			http.Error(w, "the content type must be "+contentType, http.StatusUnsupportedMediaType)
			return
		}
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
		if err != nil {
			http.Error(w, "the request is too large, or was cut off", http.StatusRequestEntityTooLarge)
			return
		}
		if err := verify(v.Secret, r.Header, body, v.Clock()); err != nil {
			v.Logger.Warn("request refused", "path", r.URL.Path, "reason", err)
			http.Error(w, "the request is not signed as it must be", http.StatusUnauthorized)
			return
		}
		next(w, r, body)
	})
}

// serveInteraction takes the payload from the body alone: what stands in the
// address is not signed.
func (v *Receiver) serveInteraction(w http.ResponseWriter, r *http.Request, body []byte) {
	form, err := url.ParseQuery(string(body))
	if err != nil {
		http.Error(w, "the form cannot be read", http.StatusBadRequest)
		return
	}
	var in Interaction
	if err := json.Unmarshal([]byte(form.Get("payload")), &in); err != nil {
		http.Error(w, "the payload cannot be read", http.StatusBadRequest)
		return
	}
	answer, err := v.Interact(r.Context(), in)
	v.answer(w, r, answer, err)
}

func (v *Receiver) serveCommand(w http.ResponseWriter, r *http.Request, body []byte) {
	form, err := url.ParseQuery(string(body))
	if err != nil {
		http.Error(w, "the form cannot be read", http.StatusBadRequest)
		return
	}
	if form.Get("ssl_check") == "1" {
		return // the platform only asks whether we are there
	}
	answer, err := v.SlashCommand(r.Context(), slack.SlashCommand{
		TeamID: form.Get("team_id"), ChannelID: form.Get("channel_id"), UserID: form.Get("user_id"),
		Command: form.Get("command"), Text: form.Get("text"), TriggerID: form.Get("trigger_id"),
		ResponseURL: form.Get("response_url"),
	})
	v.answer(w, r, answer, err)
}

func (v *Receiver) serveEvent(w http.ResponseWriter, r *http.Request, body []byte) {
	var outer struct {
		Type, Challenge string
	}
	if err := json.Unmarshal(body, &outer); err != nil {
		http.Error(w, "the event cannot be read", http.StatusBadRequest)
		return
	}
	if outer.Type == "url_verification" {
		v.answer(w, r, map[string]string{"challenge": outer.Challenge}, nil)
		return
	}
	v.answer(w, r, nil, v.Event(r.Context(), body))
}

// answer acknowledges with 200 only what is durable. A failure is answered
// with 500, so that the platform shows an error or sends again.
func (v *Receiver) answer(w http.ResponseWriter, r *http.Request, answer any, err error) {
	switch {
	case errors.Is(err, errUnreadable):
		v.Logger.Warn("request cannot be read", "path", r.URL.Path, "error", err)
		http.Error(w, "the request cannot be read", http.StatusBadRequest)
	case err != nil:
		v.Logger.Error("request failed", "path", r.URL.Path, "error", err)
		http.Error(w, "this could not be done just now", http.StatusInternalServerError)
	case answer == nil:
		w.WriteHeader(http.StatusOK)
	default:
		w.Header().Set("Content-Type", "application/json")
		if err := json.NewEncoder(w).Encode(answer); err != nil {
			v.Logger.Warn("answer was cut off", "path", r.URL.Path, "error", err)
		}
	}
}
