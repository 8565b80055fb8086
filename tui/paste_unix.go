//go:build unix

package tui

import "os"

// mostPasted is how much of one paste is taken [bytes]; a whole book would keep the
// library busy for hours, since its time grows with the square of the length.
const mostPasted = 64 << 10

// What a terminal puts before and after what is pasted ("bracketed paste" of xterm, from
// memory).
const (
	pasteBegins = "\x1b[200~"
	pasteEnds   = "\x1b[201~"
)

// A keyboard is a terminal's input, with no paste longer than may be. It is an
// [os.File] to the library, which waits for it as for one.
type keyboard struct {
	*os.File
	matched int // bytes of the mark looked for that came last
	pasting bool
	taken   int  // of the paste [bytes]
	full    bool // what comes of the paste is left out
}

// Read reads keys. What is beyond what is taken of a paste it reads over by itself: the
// library goes through the whole paste again at each read that it sees.
func (k *keyboard) Read(p []byte) (int, error) {
	for {
		room := len(p)
		if k.full {
			room -= len(pasteEnds) - 1 // the mark of the end, shown whole, may have begun in an earlier read
		}
		in := make([]byte, room)
		n, err := k.File.Read(in)
		if n = copy(p, k.cut(in[:max(n, 0)])); n > 0 || err != nil {
			return n, err
		}
	}
}

// cut is what is taken of what came.
func (k *keyboard) cut(in []byte) (out []byte) {
	for _, b := range in {
		mark := pasteBegins
		if k.pasting {
			mark = pasteEnds
		}
		switch b {
		case mark[k.matched]:
			k.matched++
		case mark[0]:
			k.matched = 1
		default:
			k.matched = 0
		}
		ended := k.matched == len(mark)
		k.full = k.full || k.pasting && k.taken >= mostPasted && k.matched <= 1 // not within a mark
		switch {
		case !k.full:
			out = append(out, b)
			k.taken++
		case ended:
			out = append(out, pasteEnds...)
		}
		if ended {
			k.pasting, k.matched, k.taken, k.full = !k.pasting, 0, 0, false
		}
	}
	return out
}
