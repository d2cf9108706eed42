package main

import (
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// printJSON writes v for programs, indented for people.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("print the result: %w", err)
	}
	return nil
}

// printText writes text as it stands.
func printText(w io.Writer, text string) error {
	if _, err := io.WriteString(w, text); err != nil {
		return fmt.Errorf("print the result: %w", err)
	}
	return nil
}

// An output is a file to be written.
type output struct {
	path string
	data []byte
}

// writeAll writes files so that each appears whole: first all of them under
// other names beside their places, and only then under their own. Should
// anything fail before the first has its name, none is left.
func writeAll(files []output) error {
	drafts := make([]string, 0, len(files))
	defer func() {
		for _, draft := range drafts {
			_ = os.Remove(draft) // gone already where all went well
		}
	}()
	for _, f := range files {
		draft, err := writeDraft(f)
		if draft != "" {
			drafts = append(drafts, draft)
		}
		if err != nil {
			return fmt.Errorf("write %w", fileError(f.path, err))
		}
	}
	for i, f := range files {
		if err := os.Rename(drafts[i], f.path); err != nil {
			return fmt.Errorf("write %w", fileError(f.path, err))
		}
	}
	return nil
}

// writeDraft writes a file under another name, in the same folder, since a
// rename works only within one.
func writeDraft(f output) (draft string, err error) {
	if info, err := os.Stat(f.path); err == nil && !info.Mode().IsRegular() {
		return "", errors.New("it is there already, and is no ordinary file")
	}
	draft = filepath.Join(filepath.Dir(f.path), "."+filepath.Base(f.path)+"."+rand.Text())
	to, err := os.OpenFile(draft, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return "", err
	}
	_, err = to.Write(f.data)
	return draft, cmp.Or(err, to.Close())
}
