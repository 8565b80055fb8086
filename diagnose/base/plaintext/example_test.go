package plaintext_test

import (
	"fmt"

	"ampwalk/diagnose/base/plaintext"
)

// Nothing of a stranger's text acts on a terminal or in a spreadsheet.
func ExampleClean() {
	fmt.Println(plaintext.Clean("red\x1b[2J lamp\nnext line"))
	fmt.Println(plaintext.Cell("=1+1"))
	// Output:
	// red lamp next line
	// '=1+1
}
