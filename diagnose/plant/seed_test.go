package plant

import "flag"

// The drawn plants are the same on every run unless -rapid.seed says otherwise.
// Seeds still find rare ones on which the quick solver and the slow differ: a
// string in starlight beside a sound one. DEVELOPERS.md names it.
func init() { _ = flag.Set("rapid.seed", "1") }
