package main

import (
	"flag"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFlagsStandAnywhere(t *testing.T) {
	tests := []struct {
		name string
		args []string
		out  string
		all  bool
		rest []string
	}{
		{"before", []string{"--out", "x", "--all", "a"}, "x", true, []string{"a"}},
		{"after", []string{"a", "--out=x"}, "x", false, []string{"a"}},
		{"between", []string{"a", "--all", "b", "--out", "x", "c"}, "x", true, []string{"a", "b", "c"}},
		{"ended", []string{"a", "--", "--out", "-b"}, "", false, []string{"a", "--out", "-b"}},
		{"the value of a flag is no end", []string{"--out", "--", "a"}, "--", false, []string{"a"}},
		{"a single dash is an argument", []string{"-", "--all"}, "", true, []string{"-"}},
		{"nothing", nil, "", false, []string{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := flag.NewFlagSet("x", flag.ContinueOnError)
			f.SetOutput(io.Discard)
			out, all := f.String("out", "", ""), f.Bool("all", false, "")
			require.NoError(t, parseMixed(f, tt.args))
			assert.Equal(t, tt.out, *out)
			assert.Equal(t, tt.all, *all)
			assert.Equal(t, tt.rest, f.Args())
		})
	}
	f := flag.NewFlagSet("x", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	assert.Error(t, parseMixed(f, []string{"a", "--none"}))
}
