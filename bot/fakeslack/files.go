package fakeslack

import (
	"cmp"
	"net/url"
	"path"
	"slices"
	"strings"
)

// A File is something uploaded. Content must not be changed.
type File struct {
	ID, Name, Title string
	AltText         string // for pictures
	Type            string // media type, by the name's ending
	User            string
	Size            int // as announced
	Content         []byte
	Shared          []Share // where it can be seen
	done            bool    // the upload was completed
}

// files are the uploads, announced or complete.
type files struct {
	*core
	dir  *directory
	byID map[string]*File
	ids  []string
}

// A Share is a message that shows a file.
type Share struct{ Channel, TS, ThreadTS string }

// File looks a completed upload up.
func (w *Team) File(id string) (File, bool) { return w.files.completed(id) }

func (w *files) completed(id string) (File, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	f, ok := w.byID[id]
	if !ok || !f.done {
		return File{}, false
	}
	return f.snapshot(), true
}

func (f *File) snapshot() File {
	out := *f
	out.Shared = slices.Clone(f.Shared)
	return out
}

// uploadedFile reports whether an upload was completed.
func (w *files) uploadedFile(id string) bool {
	f, ok := w.byID[id]
	return ok && f.done
}

// mediaTypes are of the endings that matter here; the machine's own table would
// differ from machine to machine.
var mediaTypes = map[string]string{
	".csv": "text/csv", ".ics": "text/calendar", ".json": "application/json", ".md": "text/markdown",
	".pdf": "application/pdf", ".png": "image/png", ".svg": "image/svg+xml", ".txt": "text/plain",
}

func mediaType(name string) string {
	return cmp.Or(mediaTypes[strings.ToLower(path.Ext(name))], "application/octet-stream")
}

func (w *files) filesJSON(ids []string) []reply {
	out := make([]reply, 0, len(ids))
	for _, id := range ids {
		if f, ok := w.byID[id]; ok {
			out = append(out, w.fileJSON(f))
		}
	}
	return out
}

func (w *files) fileJSON(f *File) reply {
	link := w.baseURL + "/files/" + f.ID + "/" + url.PathEscape(f.Name)
	out := reply{
		"id": f.ID, "name": f.Name, "title": f.Title, "mimetype": f.Type,
		"filetype": strings.TrimPrefix(path.Ext(f.Name), "."), "size": f.Size, "user": f.User,
		"url_private": link, "url_private_download": link,
		"permalink": w.siteURL() + "/files/" + f.User + "/" + f.ID, "mode": "hosted", "is_external": false,
		"channels": f.channels(), "shares": w.sharesJSON(f),
	}
	if f.AltText != "" {
		out["alt_txt"] = f.AltText
	}
	return out
}

func (f *File) channels() []string {
	out := []string{}
	for _, s := range f.Shared {
		if !slices.Contains(out, s.Channel) {
			out = append(out, s.Channel)
		}
	}
	return out
}

func (w *files) sharesJSON(f *File) reply {
	out := reply{}
	for _, s := range f.Shared {
		kind := "public"
		if w.dir.channels[s.Channel].Private {
			kind = "private"
		}
		share := reply{"ts": s.TS}
		if s.ThreadTS != "" {
			share["thread_ts"] = s.ThreadTS
		}
		in, _ := out[kind].(map[string][]reply)
		if in == nil {
			in = map[string][]reply{}
		}
		in[s.Channel] = append(in[s.Channel], share)
		out[kind] = in
	}
	return out
}
