package plaintext_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/base/plaintext"
)

// The beginnings are those of OWASP's page on CSV injection, from memory.
func TestCell(t *testing.T) {
	for _, text := range []string{"=1+1", "+1", "-2", "@SUM(1)", "\t=1", "\r=1", "\n=1", "＝1", "＠x", "  =1", "\u00a0=1", "="} {
		assert.Equal(t, "'"+text, plaintext.Cell(text))
	}
	for _, text := range []string{"", "Dry Ridge", "A-1", "12.7", "'=1", " ", "Ω=1"} {
		assert.Equal(t, text, plaintext.Cell(text))
	}
}
