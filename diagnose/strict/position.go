package strict

import (
	"bytes"
	"sort"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A position is the line of a key and of everything below it.
type position struct {
	line  int
	keys  map[string]*position
	items []*position // for an array of tables
}

// at is the position of a key below p; where the file has none, p's own.
func (p *position) at(name string) *position {
	if below, ok := p.keys[name]; ok {
		return below
	}
	return p
}

// item is the position of the i-th table of an array of tables.
func (p *position) item(i int) *position {
	if i < len(p.items) {
		return p.items[i]
	}
	return p
}

// locate finds the line of every key in a valid TOML document.
func locate(data []byte) *position {
	l := locator{}
	for i, b := range data {
		if b == '\n' {
			l.ends = append(l.ends, i)
		}
	}
	root := &position{line: 1}
	table := root
	l.parser.Reset(data)
	for l.parser.NextExpression() {
		switch e := l.parser.Expression(); e.Kind {
		case unstable.Table:
			table = l.descend(root, e.Key()).latest()
		case unstable.ArrayTable:
			array := l.descend(root, e.Key())
			table = &position{line: l.line(e)}
			array.items = append(array.items, table)
		case unstable.KeyValue:
			l.keyValue(table, e)
		}
	}
	return root
}

type locator struct {
	parser unstable.Parser
	ends   []int // offsets of the line feeds
}

// line is the line on which the key of a table or of a value begins.
func (l *locator) line(e *unstable.Node) int {
	key := e.Key()
	key.Next()
	return l.lineOf(key.Node())
}

func (l *locator) lineOf(key *unstable.Node) int {
	return 1 + sort.SearchInts(l.ends, int(key.Raw.Offset))
}

// descend follows a dotted key from p, making what is not there yet. On its
// way an array of tables stands for its latest table, as TOML has it.
func (l *locator) descend(p *position, key unstable.Iterator) *position {
	for key.Next() {
		p = p.latest()
		name := string(key.Node().Data)
		below, ok := p.keys[name]
		if !ok {
			below = &position{line: l.lineOf(key.Node())}
			if p.keys == nil {
				p.keys = map[string]*position{}
			}
			p.keys[name] = below
		}
		p = below
	}
	return p
}

func (p *position) latest() *position {
	if n := len(p.items); n > 0 {
		return p.items[n-1]
	}
	return p
}

func (l *locator) keyValue(table *position, e *unstable.Node) {
	l.value(l.descend(table, e.Key()), e.Value())
}

// value goes on into inline tables and arrays of them.
func (l *locator) value(p *position, v *unstable.Node) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			l.keyValue(p, it.Node())
		}
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			item := &position{line: p.line}
			l.value(item, it.Node())
			p.items = append(p.items, item)
		}
	}
}

var byteOrderMark = []byte("\ufeff")

// withoutMark is data without the byte order mark some editors write.
func withoutMark(data []byte) []byte { return bytes.TrimPrefix(data, byteOrderMark) }
