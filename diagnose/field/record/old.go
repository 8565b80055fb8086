package record

import (
	"bytes"
	_ "embed"
	"slices"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/field/visiting"
)

//go:embed old.toml
var oldFile []byte

// meanings are old.toml.
type meanings struct {
	Itself []string
	Reason map[string]string
	About  map[string]string
	Done   map[string][]string
	Chosen map[string]map[string]string
}

var old = sync.OnceValue(func() meanings {
	var m meanings
	if err := toml.NewDecoder(bytes.NewReader(oldFile)).DisallowUnknownFields().Decode(&m); err != nil {
		panic("record: old.toml: " + err.Error()) // the file is part of the program
	}
	return m
})

// name gives an answer the ids of what it says in words alone. One that has them, written
// by a later program in an old journal, stays as it is.
func (m meanings) name(a *visiting.Answer) {
	if a == nil {
		return
	}
	if a.Why == "" && (a.Kind == visiting.Cannot || a.Kind == visiting.Stop) {
		a.Why = m.Reason[a.Reason]
	}
	if a.About != "" || len(a.Chosen) > 0 {
		return
	}
	for _, text := range a.Labels {
		if id, ok := m.About[text]; ok && m.Chosen[a.Step] == nil {
			a.About = id
			return
		}
		a.Chosen = append(a.Chosen, m.chosen(a.Step, text)...)
	}
}

// chosen are the ids of one choice or check of a step: one, or those of all repairs that
// were told by the same text. One that is not known is "".
func (m meanings) chosen(step, text string) []string {
	if slices.Contains(m.Itself, step) {
		return []string{text}
	}
	if id, ok := m.Chosen[step][text]; ok {
		return []string{id}
	}
	if keys, ok := m.Done[text]; ok && strings.HasPrefix(step, "mended") {
		return keys
	}
	for like, id := range m.Chosen[step] {
		if alike(like, text) {
			return []string{id}
		}
	}
	return []string{""}
}

// alike reports whether text is like a text in which an asterisk stands for anything.
func alike(like, text string) bool {
	parts := strings.Split(like, "*")
	if len(parts) == 1 || !strings.HasPrefix(text, parts[0]) {
		return false
	}
	text = text[len(parts[0]):]
	for _, p := range parts[1 : len(parts)-1] {
		i := strings.Index(text, p)
		if i < 0 {
			return false
		}
		text = text[i+len(p):]
	}
	return strings.HasSuffix(text, parts[len(parts)-1])
}
