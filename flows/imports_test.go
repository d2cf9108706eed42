package flows

import (
	"go/ast"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNothingOutside keeps a kickoff's rules a function of their arguments: no
// file, network, clock or process can reach them. Which packages of ours may be
// imported is held by the table of arrows in package bot.
func TestNothingOutside(t *testing.T) {
	impure := []string{"os", "net", "log", "io/fs", "io/ioutil", "syscall", "plugin", "database", "context"}
	pure := slices.Concat(impure, []string{"runtime", "embed", "bufio", "math/rand", "crypto", "sync", "testing"})
	dirs := map[string][]string{
		"../engine": slices.Concat(impure, []string{"runtime/debug", "embed"}),
		".":         pure, "event": pure, "guide": pure, "imports": pure, "lists": pure, "state": pure, "tally": pure, "views": pure, "workdays": pure,
		"hints": impure, // its lists are embedded
	}
	for dir, not := range dirs {
		for name, file := range goFiles(t, dir) {
			for _, path := range importsOf(t, file) {
				assert.False(t, under(path, not), "%s imports %s: this package does no such thing", name, path)
			}
		}
	}
	files, err := filepath.Glob("*/*.go")
	require.NoError(t, err)
	for _, file := range files {
		assert.Contains(t, dirs, filepath.Dir(file), "the package is not held to anything here")
	}
}

func importsOf(t *testing.T, file *ast.File) []string {
	t.Helper()
	var paths []string
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		paths = append(paths, path)
	}
	return paths
}

// under reports whether a package is one of those named, or inside one.
func under(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool { return path == root || strings.HasPrefix(path, root+"/") })
}

// TestNobodyLooksAtTheClock keeps time an argument: a decision that read the
// clock could not be replayed. The machine's own zone is no better, and zones are
// files, so they are handed in.
func TestNobodyLooksAtTheClock(t *testing.T) {
	forbidden := []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local", "LoadLocation"}
	looked := 0
	for _, dir := range []string{".", "event", "guide", "hints", "imports", "lists", "state", "tally", "views", "workdays", "../engine"} {
		for name, file := range goFiles(t, dir) {
			ast.Inspect(file, func(n ast.Node) bool {
				selector, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				if x, ok := selector.X.(*ast.Ident); ok && x.Name == "time" {
					looked++
					assert.NotContains(t, forbidden, selector.Sel.Name, "%s uses time.%s: the time is passed in", name, selector.Sel.Name)
				}
				return true
			})
		}
	}
	assert.NotEqual(t, 0, looked, "no use of package time found: this test looks at the wrong files")
}

// TestNoStateOutsideTheState holds package variables to what is written once:
// a table, a compiled pattern. What changes would be shared by two kickoffs.
func TestNoStateOutsideTheState(t *testing.T) {
	for _, dir := range []string{".", "event", "state"} {
		holdsNoState(t, dir)
	}
}

func holdsNoState(t *testing.T, dir string) {
	files, tables := goFiles(t, dir), map[string]bool{}
	for name, file := range files {
		for _, decl := range file.Decls {
			switch decl := decl.(type) {
			case *ast.FuncDecl:
				assert.False(t, decl.Name.Name == "init" && decl.Recv == nil, "%s has an init: nothing should happen by importing", name)
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
			for _, changed := range changedBy(n) {
				assert.False(t, tables[rootOf(changed)], "%s changes the variable %s: what changes belongs into the state", name, rootOf(changed))
			}
			return true
		})
	}
}

// changedBy lists what a node assigns to, or takes the address of.
func changedBy(n ast.Node) []ast.Expr {
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
