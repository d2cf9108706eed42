package bot_test

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What one reader can hold at a time (our choice). Past one of these, a package,
// a type or a function is two of them.
const (
	mostFiles     = 45   // of a package
	mostLines     = 6000 // of a package
	mostMethods   = 40   // of a type
	longestOfAll  = 60   // lines of a function
	fewestInATree = 15   // packages, or this test looks in the wrong place
)

// A room is the product code of one package.
type room struct {
	files, lines int
	methods      map[string]int // by type
}

// TestRoomsAreSmall holds every package of the tree, tests aside, to the sizes
// above.
func TestRoomsAreSmall(t *testing.T) {
	rooms := map[string]*room{}
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		dir := filepath.Dir(name)
		if rooms[dir] == nil {
			rooms[dir] = &room{methods: map[string]int{}}
		}
		rooms[dir].add(t, name)
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, len(rooms), fewestInATree)
	for dir, r := range rooms {
		assert.LessOrEqual(t, r.files, mostFiles, "files of %s", dir)
		assert.LessOrEqual(t, r.lines, mostLines, "lines of %s", dir)
		for of, n := range r.methods {
			assert.LessOrEqual(t, n, mostMethods, "methods of %s in %s", of, dir)
		}
	}
}

func (r *room) add(t *testing.T, name string) {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	r.files++
	r.lines += bytes.Count(data, []byte("\n"))
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, name, data, parser.SkipObjectResolution)
	require.NoError(t, err)
	for _, decl := range file.Decls {
		f, ok := decl.(*ast.FuncDecl)
		if !ok {
			continue
		}
		lines := files.Position(f.End()).Line - files.Position(f.Pos()).Line + 1
		assert.LessOrEqual(t, lines, longestOfAll, "lines of %s in %s", f.Name.Name, name)
		if f.Recv != nil {
			r.methods[receiver(f.Recv.List[0].Type)]++
		}
	}
}

// receiver is the name of the type that a method belongs to.
func receiver(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.StarExpr:
		return receiver(e.X)
	case *ast.IndexExpr:
		return receiver(e.X)
	case *ast.IndexListExpr:
		return receiver(e.X)
	case *ast.Ident:
		return e.Name
	}
	return ""
}
