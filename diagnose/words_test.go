package diagnose_test

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// spoken is from how many words on a text is taken for one that a person reads.
const spoken = 3

// unread are the rooms whose texts no user reads, and why.
var unread = map[string]string{
	"diagnose/internal/casemake":          "a tool of the maintainers",
	"diagnose/internal/casescore":         "a tool of the maintainers",
	"diagnose/internal/ledgerload":        "a tool of the maintainers",
	"diagnose/office/ledger/postgrestest": "for tests",
}

// programmers are files with errors that only a programmer sees, since they are about
// the program's own files or its own calls, and files with the marks of a file format.
var programmers = map[string]string{
	"diagnose/field/procedure/build.go":     "mistakes in steps.toml",
	"diagnose/field/procedure/catalogue.go": "mistakes in steps.toml",
	"diagnose/field/procedure/danger.go":    "mistakes in dangers.toml",
	"diagnose/field/procedure/procedure.go": "mistakes in steps.toml",
	"diagnose/inference/belief/infer.go":    "a call without a site",
	"diagnose/physics/site/doubt.go":        "the mark of an assumed figure in a site file",
}

var (
	sqlText  = regexp.MustCompile(`\b(SELECT|INSERT|UPDATE|DELETE|FROM|ORDER BY|CASE WHEN|AND|ELSE)\b|^v\.digest`)
	fileText = regexp.MustCompile(`^\n*\[\[`) // a piece of TOML that is written
	verb     = regexp.MustCompile(`%[-+# 0-9.*\[\]]*[a-zA-Z%]`)
	letter   = regexp.MustCompile(`\pL`)
)

// wordsIn is how many words there are in a text beside its verbs.
func wordsIn(text string) (n int) {
	for _, piece := range strings.Fields(verb.ReplaceAllString(text, " ")) {
		if letter.MatchString(piece) {
			n++
		}
	}
	return n
}

// What people read stands in word files, where someone who does not program can
// proof-read and translate it.
func TestWordsAreData(t *testing.T) {
	found := 0
	for _, p := range packages(t) {
		if unread[p.room] != "" {
			continue
		}
		for name, file := range p.files {
			if programmers[name] != "" {
				found++
				continue
			}
			for _, lit := range literals(file) {
				text, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				if wordsIn(text) >= spoken && !sqlText.MatchString(text) && !fileText.MatchString(text) {
					t.Errorf("%s: %s belongs into a word file", p.fset.Position(lit.Pos()), lit.Value)
				}
			}
		}
	}
	assert.Equal(t, len(programmers), found, "a file with an exception is no longer there")
}

// literals are the texts of a file but those of imports and struct tags, regular
// expressions, and what a panic says.
func literals(file *ast.File) (list []*ast.BasicLit) {
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			return n.Tag == nil // a field with a tag has no other text
		case *ast.CallExpr:
			name := types.ExprString(n.Fun)
			return name != "panic" && name != "regexp.MustCompile"
		case *ast.BasicLit:
			if n.Kind == token.STRING {
				list = append(list, n)
			}
		}
		return true
	})
	return list
}

// The verbs of a text of a word file are as many, and of the kinds, as what the code
// puts into it; and a text that the code asks for is there.
func TestVerbsFitTheCode(t *testing.T) {
	checked := 0
	for _, p := range packages(t) {
		texts := p.wordFields(t)
		for _, file := range p.files {
			ast.Inspect(file, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok {
					return true
				}
				at := p.formatArg(call)
				if at < 0 || call.Ellipsis.IsValid() {
					return true
				}
				for _, text := range p.formats(call.Args[at], texts) {
					checked++
					assert.Empty(t, p.misfit(text, call.Args[at+1:]), "%s: %q", p.fset.Position(call.Pos()), text)
				}
				return true
			})
		}
	}
	assert.Greater(t, checked, 200)
}

// formatArg is which argument of a call is a format, -1 if none is: the text before
// "args ...any".
func (p *pkg) formatArg(call *ast.CallExpr) int {
	sig, ok := p.info.TypeOf(call.Fun).(*types.Signature)
	if !ok || !sig.Variadic() || sig.Params().Len() < 2 {
		return -1
	}
	last := sig.Params().Len() - 1
	if e, ok := sig.Params().At(last).Type().(*types.Slice); !ok || !types.Identical(e.Elem(), types.Universe.Lookup("any").Type()) {
		return -1
	}
	if b, ok := sig.Params().At(last - 1).Type().(*types.Basic); !ok || b.Kind() != types.String || len(call.Args) < last {
		return -1
	}
	return last - 1
}

// formats are what a format is where it has a text of a word file in it, alone or joined
// with others; more than one where a list or a map holds it.
func (p *pkg) formats(e ast.Expr, texts map[*types.Var][]string) (list []string) {
	join, ok := e.(*ast.BinaryExpr)
	if !ok {
		return texts[p.field(e)]
	}
	if p.info.Types[e].Value != nil {
		return nil // no word file has a part in it
	}
	sides := [2][]string{p.formats(join.X, texts), p.formats(join.Y, texts)}
	for i, side := range []ast.Expr{join.X, join.Y} {
		if v := p.info.Types[side].Value; v != nil && v.Kind() == constant.String {
			sides[i] = []string{constant.StringVal(v)}
		}
	}
	for _, left := range sides[0] {
		for _, right := range sides[1] {
			list = append(list, left+right)
		}
	}
	return list
}

