package ledger

import "strings"

// storable is text as both databases take it: UTF-8 without the character 0.
func storable(text string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(text, "\ufffd"), "\x00", "\ufffd")
}

func nonNil(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}
