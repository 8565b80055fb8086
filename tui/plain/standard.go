package plain

import (
	"fmt"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// pictures tell the standard pictures of the visited site.
func (l *lines) pictures() {
	for _, text := range standardLines(l.Visit().Site()) {
		l.say(text)
	}
}

// standardLines tell the standard pictures of a site in sentences.
func standardLines(s *site.Site) (list []string) {
	w := words()
	for _, p := range visiting.Standards(s) {
		list = append(list, fmt.Sprintf(w.Picture, p.Title, p.Figures()), p.Tell, fmt.Sprintf(w.Settles, p.Settle), "")
	}
	return list
}
