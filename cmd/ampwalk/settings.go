package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ampwalk/diagnose/base/wholefile"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/tui"
)

// settings is what the program remembers from one time to the next beside the
// visits, in settingsFile of the data folder.
type settings struct {
	Theme    tui.Theme `toml:"theme" comment:"the looks of the screens: dark, light or sun"`
	Sunlight bool      `toml:"sunlight,omitempty"` // as it was written before there were three
}

// theme is the one that was chosen, else a guess.
func (s settings) theme(getenv func(string) string) tui.Theme {
	switch {
	case s.Theme.Known():
		return s.Theme
	case s.Sunlight:
		return tui.Sunlight
	default:
		return tui.GuessTheme(getenv)
	}
}

const settingsFile = "settings.toml"

// readSettings gives the zero settings where there are none.
func readSettings(dir string) (settings, error) {
	var s settings
	path := filepath.Join(dir, settingsFile)
	data, err := wholefile.Read(path, wholefile.Form)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err == nil {
		err = toml.Unmarshal(data, &s)
	}
	if err != nil {
		return settings{}, fmt.Errorf(words().Failed.Settings, path, err)
	}
	return s, nil
}

// write replaces the settings as a whole.
func (s settings) write(dir string) error {
	data, err := toml.Marshal(s)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	return replace(filepath.Join(dir, settingsFile), 0o600, holding(data))
}
