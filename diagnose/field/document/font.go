package document

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"encoding/binary"
	"io"
	"sync"
)

// The fonts of the PDF; they have Latin, Greek, Cyrillic and Arabic letters.
var (
	//go:embed fonts/DejaVuSansCondensed.ttf.gz
	plainPacked []byte
	//go:embed fonts/DejaVuSansCondensed-Bold.ttf.gz
	boldPacked []byte

	plainFont = sync.OnceValue(func() []byte { return unpacked(plainPacked) })
	boldFont  = sync.OnceValue(func() []byte { return unpacked(boldPacked) })

	// FontLicence is the licence of the fonts that PDFs hold.
	//go:embed fonts/LICENSE.txt
	FontLicence string
)

// unpacked is a font as it is; the program holds it in half the room.
func unpacked(packed []byte) []byte {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err == nil {
		var font []byte
		if font, err = io.ReadAll(r); err == nil {
			return font
		}
	}
	panic("document: a font: " + err.Error()) // the file is part of the program
}

// noGlyph stands in the PDF for a character that the fonts do not have.
const noGlyph = '\u25a1'

// drawable are the characters that the plain font has a glyph for.
var drawable = sync.OnceValue(func() map[rune]bool { return charactersOf(plainFont()) })

// charactersOf reads the segments of a font's character map.
//
// Source: OpenType specification 1.9, "cmap", format 4 (from memory).
func charactersOf(font []byte) map[rune]bool {
	has := map[rune]bool{}
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(font[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(font[at:])) }
	for t := range u16(4) {
		entry := 12 + 16*t
		if string(font[entry:entry+4]) != "cmap" {
			continue
		}
		table := u32(entry + 8)
		for i := range u16(table + 2) {
			sub := table + u32(table+4+8*i+4)
			if u16(sub) != 4 {
				continue
			}
			twice := u16(sub + 6)
			ends, starts := sub+14, sub+16+twice
			deltas, offsets := starts+twice, starts+2*twice
			for k := 0; k < twice; k += 2 {
				for r := u16(starts + k); r <= u16(ends+k) && r != 0xffff; r++ {
					glyph := r + u16(deltas+k)
					if o := u16(offsets + k); o != 0 {
						if glyph = u16(offsets + k + o + 2*(r-u16(starts+k))); glyph != 0 {
							glyph += u16(deltas + k)
						}
					}
					if glyph&0xffff != 0 {
						has[rune(r)] = true
					}
				}
			}
		}
	}
	return has
}
