package main

import (
	"archive/tar"
	"bytes"
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/report"
	"soundings/bot/words"
)

// mostInput is the largest input that is read, in bytes: well above any that
// makes sense, so that a wrong file is refused before memory runs out.
const mostInput = 256 << 20

// openInput opens a file, or standard input for "-", and gives the name by which
// messages call it. What cannot be opened is the caller's mistake.
func openInput(path string, stdin io.Reader) (name string, in io.ReadCloser, err error) {
	if path == "-" {
		return "standard input", io.NopCloser(stdin), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return "", nil, wrong(fileError(path, err))
	}
	return words.HarmlessLine(path), f, nil
}

// readInput reads what openInput opens, whole.
func readInput(path string, stdin io.Reader) (name string, data []byte, err error) {
	name, in, err := openInput(path, stdin)
	if err != nil {
		return "", nil, err
	}
	defer in.Close()
	data, err = io.ReadAll(io.LimitReader(in, mostInput+1))
	if err != nil {
		return "", nil, wrong(fileError(name, err))
	}
	if len(data) > mostInput {
		return "", nil, wrongf("%s: it is larger than %d MB; is it the right file?", name, mostInput>>20)
	}
	return name, data, nil
}

// fileError says what is wrong with a file in the words of the system, and
// names it once.
func fileError(path string, err error) error {
	if inPath, is := errors.AsType[*fs.PathError](err); is {
		err = inPath.Err
	}
	return fmt.Errorf("%s: %w", words.HarmlessLine(path), err)
}

// printResult prints what a command came to: as text, or for programs.
func printResult(c *cobra.Command, asJSON bool, v any, text func() string) error {
	if !asJSON {
		return printText(c, text())
	}
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ") // for people who look at it
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("print the result: %w", err)
	}
	return printText(c, b.String())
}

func printText(c *cobra.Command, text string) error {
	if _, err := io.WriteString(c.OutOrStdout(), text); err != nil {
		return fmt.Errorf("print the result: %w", err)
	}
	return nil
}

// aligned puts lines whose cells are parted by tabs into columns.
func aligned(gap int, lines []string) string {
	var b strings.Builder
	table := tabwriter.NewWriter(&b, 0, 0, gap, ' ', 0)
	for _, line := range lines {
		fmt.Fprintln(table, line)
	}
	_ = table.Flush() // into memory
	return b.String()
}

// wantsColour reports whether w is a terminal whose owner has nothing against
// colour: see no-color.org.
func wantsColour(w io.Writer) bool {
	return isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
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

// writeFolder writes files into a folder, which it makes if need be. What is
// there already under other names stays.
func writeFolder(dir string, files []report.File) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("make the folder %w", fileError(dir, err))
	}
	var all []output
	for _, file := range files {
		all = append(all, output{filepath.Join(dir, file.Name), file.Data})
	}
	return writeAll(all)
}

// printTar prints files as a tar, in a folder of its own: where nothing can be
// written, as in a container that is read-only, they come out like this.
func printTar(c *cobra.Command, folder string, at time.Time, files []report.File) error {
	var b bytes.Buffer
	archive := tar.NewWriter(&b)
	for _, file := range files {
		h := &tar.Header{Name: folder + "/" + file.Name, Mode: 0o644, Size: int64(len(file.Data)), ModTime: at}
		if err := archive.WriteHeader(h); err != nil {
			return fmt.Errorf("print the tar: %w", err)
		}
		_, _ = archive.Write(file.Data) // into memory, of the size that was said
	}
	if err := archive.Close(); err != nil {
		return fmt.Errorf("print the tar: %w", err)
	}
	return printText(c, b.String())
}

// mustTakeFiles refuses a folder into which nothing can be written.
func mustTakeFiles(dir string) error {
	if info, err := os.Stat(dir); dir != "" && err == nil && !info.IsDir() {
		return wrongf("--out takes a folder, and %s is none", dir)
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
