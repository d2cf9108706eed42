// Package slacktypes holds what the bot sends to the platform's official type
// definitions: the npm package @slack/types, compiled by TypeScript. It is for
// tests. Both packages are looked for in the folder that
// SOUNDINGS_SLACK_TYPES names; .ci/run installs them there, in the versions
// that it pins.
package slacktypes

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A Pile gathers payloads. What was added before is not kept twice.
type Pile struct {
	all  []string // the lines of a program
	seen map[string]bool
}

// Blocks adds the blocks of a message.
func (p *Pile) Blocks(name string, blocks any) { p.add(name, "KnownBlock[]", blocks) }

// View adds a form or a home tab, whichever its type says.
func (p *Pile) View(name string, view any) {
	data, _ := json.Marshal(view) // what does not encode fails in add
	var head struct {
		Type string `json:"type"`
	}
	kind := "Strict<ModalView>"
	if json.Unmarshal(data, &head) == nil && head.Type == "home" {
		kind = "Strict<HomeView>"
	}
	p.add(name, kind, view)
}

// Len is how many different payloads were added.
func (p *Pile) Len() int { return len(p.all) }

// add writes a payload as a literal of a type: TypeScript looks for what is
// missing, of the wrong kind, or unknown in literals alone. Without escapes
// of its own JSON is TypeScript.
func (p *Pile) add(name, kind string, payload any) {
	data, err := json.Marshal(payload)
	if err != nil {
		panic(fmt.Sprintf("slacktypes: %s does not encode: %v", name, err))
	}
	literal := kind + " = " + string(data)
	if p.seen[literal] {
		return
	}
	if p.seen == nil {
		p.seen = map[string]bool{}
	}
	p.seen[literal] = true
	p.all = append(p.all, fmt.Sprintf("export const p%d: %s; // %s", len(p.all)+1, literal, strings.ReplaceAll(name, "\n", " ")))
}

// header makes the types strict: AnyBlock, which the official views hold,
// lets any block through that has a type, and KnownBlock only the real ones.
const header = `import type { HomeView, KnownBlock, ModalView } from '@slack/types';
type Strict<View> = Omit<View, 'blocks'> & { blocks: KnownBlock[] };
`

const config = `{
  "compilerOptions": { "noEmit": true, "strict": true, "types": [], "target": "es2022", "module": "nodenext" },
  "files": ["payloads.ts"]
}
`

// Tools is the folder with the packages, or skips the test.
func Tools(t *testing.T) string {
	t.Helper()
	tools := os.Getenv("SOUNDINGS_SLACK_TYPES")
	if tools == "" {
		t.Skip("needs the npm packages @slack/types and typescript: set SOUNDINGS_SLACK_TYPES to the folder that holds their node_modules")
	}
	return tools
}

// Faults compiles the pile and returns what the compiler finds, a line each,
// with the payload that it is about.
func (p *Pile) Faults(t *testing.T, tools string) []string {
	t.Helper()
	// The program lies beside the packages, where the compiler looks for them.
	dir, err := os.MkdirTemp(tools, "payloads")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	for name, text := range map[string]string{"tsconfig.json": config, "payloads.ts": header + strings.Join(p.all, "\n") + "\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	compiler := exec.CommandContext(t.Context(), filepath.Join(tools, "node_modules", ".bin", "tsc"), "--pretty", "false", "-p", dir)
	out, err := compiler.CombinedOutput()
	if err == nil {
		return nil
	}
	faults := p.read(out)
	if len(faults) == 0 {
		t.Fatalf("the compiler did not run: %v\n%s", err, out)
	}
	return faults
}

// read turns "payloads.ts(12,345): error TS2322: …" into a line that says
// which payload it is about, and what stands there.
func (p *Pile) read(out []byte) []string {
	var faults []string
	for line := range bytes.Lines(out) {
		var n, column int
		_, place, found := strings.Cut(string(line), "payloads.ts(")
		if _, err := fmt.Sscanf(place, "%d,%d", &n, &column); !found || err != nil {
			continue // more about the one before
		}
		_, what, _ := strings.Cut(place, "): ")
		n -= strings.Count(header, "\n")
		if n < 1 || n > len(p.all) {
			faults = append(faults, strings.TrimSpace(what)) // of the header: the packages are not there
			continue
		}
		text := p.all[n-1]
		at := min(max(column-1, 0), len(text))
		_, name, _ := strings.Cut(text[strings.LastIndex(text, "; // "):], "; // ")
		faults = append(faults, fmt.Sprintf("%s: %s at %.80s", name, strings.TrimSpace(what), text[at:]))
	}
	return faults
}
