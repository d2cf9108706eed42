package bot_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// arrows says which packages of ours each package may import. A name that ends
// in /... stands for a folder and all in it. Whatever is not here may import
// nothing of ours.
var arrows = map[string][]string{
	"engine/...":  nil,
	"flows/...":   {"engine/...", "flows/..."},
	"flows/event": {"engine", "flows/lists", "flows/state", "flows/workdays"},
	"flows/state": {"engine", "flows/lists", "flows/workdays"},
	"flows/tally": {"engine", "flows/event", "flows/lists", "flows/state"},
	"flows/lists": nil,
	"prompts/...": {"engine/...", "flows/...", "prompts/..."},

	"bot/screens": {"engine/...", "flows/...", "prompts", "bot/block", "bot/report/...", "bot/words",
		"bot/screens/closing", "bot/screens/planning", "bot/screens/rating", "bot/screens/screen", "bot/screens/underway"},
	"bot/screens/closing":  {"flows/...", "bot/block", "bot/plaintext", "bot/report", "bot/screens/screen", "bot/words"},
	"bot/screens/planning": {"engine", "flows/...", "bot/block", "bot/report", "bot/screens/screen", "bot/words"},
	"bot/screens/rating":   {"engine", "flows/...", "bot/block", "bot/report", "bot/screens/screen", "bot/words"},
	"bot/screens/screen":   {"flows/...", "bot/block", "bot/words"},
	"bot/screens/underway": {"engine", "flows/...", "bot/block", "bot/report", "bot/screens/screen", "bot/words"},
	"bot/report/...":       {"engine/...", "flows/...", "bot/report/...", "bot/words"},
	"bot/block":            {"flows/...", "bot/report", "bot/words"},
	"bot/words":            {"engine/...", "flows/..."},
	"bot/plaintext":        nil,
	"bot/journal":          nil,
	"bot/jobs":             nil,
	"bot/zones":            nil,
	"bot/installs":         {"bot/journal"},
	"bot/chat":             {"bot/report", "bot/screens/screen", "flows/..."},
	"bot/metrics":          {"flows/...", "prompts"},
	"bot/manifest":         {"bot/installs"},
	"bot/drafts":           {"bot/screens/screen", "flows/...", "prompts"},
	"bot/teams":            {"bot/chat", "bot/installs", "bot/jobs", "bot/journal", "bot/kickoffs"},
	"bot/profiles":         {"bot/chat", "bot/journal", "flows/..."},
	"bot/kickoffs":         {"bot/journal", "bot/screens/screen", "flows/..."},
	"bot/outgoing": {"bot/chat", "bot/drafts", "bot/jobs", "bot/journal", "bot/kickoffs", "bot/metrics", "bot/profiles", "bot/report", "bot/screens", "bot/screens/screen", "bot/teams",
		"flows/...", "prompts"},
	"bot/incoming": {"bot/block", "bot/chat", "bot/drafts", "bot/journal", "bot/kickoffs", "bot/manifest", "bot/metrics", "bot/plaintext", "bot/profiles", "bot/screens", "bot/screens/rating", "bot/screens/screen",
		"bot/teams", "flows/..."},
	"bot/keeping": {"bot/jobs", "bot/journal", "bot/kickoffs", "flows/..."},
	"bot": {"bot/chat", "bot/drafts", "bot/incoming", "bot/installs", "bot/jobs", "bot/journal", "bot/keeping", "bot/kickoffs", "bot/metrics", "bot/outgoing", "bot/profiles",
		"bot/teams", "bot/zones"},

	"bot/fakeslack/...": {"bot/fakeslack/..."},
	"bot/scenario/...":  {"engine/...", "flows/...", "bot/scenario/..."},
	"bot/rehearsal/...": {"bot/...", "flows/...", "engine/...", "prompts"},
	"cmd/...":           {"bot/...", "flows/...", "engine/...", "prompts"},

	"bot/journal/storetest": {"bot/journal"},
}

// purest import nothing from outside the standard library, or only what is
// named.
var purest = map[string][]string{
	"engine/...":  nil,
	"flows/...":   nil,
	"flows/hints": {"github.com/blevesearch/snowballstem", "golang.org/x/text/unicode/norm"},
	"bot/words":   {"golang.org/x/text/width"},
	"prompts":     {"github.com/sashabaranov/go-openai", "go.yaml.in/yaml/v3", "golang.org/x/text/unicode/norm"},
}

// ruleFor is the rule of a package: its own, or that of a folder around it.
func ruleFor(rules map[string][]string, pkg string) (may []string, found bool) {
	if may, found = rules[pkg]; found {
		return may, true
	}
	for dir := pkg; dir != "."; dir = path.Dir(dir) {
		if may, found = rules[dir+"/..."]; found {
			return may, true
		}
	}
	return nil, false
}

// anyOf reports whether a package is one of those named.
func anyOf(pkg string, all []string) bool {
	return slices.ContainsFunc(all, func(name string) bool {
		dir, whole := strings.CutSuffix(name, "/...")
		return pkg == dir || whole && strings.HasPrefix(pkg, dir+"/")
	})
}

// TestArrows holds every import of the tree, tests aside, to the table above.
// The arrows between packages go one way.
func TestArrows(t *testing.T) {
	seen := map[string]bool{}
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		pkg, err := filepath.Rel("..", filepath.Dir(name))
		require.NoError(t, err)
		pkg = filepath.ToSlash(pkg)
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		require.NoError(t, err)
		seen[pkg] = true
		may, found := ruleFor(arrows, pkg)
		assert.True(t, found, "%s stands nowhere in the table", pkg)
		for _, spec := range file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			if ours, is := strings.CutPrefix(imported, "soundings/"); is {
				assert.True(t, anyOf(ours, may), "%s imports %s", name, imported)
			} else if allowed, pure := ruleFor(purest, pkg); pure && strings.Contains(strings.Split(imported, "/")[0], ".") {
				assert.True(t, slices.ContainsFunc(allowed, func(root string) bool { return imported == root || strings.HasPrefix(imported, root+"/") }),
					"%s imports %s: only the standard library may be imported here", name, imported)
			}
		}
		return nil
	})
	require.NoError(t, err)
	assert.Greater(t, len(seen), 15, "too few packages found: this test looks in the wrong place")
}
