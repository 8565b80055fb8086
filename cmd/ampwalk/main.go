package main

import (
	_ "ampwalk/cmd/ampwalk/background" // before bubbletea

	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{stdin: stdin, stdout: stdout, stderr: stderr, getenv: os.Getenv, now: time.Now, infer: visiting.Steady(belief.Infer), memory: memoryDir(), pace: paceOfInference}
	return a.run(args)
}

// The exit codes.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2 // wrong arguments or bad input
	exitInterrupted = 130
)

// An app is the command with what it has of the world.
type app struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	getenv         func(string) string
	now            func() time.Time
	infer          visiting.Inferrer
	memory         string // folder of results remembered, "" for none
	pace           func() // called before a command that infers after every answer; may be nil
	notPrinted     error  // why some result could not be printed
}

var (
	errUsage       = errors.New("wrong arguments") // what is wrong was said already
	errFailed      = errors.New("failed")          // so was what failed
	errInterrupted = errors.New("interrupted")
)

// An inputError is bad input: exit code 2.
type inputError struct{ error }

func (e inputError) Unwrap() error { return e.error }

func (a *app) run(args []string) int {
	root := a.commands()
	if len(args) > 0 && strings.HasPrefix(args[0], cobra.ShellCompRequestCmd) {
		root.SetArgs(args)
	} else {
		root.SetArgs(twoDashes(root, args))
	}
	err := root.Execute()
	if err == nil {
		err = a.notPrinted
	}
	if input := (inputError{}); errors.As(err, &input) {
		a.complain(err.Error())
		return exitUsage
	}
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errUsage):
		return exitUsage
	case errors.Is(err, errFailed):
		return exitFailed
	case errors.Is(err, errInterrupted):
		return exitInterrupted
	default:
		a.warn(err.Error())
		return exitFailed
	}
}

// complain prints what is wrong. Each message passes here, or by tell, so that none of
// it commands the terminal: names of files and texts of strangers are in many.
func (a *app) complain(text string) { fmt.Fprintln(a.stderr, plaintext.CleanLines(text)) }

// warn is complain of what is not the fault of an input.
func (a *app) warn(text string) { a.complain("ampwalk: " + text) }

// tell prints a line of the word file.
func (a *app) tell(format string, args ...any) {
	a.printLine(plaintext.CleanLines(fmt.Sprintf(format, args...)))
}

// printLine prints a line. What could not be printed makes the command fail at its end.
func (a *app) printLine(text string) {
	if _, err := fmt.Fprintln(a.stdout, text); err != nil && a.notPrinted == nil {
		a.notPrinted = err
	}
}

func (a *app) version(*pflag.FlagSet) action {
	return func(*cobra.Command, []string) error {
		text := "ampwalk " + cmp.Or(version(), words().Man.FromSource)
		if r, changed := revision(); r != "" && !strings.Contains(text, r) {
			text += fmt.Sprintf(words().Man.Revision, r)
			if changed {
				text += words().Man.Changed
			}
		}
		_, err := fmt.Fprintln(a.stdout, text)
		return err
	}
}

// version is the program's, "" where the build does not know it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	return info.Main.Version
}

// revision is that of the source in its repository, "" where the build does not know it,
// and whether the source was changed after it.
func revision() (short string, changed bool) {
	short = setting("vcs.revision")
	return short[:min(len(short), 12)], setting("vcs.modified") == "true" // 12 as in the versions of modules
}

// sourceDay is the day of that revision (UTC), such as 2026-01-31, "" where the build
// does not know it.
func sourceDay() string {
	day, _, _ := strings.Cut(setting("vcs.time"), "T")
	return day
}

// setting is what the build says under a key, "" for nothing.
func setting(key string) string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	for _, s := range info.Settings {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}

// engine names this build of the inference: a version that was published has the same
// one on all systems; any other build is told by its own hash.
func engine() string {
	v := version()
	if v != "" && v != "(devel)" && !strings.Contains(v, "+dirty") {
		return v
	}
	by, err := thisProgram()
	if err != nil {
		return cmp.Or(v, "unknown")
	}
	return fmt.Sprintf("build %x", by[:4])
}
