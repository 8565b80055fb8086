package plain

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Each command has its line in the help and each line its command.
func TestHelpNamesTheCommands(t *testing.T) {
	named := map[string]bool{"?": true} // another name of help
	for _, h := range words().Help {
		named[h.Name] = true
		assert.Contains(t, commands, h.Name)
		assert.NotEmpty(t, h.Does)
	}
	for name := range commands {
		assert.True(t, named[name], name)
	}
}