// field is the field of a struct that an expression reads, nil if it is none. Of a list
// or a map it is the field that holds it.
func (p *pkg) field(e ast.Expr) *types.Var {
	switch e := e.(type) {
	case *ast.SelectorExpr:
		if s := p.info.Selections[e]; s != nil && s.Kind() == types.FieldVal {
			return s.Obj().(*types.Var)
		}
	case *ast.IndexExpr:
		return p.field(e.X)
	case *ast.ParenExpr:
		return p.field(e.X)
	}
	return nil
}

// misfit says what is wrong with the arguments of a text, "" if nothing is.
func (p *pkg) misfit(text string, args []ast.Expr) string {
	next, most := 0, 0
	for _, v := range verb.FindAllString(text, -1) {
		if strings.HasSuffix(v, "%") {
			continue
		}
		if i := strings.IndexByte(v, '['); i >= 0 { // %[2]d
			next, _ = strconv.Atoi(v[i+1 : strings.IndexByte(v, ']')])
			next--
		}
		next += strings.Count(v, "*")
		if next >= len(args) {
			return fmt.Sprintf("%s has no argument", v)
		}
		if kind := v[len(v)-1]; !fits(kind, p.info.TypeOf(args[next])) {
			return fmt.Sprintf("%s for %s", v, types.ExprString(args[next]))
		}
		next++
		most = max(most, next)
	}
	if most < len(args) {
		return "too many arguments"
	}
	return ""
}

// fits reports whether a verb shows a type as it is meant to.
func fits(verb byte, t types.Type) bool {
	basic, ok := t.Underlying().(*types.Basic)
	switch verb {
	case 'd', 'x', 'c':
		return ok && basic.Info()&types.IsInteger != 0
	case 'f', 'g', 'e':
		return ok && basic.Info()&(types.IsFloat|types.IsUntyped) != 0
	case 's', 'q':
		return ok && basic.Info()&types.IsString != 0 || hasMethod(t, "String") || hasMethod(t, "Error") || isSlice(t)
	case 'w':
		return hasMethod(t, "Error")
	case 'v', 'T', 't':
		return true
	}
	return false
}

func hasMethod(t types.Type, name string) bool {
	obj, _, _ := types.LookupFieldOrMethod(t, true, nil, name)
	_, ok := obj.(*types.Func)
	return ok
}

func isSlice(t types.Type) bool { _, ok := t.Underlying().(*types.Slice); return ok }

// wordFields are the texts of the word files that a package reads, by the fields of
// structs that hold them.
func (p *pkg) wordFields(t *testing.T) map[*types.Var][]string {
	texts := map[*types.Var][]string{}
	for name, file := range p.files {
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			generic, ok := call.Fun.(*ast.IndexExpr)
			if !ok || types.ExprString(generic.X) != "datafile.Read" {
				return true
			}
			literal, ok := call.Args[0].(*ast.BasicLit)
			if !ok { // one of many files alike: they are told as they stand
				return true
			}
			path, err := strconv.Unquote(literal.Value)
			require.NoError(t, err, name)
			var data map[string]any
			require.NoError(t, toml.Unmarshal(read(t, path), &data), path)
			gather(t, path, p.info.TypeOf(generic.Index), data, nil, texts)
			return true
		})
	}
	return texts
}

// gather follows a type and what a file has for it, and puts texts to their fields. A
// text that the file does not have is an error, but within lists, whose entries differ.
func gather(t *testing.T, path string, typ types.Type, data any, held *types.Var, texts map[*types.Var][]string) {
	switch u := typ.Underlying().(type) {
	case *types.Basic:
		if text, ok := data.(string); ok && held != nil {
			texts[held] = append(texts[held], text)
		}
	case *types.Slice:
		list, _ := data.([]any)
		for _, one := range list {
			gather(nil, path, u.Elem(), one, held, texts)
		}
	case *types.Map:
		of, _ := data.(map[string]any)
		for _, one := range of {
			gather(nil, path, u.Elem(), one, held, texts)
		}
	case *types.Struct:
		of, _ := data.(map[string]any)
		for i := range u.NumFields() {
			f := u.Field(i)
			value, ok := lookUp(of, f.Name(), u.Tag(i))
			if b, text := f.Type().Underlying().(*types.Basic); text && b.Kind() == types.String && t != nil {
				assert.True(t, ok && value != "", "%s has no text for %s", path, f.Name())
			}
			gather(t, path, f.Type(), value, f, texts)
		}
	}
}

func lookUp(of map[string]any, name, tag string) (any, bool) {
	if _, rest, ok := strings.Cut(tag, `toml:"`); ok {
		name, _, _ = strings.Cut(rest, `"`)
	}
	for key, value := range of {
		if strings.EqualFold(key, name) {
			return value, true
		}
	}
	return nil, false
}
