package diagnose_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// A pkg is one package of the module with the types of its expressions.
type pkg struct {
	room  string // its folder, from the root
	fset  *token.FileSet
	files map[string]*ast.File // by their names from the root
	info  types.Info
}

// packages are those of the module without their tests.
func packages(t *testing.T) []*pkg {
	t.Helper()
	list, err := typed()
	require.NoError(t, err)
	return list
}

// typed asks the go command for the packages, and for what it knows of those that they
// import, and finds the types.
var typed = sync.OnceValues(func() (list []*pkg, err error) {
	cmd := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Export,Dir,GoFiles", "./...")
	cmd.Dir = root
	out, err := cmd.Output()
	if err != nil {
		return nil, err
	}
	type listed struct {
		ImportPath, Export, Dir string
		GoFiles                 []string
	}
	exports, ours := map[string]string{}, []listed{}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var l listed
		if err := d.Decode(&l); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		exports[l.ImportPath] = l.Export
		if strings.HasPrefix(l.ImportPath, module+"/") {
			ours = append(ours, l)
		}
	}
	fset := token.NewFileSet()
	imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	for _, l := range ours {
		p := &pkg{room: strings.TrimPrefix(l.ImportPath, module+"/"), fset: fset, files: map[string]*ast.File{}, info: types.Info{
			Types: map[ast.Expr]types.TypeAndValue{}, Selections: map[*ast.SelectorExpr]*types.Selection{}, Instances: map[*ast.Ident]types.Instance{},
			Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{},
		}}
		var files []*ast.File
		for _, name := range l.GoFiles {
			file, err := parser.ParseFile(fset, filepath.Join(l.Dir, name), nil, 0)
			if err != nil {
				return nil, err
			}
			files = append(files, file)
			p.files[path.Join(p.room, name)] = file
		}
		conf := types.Config{Importer: imports}
		if _, err := conf.Check(l.ImportPath, fset, files, &p.info); err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
})

// read is a file of the tree.
func read(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, name))
	require.NoError(t, err)
	return text
}
