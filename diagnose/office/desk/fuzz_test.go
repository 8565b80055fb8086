package desk

import (
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/office/ledger"
)

// Whatever is typed as a filter, there is a list to show or it is said what was expected.
func FuzzNarrow(f *testing.F) {
	for _, typed := range []string{"site Dry Ridge", "from 2026-03-02", "before 9999-99-99", "condition open", "state sent back", "overdue", "none", "site '; DROP TABLE visits; --", "staff \u202e=x()\x1b[2J", "from 0000-00-00"} {
		f.Add(typed, "attention")
	}
	d := deskOf(f)
	f.Fuzz(func(t *testing.T, typed, then string) {
		filter := ledger.Filter{}
		for _, text := range []string{typed, then} {
			next, err := d.Narrow(t.Context(), filter, text)
			if err == nil {
				filter = next
			}
		}
		for _, r := range FilterText(filter) {
			require.True(t, unicode.IsPrint(r), "%q", FilterText(filter))
		}
		_, err := d.Ledger.List(t.Context(), ledger.Query{Filter: filter, Limit: 3})
		require.NoError(t, err)
	})
}
