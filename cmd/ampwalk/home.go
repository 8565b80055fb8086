package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/review"
)

// home is what was said of a visit of the book, by the reviews beside it.
func (b *book) home(v *visiting.Visit) desk.Home {
	content, list := b.said(v.Head().ID)
	if len(list) == 0 {
		return desk.Home{}
	}
	names, err := b.readNames("", b.dir)
	if err != nil {
		b.warn(err.Error())
	}
	doubts := map[string]string{}
	for _, d := range review.Verify(v.Head().ID, content.Hashes, list, names, nil) {
		doubts[d.Entry.Hash] = fmt.Sprintf(words().Review.DoesNotCount, d.Cause)
	}
	return desk.HomeOf(v, content.Fingerprint(), list, func(e review.Entry) string {
		if names.None() {
			return words().Review.NotChecked
		}
		return doubts[e.Hash]
	})
}

// said are the reviews beside the visit of an id, with its journal; none where there
// is no such file.
func (b *book) said(id string) (record.Content, []review.Entry) {
	path := filepath.Join(b.dir, id)
	text, err := wholefile.Read(path+review.Suffix, wholefile.Journal)
	if errors.Is(err, fs.ErrNotExist) {
		return record.Content{}, nil
	}
	var list []review.Entry
	if err == nil {
		list, err = review.Parse(text)
	}
	var content record.Content
	if text, errRead := wholefile.Read(path+record.Suffix, wholefile.Journal); errRead != nil {
		err = errors.Join(err, errRead)
	} else if c, errParse := record.Parse(text); errParse != nil {
		err = errors.Join(err, errParse)
	} else {
		content = c
	}
	if err != nil {
		b.warn(fmt.Sprintf(words().Failed.Reviews, id, err))
	}
	if len(content.Entries) == 0 {
		return content, nil
	}
	return content, list
}

// sentBack reports whether a visit that ended came home with a question that nobody
// has answered yet.
func (b *book) sentBack(id string) bool {
	content, list := b.said(id)
	return len(list) > 0 && review.StateOf(true, content.Fingerprint(), list) == review.SentBack
}
