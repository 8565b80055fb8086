package main

import (
	"io"
	"path/filepath"

	"ampwalk/diagnose/field/record"
)

// printed writes a visit of the book to new PDF files in this folder, one for
// staff and one for the caretaker. It reads the journal, not the visit under way,
// and so may run beside it.
func (b *book) printed(id string) ([]string, error) {
	quiet := *b.app
	quiet.stderr = io.Discard // the screen is in use
	v, with, err := quiet.onRecord(filepath.Join(b.dir, id+record.Suffix), b.dir)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, reader := range []string{"staff", "caretaker"} {
		p := paper{format: "pdf", reader: reader, size: quiet.usualPaper()}
		text, err := p.of(v, with)
		if err != nil {
			return nil, err
		}
		path, err := writeBeside(".", p.name(v), p.suffix(), text)
		if err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// writeText writes the text of a visit to a new file in this folder.
func writeText(id, text string) (string, error) {
	return writeBeside(".", nameOf(id), ".txt", []byte(text))
}
