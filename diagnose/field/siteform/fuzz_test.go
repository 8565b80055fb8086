package siteform

import (
	"testing"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

// Whatever file is opened and whatever is typed, the draft can be asked about and written,
// and what it takes is there when the file is opened again.
func FuzzDraft(f *testing.F) {
	f.Add(site.DemoTOML(), 3, "12.5")
	f.Add([]byte("name = \"x\"\n"), 0, "\u202e=x()\x1b[31m\"\n[load]")
	f.Add([]byte("a.b = 1\r\n[a.c]\nx = [1,\n2] # y"), 1, "no")
	f.Add(site.DemoTOML(), 40, "1e308")
	f.Fuzz(func(t *testing.T, data []byte, n int, typed string) {
		d, err := Open("x", data)
		if err != nil {
			return
		}
		list := d.Questions()
		q := list[uint(n)%uint(len(list))]
		d.Answer(q)
		d.Typical(q)
		_, _ = d.Would(q, typed)
		for _, change := range []func() (Draft, error){
			func() (Draft, error) { return d.Put(q, typed) },
			func() (Draft, error) { return d.Assume(q) },
			func() (Draft, error) { return d.Clear(q) },
			func() (Draft, error) { return d.Add(q) },
			func() (Draft, error) { return d.Remove(q) },
		} {
			next, err := change()
			if err != nil {
				continue
			}
			again, err := Open("x", next.Bytes())
			require.NoError(t, err, "%s", next.Bytes())
			require.Equal(t, len(next.Left()), len(again.Left()))
			require.Equal(t, next.Answer(q), again.Answer(q))
		}
	})
}
