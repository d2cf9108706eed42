package flows

import (
	"go/ast"
	"go/token"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
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

// TestNoStateOutsideTheState holds package variables to what is written once:
// a table, a compiled pattern. What changes would be shared by two kickoffs.
func TestNoStateOutsideTheState(t *testing.T) {
	files, tables := goFiles(t, "."), map[string]bool{}
	for name, file := range files {
		for _, decl := range file.Decls {
			switch decl := decl.(type) {
			case *ast.FuncDecl:
				if decl.Name.Name == "init" && decl.Recv == nil {
					t.Errorf("%s has an init: nothing should happen by importing", name)
				}
			case *ast.GenDecl:
				for _, spec := range decl.Specs {
					if v, ok := spec.(*ast.ValueSpec); ok && decl.Tok == token.VAR {
						assert.NotEmpty(t, v.Values, "%s has the variable %s, which is to be filled later: what changes belongs into the state", name, v.Names[0])
						tables[v.Names[0].Name] = true
					}
				}
			}
		}
	}
	for name, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			for _, changed := range written(n) {
				assert.False(t, tables[rootOf(changed)], "%s changes the variable %s: what changes belongs into the state", name, rootOf(changed))
			}
			return true
		})
	}
}

// written lists what a node assigns to, or takes the address of.
func written(n ast.Node) []ast.Expr {
	switch n := n.(type) {
	case *ast.AssignStmt:
		if n.Tok != token.DEFINE {
			return n.Lhs
		}
	case *ast.IncDecStmt:
		return []ast.Expr{n.X}
	case *ast.UnaryExpr:
		if n.Op == token.AND {
			return []ast.Expr{n.X}
		}
	case *ast.CallExpr:
		if f, ok := n.Fun.(*ast.Ident); ok && (f.Name == "delete" || f.Name == "clear") {
			return n.Args[:1]
		}
	}
	return nil
}

// rootOf is the variable of which an expression is a part.
func rootOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.IndexExpr:
		return rootOf(e.X)
	case *ast.SliceExpr:
		return rootOf(e.X)
	case *ast.SelectorExpr:
		return rootOf(e.X)
	case *ast.StarExpr:
		return rootOf(e.X)
	case *ast.ParenExpr:
		return rootOf(e.X)
	}
	return ""
}
