package plain

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWordsAtDeskAreWhole(t *testing.T) {
	w := reflect.ValueOf(wordsAtDesk())
	for i := range w.NumField() {
		assert.False(t, w.Field(i).IsZero(), w.Type().Field(i).Name)
	}
}
