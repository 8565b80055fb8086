package diagnose_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	module = "ampwalk"
	root   = ".."
)

// rooms are the packages in the order of the table in DEVELOPERS.md.
func rooms(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	_, section, found := strings.Cut(string(text), "\n## Rooms\n")
	require.True(t, found)
	section, _, _ = strings.Cut(section, "\n## ")
	var list []string
	for _, row := range regexp.MustCompile("(?m)^\\| `([^`]+)` \\|").FindAllStringSubmatch(section, -1) {
		list = append(list, row[1])
	}
	return list
}

// Each room imports only rooms above it in the table, and each stands there.
func TestRoomsImportOnlyRoomsAbove(t *testing.T) {
	order := rooms(t)
	var found []string
	for _, f := range sources(t, ".") {
		room := filepath.ToSlash(filepath.Dir(f.name))
		found = append(found, room)
		for _, path := range f.imports {
			other, ours := strings.CutPrefix(path, module+"/")
			if ours {
				assert.Less(t, slices.Index(order, other), slices.Index(order, room), "%s imports %s", f.name, other)
				assert.Contains(t, order, other, f.name)
			}
		}
	}
	slices.Sort(found)
	assert.ElementsMatch(t, slices.Compact(found), order)
}

// The diagnosis gives the same on every run and every machine and can be
// tested without one: no screen, no file that is not named by who calls, no database but the
// ledger's, no clock, no source of chance that nobody handed in.
func TestDiagnosisKnowsNoWorld(t *testing.T) {
	files := sources(t, "diagnose")
	require.NotEmpty(t, files)
	for _, f := range files {
		if f.program || slices.Contains(f.imports, "testing") {
			continue // nothing that is part of the diagnosis imports it: see TestProgramsHoldNoTests
		}
		for _, imported := range f.imports {
			for _, screen := range []string{"bubbletea", "bubbles", "lipgloss"} {
				assert.NotEqual(t, "github.com/charmbracelet/"+screen, imported, f.name)
			}
			if imported == "database/sql" {
				assert.Equal(t, "diagnose/office/ledger", filepath.ToSlash(filepath.Dir(f.name)), "%s imports %s", f.name, imported)
			}
			first, _, _ := strings.Cut(imported, "/")
			if (first == "os" || first == "net" || first == "syscall") && imported != "net/url" { // that one only reads text
				assert.Contains(t, []string{"diagnose/base/wholefile", "diagnose/field/record"}, filepath.ToSlash(filepath.Dir(f.name)), "%s imports %s", f.name, imported)
			}
			assert.NotEqual(t, "math/rand", imported, "%s: its global source is seeded by chance", f.name)
		}
		for _, used := range f.uses {
			assert.NotContains(t, []string{"time.Now", "time.Since", "time.Until", "time.After", "time.Sleep"}, used, f.name)
			if name, ok := strings.CutPrefix(used, "math/rand/v2."); ok {
				assert.Contains(t, []string{"New", "NewPCG", "Rand", "PCG", "Source"}, name, f.name)
			}
		}
	}
}

// What serves tests is in no program.
func TestProgramsHoldNoTests(t *testing.T) {
	files := sources(t, ".")
	forTests := map[string]bool{}
	for _, f := range files {
		if slices.Contains(f.imports, "testing") {
			forTests[module+"/"+filepath.ToSlash(filepath.Dir(f.name))] = true
		}
	}
	require.NotEmpty(t, forTests)
	for _, f := range files {
		for _, imported := range f.imports {
			assert.False(t, forTests[imported], "%s imports %s", f.name, imported)
		}
	}
}

// A source is one Go file that is no test.
type source struct {
	name    string   // from the root
	program bool     // of package main
	imports []string // paths
	uses    []string // what it names of other packages, "time.Now"
}

func sources(t *testing.T, below string) (list []source) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(filepath.Join(root, below), func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || len(d.Name()) > 2 && d.Name()[0] == '.'):
			return fs.SkipDir
		case !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			return err
		}
		s := source{program: file.Name.Name == "main"}
		if s.name, err = filepath.Rel(root, name); err != nil {
			return err
		}
		called := map[string]string{} // name in the file to path
		for _, i := range file.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, p)
			local := path.Base(strings.TrimSuffix(p, "/v2"))
			if i.Name != nil {
				local = i.Name.Name
			}
			called[local] = p
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && called[x.Name] != "" {
					s.uses = append(s.uses, called[x.Name]+"."+sel.Sel.Name)
				}
			}
			return true
		})
		list = append(list, s)
		return nil
	}))
	return list
}

// Tests by rapid draw the same cases on every run, but in CI: their package imports the
// room that fixes the seed.
func TestRandomCasesAreTheSame(t *testing.T) {
	const rapid, seeded = "pgregory.net/rapid", module + "/diagnose/base/effort"
	drawn, fixed := map[string]bool{}, map[string]bool{}
	require.NoError(t, filepath.WalkDir(root, func(name string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, i := range file.Imports {
			switch i.Path.Value {
			case strconv.Quote(rapid):
				drawn[filepath.Dir(name)] = true
			case strconv.Quote(seeded):
				fixed[filepath.Dir(name)] = true
			}
		}
		return nil
	}))
	require.NotEmpty(t, drawn)
	delete(drawn, filepath.Join(root, "diagnose", "base", "effort")) // which fixes it
	for room := range drawn {
		assert.True(t, fixed[room], "%s: its tests draw cases and do not import %s", room, seeded)
	}
}
