package document

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// visible is a line as a PDF shows it, glyph by glyph from the left: accents
// joined to their letters, Arabic letters in the form of their place, what runs
// from the right turned round, and noGlyph for what the fonts lack.
func visible(line string) string {
	plain := true
	for _, r := range line {
		plain = plain && r < 0x100
	}
	if plain {
		return line
	}
	runes := fromLeft(joined([]rune(norm.NFC.String(line))))
	out := runes[:0]
	for _, r := range runes {
		switch {
		case r == '\u200c' || r == '\u200d': // the joiners have done their work
		case r > 0xfffe || !drawable()[r]:
			out = append(out, noGlyph)
		default:
			out = append(out, r)
		}
	}
	return string(out)
}

// forms are the four shapes of an Arabic letter; a letter that does not join the
// next one has the first two only.
type forms struct{ alone, last, first, middle rune }

// The presentation forms stand in the code charts letter by letter, each alone,
// last, first and middle; compatibility normalisation tells whose form one is.
//
// Source: Unicode 15, code charts FB50 and FE70.
var letters = sync.OnceValue(func() map[string]forms {
	all := map[string]forms{}
	count := map[string]int{}
	collect := func(from, to rune) {
		for r := from; r <= to; r++ {
			of := norm.NFKC.String(string(r))
			if of == string(r) || strings.HasPrefix(of, " ") || strings.ContainsRune(of, '\u0640') {
				continue
			}
			f := all[of]
			switch count[of] {
			case 0:
				f.alone = r
			case 1:
				f.last = r
			case 2:
				f.first = r
			case 3:
				f.middle = r
			}
			all[of], count[of] = f, count[of]+1
		}
	}
	collect(0xfe80, 0xfefc)
	collect(0xfb50, 0xfbb1)
	collect(0xfbd3, 0xfbe9)
	collect(0xfbfc, 0xfbff)
	return all
})

func joinsNext(r rune) bool {
	return r == '\u0640' || r == '\u200d' || letters()[string(r)].first != 0
}

func joinsBefore(r rune) bool {
	return r == '\u0640' || r == '\u200d' || letters()[string(r)].last != 0
}

// joined gives every Arabic letter the form of its place, and lam with alef the
// one form of both. Marks over letters do not part them.
func joined(text []rune) []rune {
	var out []rune
	next := func(i, step int) rune {
		for i += step; i >= 0 && i < len(text); i += step {
			if !unicode.Is(unicode.Mn, text[i]) {
				return text[i]
			}
		}
		return 0
	}
	for i := 0; i < len(text); i++ {
		f, ok := letters()[string(text[i])]
		if !ok {
			out = append(out, text[i])
			continue
		}
		before, end := joinsNext(next(i, -1)), i
		if i+1 < len(text) {
			if both, ok := letters()[string(text[i:i+2])]; ok {
				f, end = both, i+1
			}
		}
		after := joinsBefore(next(end, 1)) && f.first != 0
		form := f.alone
		switch {
		case before && after && f.middle != 0:
			form = f.middle
		case after:
			form = f.first
		case before && f.last != 0:
			form = f.last
		}
		out = append(out, form)
		i = end
	}
	return out
}

// fromLeft turns round what runs from the right, in a line that itself runs from
// the left: from its first such letter to its last one or the numbers after it.
// Numbers keep their order, brackets are mirrored.
//
// Source: the algorithm of Unicode Standard Annex 9 for one level of embedding.
func fromLeft(text []rune) []rune {
	const (
		none = iota
		left
		right
		number
	)
	class := func(r rune) int {
		p, _ := bidi.LookupRune(r)
		switch p.Class() {
		case bidi.L:
			return left
		case bidi.R, bidi.AL:
			return right
		case bidi.EN, bidi.AN:
			return number
		}
		return none
	}
	out := slices.Clone(text)
	for i := 0; i < len(out); i++ {
		if class(out[i]) != right {
			continue
		}
		end := i + 1
		for j := end; j < len(out) && class(out[j]) != left; j++ {
			if c := class(out[j]); c == right || c == number {
				end = j + 1
			}
		}
		for end < len(out) && (unicode.Is(unicode.Mn, out[end]) || closes(out[i:end], out[end])) {
			end++
		}
		turn(out[i:end], func(r rune) bool { return class(r) == number })
		i = end
	}
	return out
}

// closes reports whether r is the other half of a bracket opened within text.
func closes(text []rune, r rune) bool {
	open, ok := mirror[r]
	if !ok || open > r {
		return false
	}
	depth := 0
	for _, t := range text {
		switch t {
		case open:
			depth++
		case r:
			depth--
		}
	}
	return depth > 0
}

var mirror = map[rune]rune{'(': ')', ')': '(', '[': ']', ']': '[', '<': '>', '>': '<', '«': '»', '»': '«'}

// turn turns text round, but not the numbers in it nor marks with their letters.
func turn(text []rune, number func(rune) bool) {
	slices.Reverse(text)
	for i := 0; i < len(text); i++ {
		if m, ok := mirror[text[i]]; ok {
			text[i] = m
		}
		j := i
		switch {
		case number(text[i]):
			for j+1 < len(text) && (number(text[j+1]) || strings.ContainsRune(".,:/-", text[j+1]) && j+2 < len(text) && number(text[j+2])) {
				j++
			}
		case unicode.Is(unicode.Mn, text[i]):
			for j+1 < len(text) && unicode.Is(unicode.Mn, text[j]) {
				j++
			}
		}
		slices.Reverse(text[i : j+1])
		i = j
	}
}
