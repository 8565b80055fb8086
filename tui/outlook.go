package tui

import (
	"cmp"
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

//go:embed outlook.toml
var outlookFile []byte

type outlookWords struct {
	Title, Working, Failed, Day, Legend, Try, Tried, Outcome string
}

var wordsOfOutlook = sync.OnceValue(func() outlookWords {
	return datafile.Read[outlookWords]("tui/outlook.toml", outlookFile)
})

// outlookScreen says how much power there is and until when, with the day as a band by
// hours. Changes can be tried to see what they would do.
type outlookScreen struct {
	over
	page    page
	found   *outlook.Outlook
	plain   *outlook.Outlook // without any change
	problem error
	asked   int       // outlooks asked for so far
	loads   []tryLoad // in the order of ordered
	tried   outlook.Change
	action  int
}

// A tryLoad is what is tried with a load.
type tryLoad int

const (
	asItIs tryLoad = iota
	takenOut
	moved // from noon to the evening, or the other way
	tries
)

// outlookMsg brings the nth outlook that was asked for.
type outlookMsg struct {
	n      int
	found  *outlook.Outlook
	failed error
}

// newOutlook shows an outlook that was found already; nil has it worked out.
func newOutlook(e env, below screen, found *outlook.Outlook) (screen, tea.Cmd) {
	s := outlookScreen{over: over{below}, page: newPage(), found: found, plain: found}
	s.loads = make([]tryLoad, len(s.visit().v.Site().Loads))
	if found != nil {
		return s, nil
	}
	return s.ask(e)
}

// ask has the outlook worked out with what is tried.
func (s outlookScreen) ask(e env) (screen, tea.Cmd) {
	s.asked++
	n, in, look, change := s.asked, s.visit().v.Input(), e.opt.Outlook, s.change()
	return s, func() tea.Msg {
		found, err := look(in, change)
		return outlookMsg{n, found, err}
	}
}

// change is all that is tried.
func (s outlookScreen) change() outlook.Change {
	ch := s.tried
	for i, l := range s.ordered() {
		switch s.loads[i] {
		case takenOut:
			ch.Without = append(ch.Without, l.Label)
		case moved:
			if s.inEvening(l.Label) {
				ch.AtNoon = append(ch.AtNoon, l.Label)
			} else {
				ch.InEvening = append(ch.InEvening, l.Label)
			}
		}
	}
	return ch
}

// ordered are the loads in the order of the band: those kept longest first.
func (s outlookScreen) ordered() []site.Load {
	loads := slices.Clone(s.visit().v.Site().Loads)
	slices.SortStableFunc(loads, func(a, b site.Load) int { return cmp.Compare(a.Priority, b.Priority) })
	return loads
}

// inEvening reports whether a load is used in the evening as things are.
func (s outlookScreen) inEvening(label string) bool {
	return s.plain != nil && slices.ContainsFunc(s.plain.Uses, func(u outlook.Use) bool { return u.Label == label && u.Evening })
}

// actions are the other changes, and the way back.
func (s outlookScreen) actions() []action {
	list := []action{{keys.Back, doBack}, {tryClean, doClean}}
	if s.plain != nil && s.plain.Fault != condition.Sound {
		list = append(list, action{tryRepair, doRepair})
	}
	return append(list, action{tryString, doString}, action{tryBattery, doBattery}, action{tryLarger, doLarger}, action{tryCable, doCable})
}

// try tries a change, or takes it back.
func (s outlookScreen) try(e env, do doing) (screen, tea.Cmd) {
	at, ch := s.visit().v.Site(), &s.tried
	toggle := func(x *float64, to float64) {
		if *x > 0 {
			to = 0
		}
		*x = to
	}
	switch do {
	case doClean:
		ch.Clean = !ch.Clean
	case doRepair:
		ch.Repaired = !ch.Repaired
	case doString:
		ch.Strings = 1 - ch.Strings
	case doBattery:
		ch.NewBattery = !ch.NewBattery
	case doLarger:
		toggle(&ch.CapacityAh, outlook.MoreCapacity*at.Battery.CapacityAh)
	case doCable:
		toggle(&ch.ArrayMM2, outlook.MoreCable*at.Array.CableMM2)
	default:
		return s.below, nil
	}
	return s.ask(e)
}

func (s outlookScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if m, ok := msg.(outlookMsg); ok {
		if m.n == s.asked {
			s.found, s.problem = m.found, m.failed
		}
		if m.n == 1 && s.plain == nil {
			s.plain = m.found
		}
		return s, nil
	}
	return updateOver(s, e, msg)
}

func (s outlookScreen) onto(below screen) screen { s.below = below; return s }

func (s outlookScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	actions := s.actions()
	if key.Matches(k, keys.Enter) {
		return s.try(e, actions[s.action].do)
	}
	if do := pressed(k, actions); do >= 0 {
		return s.try(e, actions[do].do)
	}
	if i := slices.Index([]string{"1", "2", "3", "4", "5", "6", "7", "8", "9"}, k.String()); i >= 0 && i < len(s.loads) {
		s.loads = slices.Clone(s.loads)
		s.loads[i] = (s.loads[i] + 1) % tries
		if s.loads[i] == moved && s.ordered()[i].HoursPerDay >= 24 {
			s.loads[i] = asItIs
		}
		return s.ask(e)
	}
	s.action = moveAlong(k, s.action, len(actions))
	s.page = s.page.update(k, s.lines(e), e.w, s.room(e))
	return s, nil
}

func (s outlookScreen) view(e env) []string {
	lines := append(s.head(e), fit(s.page.view(e.st, s.lines(e), e.w, s.room(e)), e.w, s.room(e))...)
	return append(lines, s.row(e)...)
}

func (s outlookScreen) row(e env) []string { return actionRow(e.st, s.actions(), s.action, true, e.w) }

func (s outlookScreen) room(e env) int { return max(1, e.h-len(s.head(e))-len(s.row(e))) }

// head is the title and the band of the day, which stay while the text scrolls.
func (s outlookScreen) head(e env) []string {
	w := wordsOfOutlook()
	lines := ruled(e, w.Title, s.visit().v.Head().SiteName)
	switch {
	case s.problem != nil:
		return append(lines, problem(e.st, fmt.Sprintf(w.Failed, s.problem), e.w)...)
	case s.found == nil:
		return append(lines, "", e.st.title.Render(w.Working))
	}
	if tried := s.found.Change.Text(s.visit().v.Site()); tried != nil {
		text := fmt.Sprintf(w.Tried, strings.Join(tried, "; "))
		if s.plain != nil {
			_, now := s.found.Year.Missed()
			_, before := s.plain.Year.Missed()
			text += " " + fmt.Sprintf(w.Outcome, quantity.Percent(now), quantity.Percent(before))
		}
		lines = append(lines, wrap(text, e.w)...)
	}
	return append(lines, s.band(e)...)
}

// The heights from which there is room for the band beside the text, and for what is said
// below it.
const minBandRows, tallRows = 12, 21

// band draws each load through 24 hours.
func (s outlookScreen) band(e env) []string {
	day := s.found.Day
	if len(day.Loads) == 0 || e.h < minBandRows {
		return nil
	}
	w, signs := wordsOfOutlook(), bandSigns[e.signs != ASCII]
	const nameW, hourW = 18, 2
	wide := 1
	if e.w >= nameW+24*hourW+2 {
		wide = hourW
	}
	scale := []byte(strings.Repeat(" ", nameW+24*wide+1))
	for h := range 24 {
		if at := (day.From.Hour() + h) % 24; at%3 == 0 && (wide > 1 || at%6 == 0) {
			copy(scale[nameW+h*wide:], strconv.Itoa(at))
		}
	}
	lines := []string{e.st.label.Render(cut(w.Day, e.w)), e.st.quiet.Render(cut(string(scale), e.w))}
	for i, l := range day.Loads {
		if i >= max(3, e.h/3) {
			break
		}
		row := pad(cut(plaintext.Clean(s.number(l.Label)+l.Label), nameW-1), nameW)
		for _, source := range l.Hours {
			row += strings.Repeat(signs[source], wide)
		}
		lines = append(lines, row)
	}
	legend := fmt.Sprintf(w.Legend, signs[outlook.FromArray], signs[outlook.FromBattery], signs[outlook.NotToday])
	lines = append(lines, e.st.quiet.Render(cut(legend, e.w)))
	if e.h < tallRows {
		return lines
	}
	for _, line := range wrap(w.Try, e.w) {
		lines = append(lines, e.st.quiet.Render(line))
	}
	return append(lines, "")
}

// number is what is typed to take a load out.
func (s outlookScreen) number(label string) string {
	for i, l := range s.ordered() {
		if l.Label == label && i < 9 {
			return fmt.Sprintf("%d ", i+1)
		}
	}
	return ""
}

// bandSigns are those of a terminal with blocks, and of one with letters only.
var bandSigns = map[bool]map[outlook.Source]string{
	true:  {outlook.FromArray: "█", outlook.FromBattery: "▒", outlook.NotToday: "·"},
	false: {outlook.FromArray: "#", outlook.FromBattery: "=", outlook.NotToday: "."},
}

// lines are the texts below the band, those of `ampwalk outlook`.
func (s outlookScreen) lines(e env) []string {
	if s.found == nil {
		return nil
	}
	told := *s.found
	told.Change = outlook.Change{}
	text := summary.OfOutlook(s.visit().v.Site(), &told)
	text.Title = "" // the head says both
	return wrapAll(strings.TrimLeft(text.TextIn(min(e.w, document.Width)), "\n"), e.w)
}

// The keys that try a change; loadKey names the digits of the loads.
var (
	loadKey    = bind("1", "take-load-out", "1")
	tryClean   = bind("f2", "try", "f2")
	tryRepair  = bind("f3", "try", "f3")
	tryString  = bind("f4", "try", "f4")
	tryBattery = bind("f5", "try", "f5")
	tryLarger  = bind("f6", "try", "f6")
	tryCable   = bind("f7", "try", "f7")
)

func (outlookScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "do"), as(keys.Arrows, "move-scroll"), loadKey, keys.Help, as(keys.Leave, "leave")}
}
