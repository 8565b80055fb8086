package main

import (
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"sync"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui"
)

// siteSuffix ends the name of a site file.
const siteSuffix = ".site.toml"

// sites are all that are known: the site files of the current folder, those that
// only visits know, and the demo site. With each go its visits.
func (b *book) sites() []tui.SiteFile {
	visits := b.visitsBySite()
	var list []tui.SiteFile
	names, _ := filepath.Glob("*" + siteSuffix) // the pattern is good
	for _, name := range names {
		list = append(list, withVisits(readSiteFile(name), visits))
	}
	for _, f := range list { // now, since two files may describe one site
		delete(visits, f.Name)
	}
	demo := withVisits(tui.SiteFile{Name: site.Demo().Name, Demo: true, Site: site.Demo()}, visits)
	delete(visits, demo.Name)
	for _, name := range slices.Sorted(maps.Keys(visits)) {
		f := withVisits(tui.SiteFile{Name: name}, visits)
		if text, err := b.siteText(f); err == nil {
			f.Site, f.Problem = site.Parse("site file", text)
		}
		if f.Site != nil {
			list = append(list, f)
		}
	}
	return append(list, demo)
}

// openSite reads a site file, with its visits.
func (b *book) openSite(path string) tui.SiteFile {
	return withVisits(readSiteFile(path), b.visitsBySite())
}

func readSiteFile(path string) tui.SiteFile {
	text, err := read(path)
	if err != nil {
		return tui.SiteFile{Path: path, Problem: err}
	}
	s, err := site.Parse(path, text)
	if err == nil {
		return tui.SiteFile{Path: path, Name: s.Name, Site: s}
	}
	f := tui.SiteFile{Path: path, Problem: err}
	if d, broken := siteform.Open(path, text); broken == nil {
		f.Name = d.Name()
		f.Incomplete = len(d.AllWrong())+len(d.Elsewhere()) == 0
	}
	return f
}

// visitsBySite are the visits that can be read, by the name of their site, the
// one last worked on first.
func (b *book) visitsBySite() map[string][]record.Item {
	items, err := b.shelf.Glance()
	if err != nil {
		b.warn(err.Error())
	}
	by := map[string][]record.Item{}
	for _, it := range items {
		if it.SiteName != "" && it.Readable() {
			by[it.SiteName] = append(by[it.SiteName], it)
		}
	}
	return by
}

func withVisits(f tui.SiteFile, visits map[string][]record.Item) tui.SiteFile {
	for _, it := range visits[f.Name] {
		if f.Last == nil {
			f.Last = &it
		}
		if f.Finished == nil && it.Finished {
			f.Finished = &it
		}
	}
	return f
}

// siteText is the text of a site's file; of one that only visits know, as the
// last of them has it.
func (b *book) siteText(f tui.SiteFile) ([]byte, error) {
	switch {
	case f.Demo:
		return site.DemoTOML(), nil
	case f.Path != "":
		return read(f.Path)
	case f.Last == nil:
		return nil, errors.New(words().Wrong.NoSuchSite)
	}
	entries, _, err := record.Read(filepath.Join(b.dir, f.Last.ID+record.Suffix))
	if err != nil {
		return nil, err
	}
	return []byte(entries[0].Head.SiteTOML), nil
}

// about is what is worth knowing of a site before going there.
func (b *book) about(f tui.SiteFile) (tui.About, error) {
	var about tui.About
	if text, err := b.siteText(f); err == nil {
		if d, err := siteform.Open(f.Path, text); err == nil {
			about.Assumed = d.Assumptions()
		}
	}
	if f.Site != nil {
		about.Remarks = visiting.Remarks(f.Site)
	}
	if f.Finished == nil {
		return about, nil
	}
	left, err := b.leftBy(f.Finished)
	about.Left = left
	return about, err
}

// lefts is what finished visits left to be done: each takes an inference, so it
// is worked out once.
type lefts struct {
	mu   sync.Mutex
	byID map[string]*visiting.Left
}

func (b *book) leftBy(it *record.Item) (*visiting.Left, error) {
	b.lefts.mu.Lock()
	defer b.lefts.mu.Unlock()
	key := it.ID + it.LastAt.String()
	if left, ok := b.lefts.byID[key]; ok {
		return left, nil
	}
	entries, _, err := record.Read(filepath.Join(b.dir, it.ID+record.Suffix))
	if err != nil {
		return nil, err
	}
	v, err := visiting.Resume(entries, nil)
	if err != nil {
		return nil, err
	}
	if err := b.remembering().believe(v); err != nil {
		return nil, err
	}
	left := visiting.LeftBy(v)
	if b.lefts.byID == nil {
		b.lefts.byID = map[string]*visiting.Left{}
	}
	b.lefts.byID[key] = &left
	return &left, nil
}
