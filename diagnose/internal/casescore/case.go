package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/tools/txtar"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A knownCase is one case with its truth.
type knownCase struct {
	id       string
	siteTOML string
	input    belief.Input
	truth    truth
}

// truth is the content of truth.json.
type truth struct {
	Conditions []condition.ID `json:"conditions"`
	Suspect    []reading.Key  `json:"suspect"`
	State      struct {
		Daylight    bool    `json:"daylight"`
		Charging    bool    `json:"charging"`
		Regulating  bool    `json:"regulating"`
		LoadsCut    *bool   `json:"loads_cut"`
		ChargeLevel float64 `json:"charge_level"`
		SpareW      float64 `json:"spare_w"`
	} `json:"state"`
	Note string `json:"note"`
}

// lucky reports whether the fault was arranged to act at the moment of the visit.
func (t *truth) lucky() bool { return slices.Contains(strings.Split(t.Note, "; "), "lucky") }

func (t *truth) sound() bool { return slices.Equal(t.Conditions, []condition.ID{condition.Sound}) }

// archiveName is the file that holds all cases of a folder, where there is one.
const archiveName = "cases.txtar"

// load reads the cases of a folder, or of the archive in it; only the one of that id, ""
// for all.
func load(folder, only string) ([]knownCase, error) {
	cases, err := loadFrom(os.DirFS(folder), only)
	if archive := filepath.Join(folder, archiveName); err == nil && len(cases) == 0 {
		var a *txtar.Archive
		if a, err = txtar.ParseFile(archive); errors.Is(err, fs.ErrNotExist) {
			return nil, errors.New("no cases in " + folder)
		}
		var files fs.FS
		if err == nil {
			files, err = txtar.FS(a)
		}
		if err == nil {
			cases, err = loadFrom(files, only)
		}
	}
	if err == nil && len(cases) == 0 {
		err = errors.New("no cases in " + folder)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", folder, err)
	}
	return cases, nil
}

func loadFrom(files fs.FS, only string) ([]knownCase, error) {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, err
	}
	var cases []knownCase
	for _, e := range entries {
		if !e.IsDir() || only != "" && e.Name() != only {
			continue
		}
		c, err := loadCase(files, e.Name())
		if err != nil {
			return nil, err
		}
		cases = append(cases, c)
	}
	return cases, nil
}

func loadCase(files fs.FS, id string) (knownCase, error) {
	c := knownCase{id: id}
	name := id + "/site.toml"
	data, err := fs.ReadFile(files, name)
	if err != nil {
		return c, err
	}
	c.siteTOML = string(data)
	if c.input.Site, err = site.Parse(name, data); err != nil {
		return c, err
	}
	name = id + "/readings.toml"
	if data, err = fs.ReadFile(files, name); err != nil {
		return c, err
	}
	if c.input.Readings, err = reading.Parse(name, data, c.input.Site); err != nil {
		return c, err
	}
	name = id + "/truth.json"
	if data, err = fs.ReadFile(files, name); err != nil {
		return c, err
	}
	if err := json.Unmarshal(data, &c.truth); err != nil {
		return c, fmt.Errorf("%s: %w", name, err)
	}
	return c, nil
}
