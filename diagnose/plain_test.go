package diagnose_test

import (
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What people read is for those who have English as their second or third language:
// no sentence has more than longestSentence words, and those of a file have at most
// usualSentence on average.
const (
	longestSentence = 25
	usualSentence   = 14.0
)

// technical are keys of data files whose texts no user reads as sentences, or that are
// the exact words of old journals.
var technical = []string{"source", "id", "means", "example", "use"}

// frozen are files whose words must not change.
var frozen = []string{"diagnose/field/record/old.toml"}

func TestSentencesAreShort(t *testing.T) {
	files := 0
	for _, name := range wordFiles(t) {
		var data map[string]any
		require.NoError(t, toml.Unmarshal(read(t, name), &data), name)
		sentences, words := 0, 0
		eachText(data, "", func(key, text string) {
			for _, s := range sentencesOf(text) {
				n := len(strings.Fields(s))
				assert.LessOrEqual(t, n, longestSentence, "%s: %s: %s", name, key, s)
				if n > 2 { // not a label
					sentences, words = sentences+1, words+n
				}
			}
		})
		if sentences > 0 {
			files++
			assert.LessOrEqual(t, float64(words)/float64(sentences), usualSentence, "%s: %d sentences", name, sentences)
		}
	}
	assert.Greater(t, files, 30)
}

// wordFiles are the data files of the program, but those of sites, whose texts are names.
func wordFiles(t *testing.T) (list []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		rel, _ := filepath.Rel(root, name)
		rel = filepath.ToSlash(rel)
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || len(d.Name()) > 2 && d.Name()[0] == '.'):
			return fs.SkipDir
		case filepath.Ext(name) == ".toml" && !strings.HasSuffix(name, ".site.toml") && !slices.Contains(frozen, rel):
			list = append(list, rel)
		}
		return nil
	}))
	return list
}

func eachText(v any, key string, say func(key, text string)) {
	switch v := v.(type) {
	case string:
		say(key, v)
	case []any:
		for _, one := range v {
			eachText(one, key, say)
		}
	case map[string]any:
		for k, one := range v {
			if !slices.Contains(technical, k) {
				eachText(one, strings.TrimPrefix(key+"."+k, "."), say)
			}
		}
	}
}

var endOfSentence = regexp.MustCompile(`[.?!]["')]*(\s+|$)|\n\s*\n|\n\s*-`)

var (
	branch  = regexp.MustCompile(`{{-? *(if|else|end|with|range)[^}]*}}`)
	further = regexp.MustCompile(`\n  .*`) // an example or a table
	filled  = regexp.MustCompile(`{{[^}]*}}`)
)

// sentencesOf cuts a text at full stops and the like, and at the branches of a template;
// what a template fills in is one word.
func sentencesOf(text string) []string {
	text = further.ReplaceAllString(text, "\n")
	text = branch.ReplaceAllString(text, "\n\n")
	return endOfSentence.Split(filled.ReplaceAllString(text, "X"), -1)
}
