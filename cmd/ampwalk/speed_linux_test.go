package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios"
)

// BenchmarkArithmetic is what other times are compared with, between machines too: a
// hundred thousand multiplications and additions, each of the result of the one before.
func BenchmarkArithmetic(b *testing.B) {
	x := 0.5
	for b.Loop() {
		for range 100_000 {
			x = x*0.999 + 0.001
		}
	}
	require.InDelta(b, 1, x, 0.5)
}

// BenchmarkProgram is the built program as a person meets it: a process of its own, in a
// terminal where it needs one. An empty Go program tells what the system takes.
func BenchmarkProgram(b *testing.B) {
	program, nothing := built(b, "ampwalk", "."), built(b, "nothing", emptyProgram(b))
	for _, p := range []struct{ name, path string }{{"ampwalk", program}, {"empty", nothing}} {
		b.Run("size/"+p.name, func(b *testing.B) {
			info, err := os.Stat(p.path)
			require.NoError(b, err)
			for b.Loop() {
			}
			b.ReportMetric(float64(info.Size())/1e6, "MB")
		})
	}
	cache := filepath.Join(b.TempDir(), "cache")
	env := append(os.Environ(), "XDG_CACHE_HOME="+cache, "TERM=xterm-256color", "GOGC=", "GOMEMLIMIT=")
	b.Run("empty", func(b *testing.B) { lasts(b, env, nothing) })
	b.Run("version", func(b *testing.B) { lasts(b, env, program, "--version") })

	dir := b.TempDir()
	require.NoError(b, os.WriteFile(filepath.Join(dir, "demo"+siteSuffix), site.DemoTOML(), 0o600))
	readings := filepath.Join(dir, "x.readings.toml")
	require.NoError(b, os.WriteFile(readings, []byte("[as_found]\nsky = \"clear\"\nbattery_v = 12.1\narray_a = 0\n"), 0o600))
	b.Run("interpret", func(b *testing.B) {
		lasts(b, env, program, "interpret", "--site", filepath.Join(dir, "demo"+siteSuffix), "--readings", readings)
	})
	b.Run("frame/alone", func(b *testing.B) { b.Chdir(dir); frames(b, env, program, "--data", b.TempDir()) })
	b.Run("frame/many", func(b *testing.B) { frames(b, env, program, "--data", sitesAndVisits(b, 30, 300).dir) })
	b.Run("visit", func(b *testing.B) { answers(b, env, program) })
}

// BenchmarkAnswer is the inference after each answer of whole visits at the bench.
func BenchmarkAnswer(b *testing.B) {
	cases := scenarios.Embedded()
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		s := cases[i*7%len(cases)]
		_, err := scenarios.Walk(s, visiting.Head{ID: s.ID, StartedAt: s.At}, func(in belief.Input) (*belief.Result, error) {
			begun := time.Now()
			defer func() { took = append(took, time.Since(begun)) }()
			return belief.Infer(in)
		}, nowhere{})
		require.NoError(b, err)
	}
	tell(b, took)
}

// built is a command as .ci/release builds it.
func built(b *testing.B, name, source string) string {
	path := filepath.Join(b.TempDir(), name)
	c := exec.Command("go", "build", "-trimpath", "-ldflags", "-s -w", "-o", path, source)
	c.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := c.CombinedOutput()
	require.NoError(b, err, "%s", out)
	return path
}

func emptyProgram(b *testing.B) string {
	path := filepath.Join(b.TempDir(), "main.go")
	require.NoError(b, os.WriteFile(path, []byte("package main\n\nfunc main() {}\n"), 0o600))
	return path
}

// tell reports the middle and the 95th of a hundred of what it took.
func tell(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	for name, share := range map[string]int{"p50-ms": 50, "p95-ms": 95} {
		b.ReportMetric(float64(took[len(took)*share/100].Microseconds())/1000, name)
	}
	b.ReportMetric(0, "ns/op")
}

// lasts is how long a command takes, with nothing remembered from the one before.
func lasts(b *testing.B, env []string, command ...string) {
	var took []time.Duration
	for b.Loop() {
		forget(b, env)
		c := exec.Command(command[0], command[1:]...)
		c.Env = env
		begun := time.Now()
		_, err := c.Output()
		took = append(took, time.Since(begun))
		require.NoError(b, err)
	}
	tell(b, took)
}

