package main

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
)

// A memory keeps the results of inferences in a folder. An inference takes up to
// a second, and a print needs one for each reading of the visit, most of which
// were made while the visit went on. A result follows from the input and the
// program alone, so its file is named by a hash of both: it can never belong to
// other answers or another build, and any of the files can be deleted.
type memory struct {
	infer visiting.Inferrer
	dir   string // "": nothing is kept
	miss  func() // called before each inference; may be nil
}

// remembering is the inference, with what it gave before.
func (a *app) remembering() memory { return memory{infer: a.infer, dir: a.memory} }

// memoryDir is the platform's folder for what can be made again, "" without one.
func memoryDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "ampwalk")
}

// Infer is a [visiting.Inferrer].
func (m memory) Infer(in belief.Input) (*belief.Result, error) {
	name, named := m.name(in)
	if named {
		if r, err := recall(name); err == nil {
			return r, nil
		}
	}
	if m.miss != nil {
		m.miss()
	}
	r, err := m.infer(in)
	if err == nil && named {
		_ = keep(name, r) // a folder that cannot be written to costs time only
	}
	return r, err
}

// thisProgram is the hash of the running program's file.
var thisProgram = sync.OnceValues(func() ([]byte, error) {
	path, err := os.Executable()
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	h := sha256.New()
	_, err = io.Copy(h, f)
	return h.Sum(nil), err
})

// name is the file of the result for an input.
func (m memory) name(in belief.Input) (string, bool) {
	if m.dir == "" {
		return "", false
	}
	by, err := thisProgram()
	text, errText := json.Marshal(in)
	if err != nil || errText != nil {
		return "", false
	}
	sum := sha256.Sum256(append(bytes.Clone(by), text...))
	return filepath.Join(m.dir, hex.EncodeToString(sum[:])+remembered), true
}

const (
	remembered = ".belief"
	// maxRemembered bounds the folder: some two hundred visits, 40 MB.
	maxRemembered = 5000
)

var errBroken = datafile.Error(func() string { return words().Failed.Broken })

// recall reads a result: a hash of the rest, then the result.
func recall(name string) (*belief.Result, error) {
	data, err := wholefile.Read(name, wholefile.Form)
	if err != nil {
		return nil, err
	}
	if len(data) < sha256.Size {
		return nil, errBroken
	}
	if sum := sha256.Sum256(data[sha256.Size:]); !bytes.Equal(sum[:], data[:sha256.Size]) {
		return nil, errBroken
	}
	r := new(belief.Result)
	return r, gob.NewDecoder(bytes.NewReader(data[sha256.Size:])).Decode(r)
}

// keep writes a result, whole or not at all.
func keep(name string, r *belief.Result) error {
	var text bytes.Buffer
	if err := gob.NewEncoder(&text).Encode(r); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(name), unfinishedFile)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(text.Bytes())
	_, err = f.Write(append(sum[:], text.Bytes()...))
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// forget deletes what was remembered longest ago, beyond most results, and what
// a killed program left half written.
func (m memory) forget(most int) {
	files, err := os.ReadDir(m.dir)
	if err != nil || len(files) <= most {
		return
	}
	age := func(f os.DirEntry) int64 {
		info, err := f.Info()
		if err != nil {
			return 0
		}
		return info.ModTime().UnixNano()
	}
	slices.SortFunc(files, func(a, b os.DirEntry) int { return cmp.Compare(age(a), age(b)) })
	for _, f := range files[:len(files)-most] {
		if ext := filepath.Ext(f.Name()); ext == remembered || strings.HasPrefix(f.Name(), ".ampwalk-") {
			_ = os.Remove(filepath.Join(m.dir, f.Name()))
		}
	}
}
