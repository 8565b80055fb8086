package main

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
)

// A visit whose folder is taken away says "Taken" and "kept" only of what is on the disk.
func TestFolderTakenAway(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the system does not let go of a file that is open")
	}
	tests := []struct {
		name    string
		happens func(t *testing.T, file string) // before the last answer, or before the end
		kept    bool
	}{
		{"removed", func(t *testing.T, file string) { require.NoError(t, os.RemoveAll(filepath.Dir(file))) }, true},
		{"replaced", func(t *testing.T, file string) {
			require.NoError(t, os.WriteFile(file+".new", []byte("another story\n"), 0o600))
			require.NoError(t, os.Rename(file+".new", file))
		}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "visits")
			c := command(dir)
			in, err := c.StdinPipe()
			require.NoError(t, err)
			out, err := c.StdoutPipe()
			require.NoError(t, err)
			var problem bytes.Buffer
			c.Stderr = &problem
			require.NoError(t, c.Start())
			said := bufio.NewReader(out)
			hear := func(text string) (all string) {
				for !strings.Contains(strings.Join(strings.Fields(all), " "), text) {
					line, err := said.ReadString('\n')
					require.NoError(t, err, all)
					all += line
				}
				return all
			}
			say := func(line string) {
				_, err := io.WriteString(in, line+"\n")
				require.NoError(t, err)
			}
			say("1")
			hear("Taken: ")
			hear("Your answer")
			files, err := filepath.Glob(filepath.Join(dir, "*"+record.Suffix))
			require.NoError(t, err)
			require.Len(t, files, 1)

			tt.happens(t, files[0])
			say("1 2")
			if tt.kept {
				hear("Taken: ")
				tt.happens(t, files[0])
			} else {
				assert.Contains(t, hear("written again"), "Problem: ")
			}
			require.NoError(t, in.Close())
			rest, err := io.ReadAll(said)
			require.NoError(t, err)
			assert.NotContains(t, string(rest), "Taken: ")
			err = c.Wait()
			if tt.kept {
				require.NoError(t, err, problem.String())
				assert.Contains(t, string(rest), "The visit is saved.")
				items, err := record.List(dir)
				require.NoError(t, err)
				require.Len(t, items, 1)
				assert.Equal(t, 2, items[0].Answers)
				return
			}
			require.Error(t, err)
			assert.NotContains(t, string(rest), "The visit is saved.")
			assert.Contains(t, strings.Join(strings.Fields(problem.String()), " "), "The whole visit is in "+files[0]+".kept instead")
			entries, damage, err := record.Read(files[0] + ".kept")
			require.NoError(t, err)
			assert.Nil(t, damage)
			assert.Len(t, entries, 2, "the head and the one answer that was taken")
		})
	}
}