func forget(b *testing.B, env []string) {
	for _, e := range env {
		if dir, found := strings.CutPrefix(e, "XDG_CACHE_HOME="); found && strings.HasSuffix(dir, "cache") {
			require.NoError(b, os.RemoveAll(dir))
		}
	}
}

// lastLine stands before the last line of a whole frame of 24 rows.
const lastLine = "\x1b[24;1H"

// frames is how long the program takes to its first frame.
func frames(b *testing.B, env []string, command ...string) {
	var took []time.Duration
	for b.Loop() {
		forget(b, env)
		begun := time.Now()
		s := openScreen(b, env, command...)
		s.until(lastLine)
		took = append(took, time.Since(begun))
		s.close()
	}
	tell(b, took)
}

// answers is how long it takes from an answer to the frame with the new belief, and what
// the program then has in memory.
func answers(b *testing.B, env []string, program string) {
	dir, visit, _ := halfway(b)
	file := filepath.Join(dir, visit+".visit.jsonl")
	journal, err := os.ReadFile(file)
	require.NoError(b, err)
	var took []time.Duration
	var resident, most float64
	for b.Loop() {
		forget(b, env)
		require.NoError(b, os.WriteFile(file, journal, 0o600))
		s := openScreen(b, env, program, "--data", dir, "--resume", visit)
		s.until(lastLine)
		s.until("Nothing has been measured yet.")
		begun := time.Now()
		s.types("0.02\r")
		s.until("The array circuit is open") // what is believed now
		took = append(took, time.Since(begun))
		resident, most = max(resident, s.status("VmRSS")), max(most, s.status("VmHWM"))
		s.close()
	}
	tell(b, took)
	b.ReportMetric(resident, "MB")
	b.ReportMetric(most, "most-MB")
}

// A screen is a terminal of 80 by 24 without a window, with the program in it.
type screen struct {
	b       *testing.B
	program *exec.Cmd
	master  *os.File
	shown   []byte // since until last found something
}

func openScreen(b *testing.B, env []string, command ...string) *screen {
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(b, err)
	fd := int(master.Fd())
	require.NoError(b, unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0))
	number, err := unix.IoctlGetUint32(fd, unix.TIOCGPTN)
	require.NoError(b, err)
	require.NoError(b, unix.IoctlSetWinsize(fd, unix.TIOCSWINSZ, &unix.Winsize{Row: 24, Col: 80}))
	slave, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(b, err)
	defer slave.Close()
	c := exec.Command(command[0], command[1:]...)
	c.Env, c.Stdin, c.Stdout, c.Stderr = env, slave, slave, slave
	c.SysProcAttr = &unix.SysProcAttr{Setsid: true, Setctty: true}
	require.NoError(b, c.Start())
	return &screen{b: b, program: c, master: master}
}

// until reads what the program shows until a text is in it. A program that never shows it
// is killed, which ends the reading.
func (s *screen) until(text string) {
	defer time.AfterFunc(patience, func() { _ = s.program.Process.Kill() }).Stop()
	buffer := make([]byte, 1<<16)
	for {
		if at := bytes.Index(s.shown, []byte(text)); at >= 0 {
			s.shown = s.shown[at+len(text):]
			return
		}
		n, err := s.master.Read(buffer)
		require.NoError(s.b, err, "waited for %q: %q", text, s.shown)
		s.shown = append(s.shown, buffer[:n]...)
	}
}

func (s *screen) types(text string) {
	_, err := s.master.WriteString(text)
	require.NoError(s.b, err)
}

// status is a figure of the program's memory [MB].
func (s *screen) status(name string) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.program.Process.Pid))
	require.NoError(s.b, err)
	_, rest, found := strings.Cut(string(text), "\n"+name+":")
	require.True(s.b, found)
	var kB float64
	_, err = fmt.Sscan(rest, &kB)
	require.NoError(s.b, err)
	return kB / 1000
}

func (s *screen) close() {
	require.NoError(s.b, s.program.Process.Kill())
	_ = s.program.Wait() // it was killed
	require.NoError(s.b, s.master.Close())
}
