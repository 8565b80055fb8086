package tomlfile

import (
	"bytes"
	"sort"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A position is where a key stands, and everything below it.
type position struct {
	line  int
	keys  map[string]*position
	items []*position // for an array of tables

	entry  span // from the key to the end of its value; empty for what has no "="
	value  span
	header int  // where the line of a [table] begins, -1 for what has none
	own    int  // where the lines of a [table] itself end, without its tables below
	end    int  // where the lines of a [table] and those below it end
	inline bool // stands within another value
}

// A span is bytes of the text, the end excluded.
type span struct{ from, to int }

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
	l.size = len(data)
	root := &position{line: 1}
	table, chain := root, []*position{root}
	l.parser.Reset(data)
	for l.parser.NextExpression() {
		switch e := l.parser.Expression(); e.Kind {
		case unstable.Table:
			chain = l.descend(root, e.Key())
			table = chain[len(chain)-1].latest()
			l.opens(table, chain, e)
		case unstable.ArrayTable:
			chain = l.descend(root, e.Key())
			array := chain[len(chain)-1]
			table = &position{line: l.line(e)}
			array.items = append(array.items, table)
			l.opens(table, chain, e)
		case unstable.KeyValue:
			l.keyValue(table, e)
			end := l.lineEnd(int(e.Raw.Offset + e.Raw.Length))
			table.own, table.end = end, end
			for _, p := range chain {
				p.end, p.latest().end = end, end
			}
		}
	}
	return root
}

type locator struct {
	parser unstable.Parser
	ends   []int // offsets of the line feeds
	size   int
}

// opens notes that the header e of a table, the last of chain, begins.
func (l *locator) opens(table *position, chain []*position, e *unstable.Node) {
	key := e.Key()
	key.Next()
	at := int(key.Node().Raw.Offset)
	table.header, table.own = l.lineStart(at), l.lineEnd(at)
	table.end = table.own
	for _, p := range chain {
		p.end, p.latest().end = table.own, table.own
	}
}

// lineStart and lineEnd are where the line of an offset begins, and where the
// next one does.
func (l *locator) lineStart(offset int) int {
	if i := sort.SearchInts(l.ends, offset); i > 0 {
		return l.ends[i-1] + 1
	}
	return 0
}

func (l *locator) lineEnd(offset int) int {
	if i := sort.SearchInts(l.ends, offset); i < len(l.ends) {
		return l.ends[i] + 1
	}
	return l.size
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

// descend follows a dotted key from p, making what is not there yet, and gives
// the way it went. On it an array of tables stands for its latest table, as TOML
// has it.
func (l *locator) descend(p *position, key unstable.Iterator) []*position {
	way := []*position{p}
	for key.Next() {
		p = p.latest()
		name := string(key.Node().Data)
		below, ok := p.keys[name]
		if !ok {
			below = &position{line: l.lineOf(key.Node()), header: noHeader}
			if p.keys == nil {
				p.keys = map[string]*position{}
			}
			p.keys[name] = below
		}
		p = below
		way = append(way, p)
	}
	return way
}

const noHeader = -1

func (p *position) latest() *position {
	if n := len(p.items); n > 0 {
		return p.items[n-1]
	}
	return p
}

func (l *locator) keyValue(table *position, e *unstable.Node) {
	way := l.descend(table, e.Key())
	p := way[len(way)-1]
	raw := e.Raw
	p.entry = span{int(raw.Offset), int(raw.Offset + raw.Length)}
	p.value = span{l.valueStart(e), p.entry.to}
	p.inline = table.inline || table.entry != (span{})
	l.value(p, e.Value())
}

// valueStart is where the value of an entry begins: behind the "=" behind its key.
func (l *locator) valueStart(e *unstable.Node) int {
	var end uint32
	for key := e.Key(); key.Next(); {
		end = key.Node().Raw.Offset + key.Node().Raw.Length
	}
	data := l.parser.Data()[end:]
	behind := bytes.IndexByte(data, '=') + 1
	for behind < len(data) && (data[behind] == ' ' || data[behind] == '\t') {
		behind++
	}
	return int(end) + behind
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
			item := &position{line: p.line, header: noHeader, inline: true}
			l.value(item, it.Node())
			p.items = append(p.items, item)
		}
	}
}

var byteOrderMark = []byte("\ufeff")

// withoutMark is data without the byte order mark some editors write.
func withoutMark(data []byte) []byte { return bytes.TrimPrefix(data, byteOrderMark) }
