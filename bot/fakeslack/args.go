package fakeslack

import (
	"encoding/base64"
	"encoding/json"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// args are what a call was made with, however they travelled.
type args struct {
	values map[string]any // decoded, without the token
	token  string
	base   string // scheme and host that the bot called
}

// readArgs takes arguments from the address, a form or JSON, and the token
// from the Authorization header, the form or the JSON body.
func readArgs(rw http.ResponseWriter, r *http.Request) (args, error) {
	a := args{values: map[string]any{}, base: "http://" + r.Host}
	if r.TLS != nil {
		a.base = "https://" + r.Host
	}
	a.addForm(r.URL.Query())
	if r.Method == http.MethodPost {
		if err := a.addBody(rw, r); err != nil {
			return args{}, err
		}
	}
	if t, ok := a.values["token"].(string); ok {
		a.token = t
	}
	delete(a.values, "token")
	if bearer, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
		a.token = strings.TrimSpace(bearer)
	}
	return a, nil
}

func (a *args) addBody(rw http.ResponseWriter, r *http.Request) error {
	body, err := readBody(rw, r)
	if err != nil {
		return wire.Refuse("request_timeout")
	}
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch {
	case len(body) == 0:
		return nil
	case r.Header.Get("Content-Type") == "":
		return wire.Refuse("missing_post_type")
	case err != nil:
		return wire.Refuse("invalid_post_type")
	}
	switch kind {
	case "application/json":
		v, err := wire.Decode(body)
		if err != nil {
			return wire.Refuse("invalid_json")
		}
		o, ok := v.(map[string]any)
		if !ok {
			return wire.Refuse("json_not_object")
		}
		maps.Copy(a.values, o)
		return nil
	case "application/x-www-form-urlencoded":
		form, err := url.ParseQuery(string(body))
		if err != nil {
			return wire.Refuse("invalid_form_data")
		}
		a.addForm(form)
		return nil
	}
	// Multipart is played for uploads only.
	return wire.Refuse("invalid_post_type")
}

// addForm takes form fields in; those that hold JSON are decoded, or left as
// they are when they do not decode, for the method to refuse.
func (a *args) addForm(form map[string][]string) {
	for key, values := range form {
		if len(values) == 0 {
			continue
		}
		a.values[key] = values[0]
		if slices.Contains(jsonArgs, key) {
			if v, err := wire.Decode([]byte(values[0])); err == nil {
				a.values[key] = v
			}
		}
	}
}

// jsonArgs are the arguments that travel as JSON inside a form.
var jsonArgs = []string{
	"blocks", "attachments", "metadata", "view", "files", "changes",
	"document_content", "title_content", "unfurls", "file_ids",
}

// str is an argument as text, whatever it travelled as.
func (a args) str(key string) string {
	switch v := a.values[key].(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}

func (a args) flag(key string) bool {
	s := a.str(key)
	return s == "true" || s == "1"
}

// limit is how many items a page may have: fallback when not asked for, and
// most at the most.
func (a args) limit(fallback, most int) (int, error) {
	s := a.str("limit")
	if s == "" || s == "0" {
		return fallback, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > most {
		return 0, wire.Refuse("invalid_limit")
	}
	return n, nil
}

// page cuts one page out of all, and says in next where the following one
// begins. A cursor means something to the team alone.
func page[T any](a args, all []T, fallback, most int) (shown []T, next reply, err error) {
	limit, err := a.limit(fallback, most)
	if err != nil {
		return nil, nil, err
	}
	from, cursor := 0, a.str("cursor")
	if cursor != "" {
		if from, err = readCursor(cursor, len(all)); err != nil {
			return nil, nil, err
		}
	}
	to := min(len(all), from+limit)
	cursor = ""
	if to < len(all) {
		cursor = base64.StdEncoding.EncodeToString([]byte("next:" + strconv.Itoa(to)))
	}
	return append([]T{}, all[from:to]...), nextCursor(cursor), nil
}

func readCursor(cursor string, n int) (int, error) {
	raw, err := base64.StdEncoding.DecodeString(cursor)
	if err != nil {
		return 0, wire.Refuse("invalid_cursor")
	}
	digits, ok := strings.CutPrefix(string(raw), "next:")
	from, err := strconv.Atoi(digits)
	if !ok || err != nil || from < 0 || from > n {
		return 0, wire.Refuse("invalid_cursor")
	}
	return from, nil
}

func nextCursor(next string) reply { return reply{"next_cursor": next} }
