package tui

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The ids of what keys do are those of keys.toml, no more and no less.
func TestKeyWordsFitTheCode(t *testing.T) {
	list, err := filepath.Glob("*.go")
	require.NoError(t, err)
	used, groups := map[string]bool{}, map[string]bool{}
	for _, name := range list {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if f, ok := n.Fun.(*ast.Ident); ok && (f.Name == "as" || f.Name == "bind") {
					if id, ok := literal(t, n.Args[1]); ok {
						used[id] = true
					}
				}
			case *ast.CompositeLit:
				if len(n.Elts) == 2 && strings.Contains(name, "help") { // of a group
					if id, ok := literal(t, n.Elts[0]); ok {
						groups[id] = true
					}
				}
			}
			return true
		})
	}
	assert.Equal(t, slices.Sorted(maps.Keys(keyWords().Key)), slices.Sorted(maps.Keys(used)))
	assert.Equal(t, slices.Sorted(maps.Keys(keyWords().Group)), slices.Sorted(maps.Keys(groups)))
}

// What stands before the lines of a question fits its column, with a space after it.
func TestLabelsFitTheirColumn(t *testing.T) {
	for _, labels := range []any{visitWords().Label, siteWords().Label} {
		v := reflect.ValueOf(labels)
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "Doubtful" {
				assert.Less(t, ansi.StringWidth(v.Field(i).String()), labelW, name)
			}
		}
	}
}

func literal(t *testing.T, e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(lit.Value)
	require.NoError(t, err)
	return text, true
}
