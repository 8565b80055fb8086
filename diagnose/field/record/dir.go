package record

import (
	"path/filepath"

	"ampwalk/diagnose/base/datafile"
)

// ErrNoDir says that no place for the visits could be found.
var ErrNoDir = datafile.Error(func() string { return words().NoDir })

// Dir is where visits are kept: given, else $AMPWALK_DATA, else the place that
// the system named goos ("linux", "windows", "darwin", …) has for such data.
//
// Source: XDG Base Directory Specification 0.8 for $XDG_DATA_HOME (an own value
// counts only if it is an absolute path); the others are their systems' custom
// (from memory).
func Dir(given, goos string, getenv func(string) string) (string, error) {
	if given != "" {
		return given, nil
	}
	if dir := getenv("AMPWALK_DATA"); dir != "" {
		return dir, nil
	}
	home := getenv("HOME")
	switch {
	case goos == "windows":
		home = getenv("LocalAppData")
		if home != "" {
			return filepath.Join(home, "ampwalk"), nil
		}
	case goos == "darwin" && home != "":
		return filepath.Join(home, "Library", "Application Support", "ampwalk"), nil
	case filepath.IsAbs(getenv("XDG_DATA_HOME")):
		return filepath.Join(getenv("XDG_DATA_HOME"), "ampwalk"), nil
	case home != "":
		return filepath.Join(home, ".local", "share", "ampwalk"), nil
	}
	return "", ErrNoDir
}
