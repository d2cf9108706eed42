package flows

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// goFiles parses the Go files of a package, without its tests.
func goFiles(t *testing.T, dir string) map[string]*ast.File {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	files, set := map[string]*ast.File{}, token.NewFileSet()
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		source, err := os.ReadFile(name)
		require.NoError(t, err)
		files[name], err = parser.ParseFile(set, name, source, parser.SkipObjectResolution)
		require.NoError(t, err)
	}
	require.NotEmpty(t, files, "no Go files found in %s", dir)
	return files
}

// receivers names the types of a package that have a method of the given
// name and number of parameters.
func receivers(t *testing.T, dir, method string, params int) map[string]bool {
	t.Helper()
	types := map[string]bool{}
	for _, file := range goFiles(t, dir) {
		for _, decl := range file.Decls {
			f, ok := decl.(*ast.FuncDecl)
			if !ok || f.Recv == nil || f.Name.Name != method || f.Type.Params.NumFields() != params {
				continue
			}
			if name, ok := f.Recv.List[0].Type.(*ast.Ident); ok {
				types[name.Name] = true
			}
		}
	}
	require.NotEmpty(t, types, "no type has a method %s", method)
	return types
}
