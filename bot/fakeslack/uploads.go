package fakeslack

import (
	"bytes"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strconv"

	"soundings/bot/fakeslack/wire"
)

// channelPattern is what completeUploadExternal takes for a channel: a
// person's id will not do, as a public bug report shows.
var channelPattern = regexp.MustCompile(`^[CGDZ][A-Z0-9]{8,}$`)

// uploads is the Web API's way to files.
type uploads struct {
	*core
	dir      *directory
	files    *files
	messages *messages
}

// getUploadURL is the first of three steps. The address is on the host that
// was called: slack-go sends its token nowhere else.
func (up *uploads) getUploadURL(a args) (reply, error) {
	name, size := a.str("filename"), a.str("length")
	n, err := strconv.Atoi(size)
	if name == "" || err != nil || n < 1 {
		return nil, wire.Refuse("invalid_arguments", "`filename` and a `length` of 1 or more are required")
	}
	f := &File{
		ID: up.nextID("F"), Name: name, Title: name, AltText: a.str("alt_txt"),
		Type: mediaType(name), User: up.bot, Size: n,
	}
	up.files.byID[f.ID] = f
	return reply{"upload_url": a.base + up.path() + "/upload/" + f.ID, "file_id": f.ID}, nil
}

// path is what stands between the host and the addresses that are handed out,
// where several teams share one host.
func (up *uploads) path() string {
	u, err := url.Parse(up.baseURL)
	if err != nil {
		return ""
	}
	return u.Path
}

// serveUpload is the second step: the bytes, as a multipart field or as the
// body itself. The platform asks for no token here.
func (up *uploads) serveUpload(rw http.ResponseWriter, r *http.Request) {
	content, err := uploadedBytes(rw, r)
	if err != nil {
		http.Error(rw, "the upload could not be read", http.StatusBadRequest)
		return
	}
	up.mu.Lock()
	defer up.mu.Unlock()
	f, ok := up.files.byID[r.PathValue("file")]
	switch {
	case !ok || f.done:
		http.Error(rw, "no upload was announced here", http.StatusNotFound)
	case len(content) != f.Size:
		http.Error(rw, fmt.Sprintf("%d bytes came, %d were announced", len(content), f.Size), http.StatusBadRequest)
	default:
		f.Content = content
		fmt.Fprintf(rw, "OK - %d", len(content))
	}
}

func uploadedBytes(rw http.ResponseWriter, r *http.Request) ([]byte, error) {
	body, err := readBody(rw, r)
	if err != nil {
		return nil, err
	}
	kind, params, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/form-data" {
		return body, nil
	}
	parts := multipart.NewReader(bytes.NewReader(body), params["boundary"])
	for {
		part, err := parts.NextPart()
		if err != nil {
			return nil, fmt.Errorf("find the file in the form: %w", err)
		}
		if part.FileName() != "" {
			return io.ReadAll(part)
		}
	}
}

// completeUpload is the third step: the files get their titles and are shown
// in a channel. Without one they stay private. The answer does not say which
// message shows them.
func (up *uploads) completeUpload(a args) (reply, error) {
	files, err := up.uploaded(a)
	if err != nil {
		return nil, err
	}
	c, thread, err := up.uploadPlace(a)
	if err != nil {
		return nil, err
	}
	var ids []string
	out := make([]reply, 0, len(files))
	for _, f := range files {
		f.done = true
		ids = append(ids, f.ID)
		out = append(out, reply{"id": f.ID, "title": f.Title})
	}
	if c != nil {
		for _, f := range files {
			f.shared = up.Now()
		}
		m := up.messages.newMessage(content{})
		m.ThreadTS, m.Files = thread, ids
		c.add(m)
	}
	return reply{"files": out}, nil
}

// uploaded finds the files named, each with its bytes, and gives them their
// titles.
func (up *uploads) uploaded(a args) ([]*File, error) {
	named, ok := a.values["files"].([]any)
	if !ok || len(named) == 0 {
		return nil, wire.Refuse("invalid_arguments", "missing required field: files")
	}
	var out []*File
	for _, n := range named {
		o, _ := n.(map[string]any)
		f, ok := up.files.byID[wire.Str(o, "id")]
		if !ok || f.Content == nil || f.done {
			return nil, wire.Refuse("file_not_found")
		}
		if title := wire.Str(o, "title"); title != "" {
			f.Title = title
		}
		out = append(out, f)
	}
	return out, nil
}

// uploadPlace is where the files are to be shown; there is no channel where
// they stay private.
func (up *uploads) uploadPlace(a args) (c *channel, thread string, err error) {
	id := a.str("channel_id")
	switch {
	case id == "":
		return nil, "", nil
	case !channelPattern.MatchString(id):
		return nil, "", wire.Refuse("invalid_arguments", "must match the following pattern: "+channelPattern.String()+" [json-pointer:/channel_id]")
	}
	if c, err = up.dir.target(id); err == nil {
		err = up.dir.mayPost(c)
	}
	if err != nil {
		return nil, "", err
	}
	thread, err = threadFor(c, a.str("thread_ts"))
	return c, thread, err
}

// serveFile gives a completed upload back.
func (up *uploads) serveFile(rw http.ResponseWriter, r *http.Request) {
	f, ok := up.files.completed(r.PathValue("file"))
	if !ok {
		http.NotFound(rw, r)
		return
	}
	rw.Header().Set("Content-Type", f.Type)
	rw.Header().Set("X-Content-Type-Options", "nosniff")
	_, _ = rw.Write(f.Content) // the reader may have gone
}
