package fakeslack

import (
	"cmp"
	"net/url"
	"path"
	"strings"
	"time"
)

// A File is something uploaded. Content must not be changed.
type File struct {
	ID, Name, Title string
	AltText         string // for pictures
	Type            string // media type, by the name's ending
	User            string
	Size            int // as announced
	Content         []byte
	done            bool      // the upload was completed
	shared          time.Time // when it was first shown in a channel; zero of a private file
}

// files are the uploads, announced or complete.
type files struct {
	*core
	byID map[string]*File
}

// File looks a completed upload up.
func (t *Team) File(id string) (File, bool) { return t.files.completed(id) }

func (fs *files) completed(id string) (File, bool) {
	fs.mu.Lock()
	defer fs.mu.Unlock()
	if !fs.uploadedFile(id) {
		return File{}, false
	}
	return *fs.byID[id], true
}

// uploadedFile reports whether an upload was completed.
func (fs *files) uploadedFile(id string) bool {
	f, ok := fs.byID[id]
	return ok && f.done
}

// readyAfter is how long a file is looked at before it may stand in a message. The
// platform says nothing of it: seconds, by reports of those who met the refusal
// (slack-github-action issue 413, python-slack-sdk issues 1521 and 1658).
const readyAfter = 3 * time.Second

// showable reports whether a file may stand in a message or form: it is complete,
// was looked at, and stands in a channel, so that whoever reads it may see it.
func (fs *files) showable(id string) bool {
	f, ok := fs.byID[id]
	return ok && f.done && !f.shared.IsZero() && fs.Now().Sub(f.shared) >= readyAfter
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

func (fs *files) filesJSON(ids []string) []reply {
	out := make([]reply, 0, len(ids))
	for _, id := range ids {
		if f, ok := fs.byID[id]; ok {
			out = append(out, fs.fileJSON(f))
		}
	}
	return out
}

func (fs *files) fileJSON(f *File) reply {
	link := fs.baseURL + "/files/" + f.ID + "/" + url.PathEscape(f.Name)
	out := reply{
		"id": f.ID, "name": f.Name, "title": f.Title, "mimetype": f.Type,
		"filetype": strings.TrimPrefix(path.Ext(f.Name), "."), "size": f.Size, "user": f.User,
		"url_private": link, "url_private_download": link,
		"permalink": fs.siteURL() + "/files/" + f.User + "/" + f.ID, "mode": "hosted", "is_external": false,
	}
	if f.AltText != "" {
		out["alt_txt"] = f.AltText
	}
	return out
}
