package hashchain_test

import (
	"bytes"
	"errors"
	"fmt"

	"ampwalk/diagnose/internal/hashchain"
)

// A changed byte breaks the chain at its line.
func ExampleUnlink() {
	line, _ := hashchain.Link("", []byte(`{"volts":12.6}`))
	_, _, err := hashchain.Unlink("", line)
	fmt.Println(err == nil)

	changed := bytes.Replace(line, []byte("12.6"), []byte("13.6"), 1)
	_, _, err = hashchain.Unlink("", changed)
	fmt.Println(errors.Is(err, hashchain.ErrChanged))
	// Output:
	// true
	// true
}
