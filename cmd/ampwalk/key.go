package main

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"time"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/office/signature"
)

// keyFile is what a person signs with, in the data folder unless said otherwise.
const keyFile = "signing.key"

// minPassphrase is the fewest characters of a passphrase for a new key.
const minPassphrase = 8

// keyNew makes a key to sign with.
func (a *app) keyNew(f *pflag.FlagSet) action {
	who := f.String("who", "", "")
	file := f.String("key", "", "")
	from := f.String("passphrase-file", "", "")
	data := f.String("data", "", "")
	return func(c *cobra.Command, _ []string) error {
		if *who == "" {
			return a.wrong(c, "%s", words().Wrong.NoWho)
		}
		path, err := a.keyPath(*file, *data)
		if err != nil {
			return err
		}
		if _, err := os.Lstat(path); err == nil {
			return inputError{fmt.Errorf(words().Wrong.KeyThere, plaintext.Clean(path))}
		}
		passphrase, err := a.newPassphrase(*from)
		if err != nil {
			return err
		}
		k, err := signature.New(rand.Reader)
		if err != nil {
			return err
		}
		sealed, err := k.Seal(passphrase, *who)
		if err != nil {
			return err
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		out, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		if err := finish(out, holding(sealed)); err != nil {
			return err
		}
		if err := a.written(path); err != nil {
			return err
		}
		_, err = fmt.Fprintf(a.stdout, words().Key.Lines+"\n\n[[person]]\nname = %q\nkey = %q\nfrom = %s\n",
			plaintext.Clean(*who), k.Public(), a.now().UTC().Truncate(24*time.Hour).Format(time.RFC3339))
		return err
	}
}

// keyShow shows what others know a key by.
func (a *app) keyShow(f *pflag.FlagSet) action {
	file := f.String("key", "", "")
	data := f.String("data", "", "")
	return func(_ *cobra.Command, _ []string) error {
		path, err := a.keyPath(*file, *data)
		if err != nil {
			return err
		}
		sealed, err := read(path)
		if err != nil {
			return err
		}
		public, err := signature.PublicOf(sealed)
		if err != nil {
			return inputError{fmt.Errorf("%s: %w", plaintext.Clean(path), err)}
		}
		_, err = fmt.Fprintf(a.stdout, "%s\n%s\n", public, public.Fingerprint())
		return err
	}
}

// keyCheck opens a key, so that a person knows that the passphrase is remembered.
func (a *app) keyCheck(f *pflag.FlagSet) action {
	file := f.String("key", "", "")
	from := f.String("passphrase-file", "", "")
	data := f.String("data", "", "")
	return func(_ *cobra.Command, _ []string) error {
		path, err := a.keyPath(*file, *data)
		if err != nil {
			return err
		}
		k, err := a.openKey(path, *from)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(a.stdout, words().Key.Opens+"\n", k.Public().Fingerprint())
		return err
	}
}

// keyPath is the file of a key: as given, else as the environment says, else in
// the data folder.
func (a *app) keyPath(given, data string) (string, error) {
	if given == "" {
		given = a.getenv("AMPWALK_KEY")
	}
	if given != "" {
		return given, nil
	}
	dir, err := a.dataDir(data)
	return filepath.Join(dir, keyFile), err
}

// openKey opens the key in a file; the passphrase is in the file from, else asked for.
func (a *app) openKey(path, from string) (signature.Key, error) {
	sealed, err := read(path)
	if err != nil {
		return signature.Key{}, err
	}
	if info, err := os.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		a.warn(fmt.Sprintf(words().Key.Readable, path))
	}
	var passphrase []byte
	if from != "" {
		passphrase, err = readPassphrase(from)
	} else {
		passphrase, err = a.secret("Passphrase: ")
	}
	if err != nil {
		return signature.Key{}, err
	}
	k, err := signature.Open(sealed, passphrase)
	if err != nil {
		return signature.Key{}, inputError{fmt.Errorf("%s: %w", plaintext.Clean(path), err)}
	}
	return k, nil
}

// newPassphrase is one for a new key, asked for twice, and again where it does not do:
// what is typed next must never land in the shell.
func (a *app) newPassphrase(from string) ([]byte, error) {
	if from != "" {
		p, err := readPassphrase(from)
		return p, errors.Join(err, longEnough(p))
	}
	for {
		first, err := a.secret(fmt.Sprintf(words().Key.NewPassphrase, minPassphrase))
		if err != nil {
			return nil, err
		}
		if err := longEnough(first); err != nil {
			fmt.Fprintln(a.stderr, err)
			continue
		}
		again, err := a.secret(words().Key.Again)
		if err != nil || bytes.Equal(first, again) {
			return first, err
		}
		fmt.Fprintln(a.stderr, words().Wrong.NotTheSame)
	}
}

func longEnough(passphrase []byte) error {
	if utf8.RuneCount(passphrase) < minPassphrase {
		return inputError{fmt.Errorf(words().Wrong.TooShort, minPassphrase)}
	}
	return nil
}

// readPassphrase is the first line of a file.
func readPassphrase(file string) ([]byte, error) {
	f, err := os.Open(file) // it may be a pipe, so that the passphrase is on no disk
	if err != nil {
		return nil, inputError{err}
	}
	defer f.Close() // read only: nothing to lose
	text, err := wholefile.All(f, wholefile.Form)
	if err != nil {
		return nil, inputError{err}
	}
	line, _, _ := bytes.Cut(text, []byte("\n"))
	return bytes.TrimSuffix(line, []byte("\r")), nil
}

// secret asks for something that is not shown as it is typed.
func (a *app) secret(prompt string) ([]byte, error) {
	in, ok := a.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return nil, inputError{errors.New(words().Wrong.NoTerminal)}
	}
	before, err := term.GetState(int(in.Fd()))
	if err != nil {
		return nil, err
	}
	type answer struct {
		text []byte
		err  error
	}
	answered, interrupted := make(chan answer, 1), make(chan os.Signal, 1)
	signal.Notify(interrupted, os.Interrupt) // or the terminal would stay silent
	defer signal.Stop(interrupted)
	fmt.Fprint(a.stderr, prompt)
	go func() {
		text, err := term.ReadPassword(int(in.Fd()))
		answered <- answer{text, err}
	}()
	defer fmt.Fprintln(a.stderr)
	select {
	case got := <-answered:
		if errors.Is(got.err, io.EOF) {
			return nil, errInterrupted
		}
		return got.text, got.err
	case <-interrupted:
		return nil, errors.Join(errInterrupted, term.Restore(int(in.Fd()), before))
	}
}

// readNames reads the names file: as given, else as the environment says, else in
// the data folder, where there may be none.
func (a *app) readNames(given, data string) (signature.Names, error) {
	if given == "" {
		given = a.getenv("AMPWALK_NAMES")
	}
	path := given
	if path == "" {
		dir, err := a.dataDir(data)
		if err != nil {
			return signature.Names{}, err
		}
		path = filepath.Join(dir, namesFile)
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return signature.Names{}, nil
		}
	}
	text, err := read(path)
	if err != nil {
		return signature.Names{}, err
	}
	names, err := signature.ParseNames(path, text)
	if err != nil {
		return signature.Names{}, inputError{err}
	}
	return names, nil
}

// namesFile binds names to keys, in the data folder unless said otherwise.
const namesFile = "names.toml"
