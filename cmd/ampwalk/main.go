// Ampwalk leads a visit to a small stand-alone solar system: one measurement at
// a time, in a safe order, with what each says about the state of the system.
package main

import (
	_ "ampwalk/cmd/ampwalk/background" // before bubbletea

	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/printable"
)

func main() {
	debug.SetGCPercent(belief.GCPercent)
	debug.SetMemoryLimit(memoryMost)
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// memoryMost is how much memory garbage may fill, beyond which the collector works at any pace.
const memoryMost = 64 << 20

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{stdin: stdin, stdout: stdout, stderr: stderr, getenv: os.Getenv, now: time.Now, infer: belief.Infer, memory: memoryDir()}
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
	infer          diagnose.Inferrer
	memory         string // folder of results remembered, "" for none
}

var (
	errUsage       = errors.New("wrong arguments") // what is wrong was said already
	errInterrupted = errors.New("interrupted")
)

// An inputError is bad input: exit code 2.
type inputError struct{ error }

func (e inputError) Unwrap() error { return e.error }

func (a *app) run(args []string) int {
	err := a.command(args)
	if input := (inputError{}); errors.As(err, &input) {
		fmt.Fprintln(a.stderr, err)
		return exitUsage
	}
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return exitDone
	case errors.Is(err, errUsage):
		return exitUsage
	case errors.Is(err, errInterrupted):
		return exitInterrupted
	default:
		fmt.Fprintf(a.stderr, "ampwalk: %s\n", printable.Clean(err.Error()))
		return exitFailed
	}
}

func (a *app) command(args []string) error {
	if len(args) == 0 || args[0][:min(1, len(args[0]))] == "-" {
		return a.visit(args)
	}
	name, rest := args[0], args[1:]
	switch name {
	case "site":
		return a.site(rest)
	case "interpret":
		return a.interpret(rest)
	case "print":
		return a.print(rest)
	case "export":
		return a.export(rest)
	case "import":
		return a.importVisits(rest)
	case "hand-in":
		return a.handIn(rest)
	case "report":
		return a.report(rest)
	case "verify":
		return a.verify(rest)
	case "review":
		return a.review(rest)
	case "key":
		return a.key(rest)
	case "visits":
		return a.visits(rest)
	case "practice":
		return a.practice(rest)
	case "scenario":
		return a.scenario(rest)
	case "version":
		return a.version(rest)
	case "help":
		return a.help(rest)
	default:
		return a.wrong("", "there is no command %q", name)
	}
}

// flags is a flag set that speaks through the usage text of the command.
func (a *app) flags(command string) *flag.FlagSet {
	f := flag.NewFlagSet(command, flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	return f
}

// parse reads the flags and takes at least least and at most most arguments
// beside them, most -1 for any number.
func (a *app) parse(f *flag.FlagSet, args []string, least, most int) error {
	err := parseMixed(f, args)
	switch n := f.NArg(); {
	case errors.Is(err, flag.ErrHelp):
		io.WriteString(a.stdout, usage(f.Name()))
		return err
	case err != nil:
		return a.wrong(f.Name(), "%v", err)
	case n < least:
		return a.wrong(f.Name(), "something is missing after it")
	case most >= 0 && n > most:
		return a.wrong(f.Name(), "%q is too much", f.Arg(most))
	}
	return nil
}

// parseMixed reads flags before, between and after the arguments.
func parseMixed(f *flag.FlagSet, args []string) error {
	var plain []string
	for {
		if err := f.Parse(args); err != nil {
			return err
		}
		rest := f.Args()
		ended := len(rest) < len(args) && args[len(args)-len(rest)-1] == "--"
		if len(rest) == 0 || ended {
			return f.Parse(append(append([]string{"--"}, plain...), rest...))
		}
		plain, args = append(plain, rest[0]), rest[1:]
	}
}

// wrong says what is wrong with the arguments of a command and how it is used.
func (a *app) wrong(command, format string, args ...any) error {
	name := "ampwalk"
	if command != "" {
		name += " " + command
	}
	fmt.Fprintf(a.stderr, "%s: %s\n\n%s", name, printable.Clean(fmt.Sprintf(format, args...)), usage(command))
	return errUsage
}

func (a *app) version(args []string) error {
	if err := a.parse(a.flags("version"), args, 0, 0); err != nil {
		return err
	}
	_, err := fmt.Fprintln(a.stdout, "ampwalk", cmp.Or(version(), "(built from source)"))
	return err
}

// version is the program's, "" where the build does not know it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	return info.Main.Version
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
