package flows

import (
	"go/ast"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The import arrows. engine and flows import so little that nothing else of
// ours, and no store, queue, network or chat platform, can reach them through
// somebody else.
func TestImportArrows(t *testing.T) {
	for _, arrow := range []struct {
		dir  string
		ours []string // packages of this module that may be imported
		not  []string // of the standard library, what a pure package must not touch
	}{
		{"../engine", nil, []string{"os", "net", "log", "io/fs", "io/ioutil", "syscall", "plugin", "database", "runtime/debug", "context", "embed"}},
		{".", []string{"soundings/engine"}, []string{"os", "net", "log", "io/fs", "io/ioutil", "syscall", "plugin", "database", "runtime", "context",
			"embed", "bufio", "math/rand", "crypto", "sync", "testing"}},
	} {
		for name, file := range goFiles(t, arrow.dir) {
			for _, path := range importsOf(t, file) {
				switch {
				case slices.Contains(arrow.ours, path):
				case strings.HasPrefix(path, "soundings/"):
					t.Errorf("%s imports %s: the arrow goes the other way", name, path)
				case strings.Contains(strings.Split(path, "/")[0], "."):
					t.Errorf("%s imports %s: only the standard library may be imported here", name, path)
				case under(path, arrow.not):
					t.Errorf("%s imports %s: this package does no such thing", name, path)
				}
			}
		}
	}
}

func importsOf(t *testing.T, file *ast.File) []string {
	t.Helper()
	var paths []string
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

// under reports whether a package is one of those named, or inside one.
func under(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool { return path == root || strings.HasPrefix(path, root+"/") })
}

// TestNobodyLooksAtTheClock keeps time an argument: a decision that read the
// clock could not be replayed. The machine's own zone is no better.
func TestNobodyLooksAtTheClock(t *testing.T) {
	forbidden := []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local"}
	looked := 0
	for _, dir := range []string{".", "../engine"} {
		for name, file := range goFiles(t, dir) {
			ast.Inspect(file, func(n ast.Node) bool {
				selector, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				if x, ok := selector.X.(*ast.Ident); ok && x.Name == "time" {
					looked++
					if slices.Contains(forbidden, selector.Sel.Name) {
						t.Errorf("%s uses time.%s: the time is passed in", name, selector.Sel.Name)
					}
				}
				return true
			})
		}
	}
	if looked == 0 {
		t.Error("no use of package time found: this test looks at the wrong files")
	}
}

// TestNoStateOutsideTheState finds package variables, which two kickoffs
// would share. A list of compiled patterns that nothing changes is let be.
func TestNoStateOutsideTheState(t *testing.T) {
	for name, file := range goFiles(t, ".") {
		for _, decl := range file.Decls {
			switch decl := decl.(type) {
			case *ast.FuncDecl:
				if decl.Name.Name == "init" && decl.Recv == nil {
					t.Errorf("%s has an init: nothing should happen by importing", name)
				}
			case *ast.GenDecl:
				for _, spec := range decl.Specs {
					if v, ok := spec.(*ast.ValueSpec); ok && decl.Tok.String() == "var" && !constant(v) && v.Names[0].Name != "featureShapes" {
						t.Errorf("%s has the variable %s: what changes belongs into the state", name, v.Names[0])
					}
				}
			}
		}
	}
}

// constant reports whether a variable holds what never changes: an error to
// compare with, or a compiled pattern.
func constant(v *ast.ValueSpec) bool {
	return !slices.ContainsFunc(v.Values, func(e ast.Expr) bool {
		call, ok := e.(*ast.CallExpr)
		if !ok {
			return true
		}
		f, ok := call.Fun.(*ast.SelectorExpr)
		return !ok || f.Sel.Name != "New" && f.Sel.Name != "MustCompile"
	}) && len(v.Values) > 0
}
