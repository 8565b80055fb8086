package tui

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/signature"
)

// A DeskWork is what the screens of the desk need beside the looks and streams.
type DeskWork struct {
	Desk    *desk.Desk
	OpenKey func(passphrase []byte) (signature.Key, error)
	Context context.Context // ends what is asked of the ledger

	key *signature.Key // once opened
}

// RunDesk shows the desk until it is left. Of opt only looks and streams count.
func RunDesk(opt Options, work *DeskWork) error {
	_, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.screen = newDesk(work)
		return m
	})
	return err
}

// deskScreen is the list of visits, loaded as it is scrolled.
type deskScreen struct {
	work    *DeskWork
	list    desk.List
	at      int
	asked   int // pages asked for so far; what an earlier one brings is too late
	loading bool
	field   *field   // a part of the filter that is typed
	known   []string // names that it may go on to
	problem string

	unseen  int          // visits that wait for a decision and for today's engine to look at them
	looking bool         // it does, one after the other
	blind   string       // why it does not
	seen    []ledger.Row // what it saw while rows were read, which may not know of it
}

func newDesk(w *DeskWork) deskScreen {
	return deskScreen{work: w, list: desk.List{Query: ledger.Query{Order: ledger.Urgent}}, loading: true, looking: true}
}

// rowsMsg brings the list with more of its rows.
type rowsMsg struct {
	asked int
	list  desk.List
	more  bool   // it goes on: the choice stays where it is
	to    string // else the visit to stand on, "" for the top
	err   error
}

// deskVisitMsg brings a visit as it is in the ledger now.
type deskVisitMsg struct {
	visit *desk.Visit
	err   error
}

// start loads the top of the list, and begins to look at what waits.
func (s deskScreen) start() tea.Cmd { return tea.Batch(s.load(s.list.Query), s.work.look(0)) }

// lookedMsg brings a visit that today's engine has looked at, nil if none is left, and
// how many it has yet to look at.
type lookedMsg struct {
	row    *ledger.Row
	unseen int
	took   time.Duration
	err    error
}

// look looks at one visit that waits, after a rest.
func (w *DeskWork) look(rest time.Duration) tea.Cmd {
	return tea.Tick(rest, func(begun time.Time) tea.Msg {
		r, err := w.Desk.LookAgain(w.Context)
		if err != nil {
			return lookedMsg{err: err}
		}
		n, err := w.Desk.Unseen(w.Context)
		return lookedMsg{r, n, time.Since(begun), err}
	})
}

// knownMsg brings names for what is typed.
type knownMsg struct {
	typed string
	list  []string
	err   error
}

// typing on, the screen offers the names there are.
func (s deskScreen) typedOn(f field) (screen, tea.Cmd) {
	s.field, s.problem, s.known = &f, "", nil
	work, typed := s.work, f.input.Value()
	return s, func() tea.Msg {
		list, err := work.Desk.Known(work.Context, typed)
		return knownMsg{typed, list, err}
	}
}

// looked is the screen with what an engine made of a visit; it goes on with the next
// after a rest as long as that took: half of the machine stays free.
func (s deskScreen) looked(m lookedMsg) (screen, tea.Cmd) {
	s.unseen, s.looking, s.blind = m.unseen, m.err == nil && m.row != nil, ""
	if m.err != nil {
		s.blind = m.err.Error()
	}
	if m.row != nil {
		s.list = s.list.With(*m.row)
	}
	if m.row != nil && s.loading {
		s.seen = append(slices.Clip(s.seen), *m.row)
	}
	if !s.looking {
		return s, nil
	}
	return s, s.work.look(m.took)
}

func (s deskScreen) load(q ledger.Query) tea.Cmd {
	work, asked := s.work, s.asked
	return func() tea.Msg {
		l, err := work.Desk.List(work.Context, q)
		to := ""
		if n := len(l.Rows); q.Back && n > 0 {
			to = l.Rows[n-1].Digest.ID
		}
		return rowsMsg{asked: asked, list: l, to: to, err: err}
	}
}

// reload shows another list from its top, or its end.
func (s deskScreen) reload(q ledger.Query) (screen, tea.Cmd) {
	s.asked++
	s.loading, s.problem = true, ""
	if s.looking {
		return s, s.load(q)
	}
	s.looking = true // something may have come in
	return s, tea.Batch(s.load(q), s.work.look(0))
}

// more loads further rows where the choice is near the end of those that are loaded.
func (s deskScreen) more() (screen, tea.Cmd) {
	const near = desk.PageRows / 2
	load := s.work.Desk.Further
	switch {
	case s.loading || len(s.list.Rows) == 0:
		return s, nil
	case s.list.Below && s.at >= len(s.list.Rows)-near:
	case s.list.Above && s.at < near:
		load = s.work.Desk.Before
	default:
		return s, nil
	}
	s.asked++
	s.loading = true
	work, asked, list := s.work, s.asked, s.list
	return s, func() tea.Msg {
		l, err := load(work.Context, list)
		return rowsMsg{asked: asked, list: l, more: true, err: err}
	}
}

func (w *DeskWork) open(id string) tea.Cmd {
	return func() tea.Msg {
		v, err := w.Desk.Visit(w.Context, id)
		return deskVisitMsg{v, err}
	}
}

func (s deskScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case rowsMsg:
		if msg.asked != s.asked {
			return s, nil
		}
		s.loading = false
		if msg.err != nil {
			s.problem = msg.err.Error()
			return s, nil
		}
		if msg.more { // keys may have gone on meanwhile
			msg.to = s.list.Rows[s.at].Digest.ID
		}
		s.list, s.at = msg.list, max(0, msg.list.Index(msg.to))
		for _, r := range s.seen {
			s.list = s.list.With(r)
		}
		s.seen = nil
		return s.more()
	case lookedMsg:
		return s.looked(msg)
	case knownMsg:
		if s.field == nil || s.field.input.Value() != msg.typed {
			return s, nil
		}
		s.known = msg.list
		if msg.err != nil {
			s.problem = msg.err.Error()
		}
		return s, nil
	case deskVisitMsg:
		if msg.err != nil {
			s.problem = msg.err.Error()
			return s, nil
		}
		s.list = s.list.With(msg.visit.Row)
		return newDeskVisit(s, msg.visit).think()
	case tea.KeyMsg:
		if s.field != nil {
			return s.typed(msg)
		}
		return s.key(e, msg)
	}
	return s, nil
}

func (s deskScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	q, last := s.list.Query, len(s.list.Rows)-1
	switch {
	case k.Paste:
	case key.Matches(k, keys.Enter) && last >= 0:
		return s, s.work.open(s.list.Rows[s.at].Digest.ID)
	case key.Matches(k, keys.Only):
		f := newField("")
		s.field, s.problem, s.known = &f, "", nil
	case key.Matches(k, keys.Results):
		return newResults(s)
	case key.Matches(k, keys.Left):
		q.Order = s.orderBeside(-1)
		return s.reload(q)
	case key.Matches(k, keys.Right):
		q.Order = s.orderBeside(1)
		return s.reload(q)
	case key.Matches(k, keys.Home):
		return s.reload(q)
	case key.Matches(k, keys.End):
		q.Back = true
		return s.reload(q)
	default:
		by := map[bool]int{key.Matches(k, keys.Up): -1, key.Matches(k, keys.Down): 1, key.Matches(k, keys.PageUp): -s.rows(e), key.Matches(k, keys.PageDown): s.rows(e)}[true]
		s.at = max(0, min(s.at+by, last))
		return s.more()
	}
	return s, nil
}

// orderBeside is the order n further in the list of orders.
func (s deskScreen) orderBeside(n int) ledger.Order {
	i := slices.IndexFunc(desk.Orders, func(o desk.OrderChoice) bool { return o.Order == s.list.Query.Order })
	return desk.Orders[(i+n+len(desk.Orders))%len(desk.Orders)].Order
}

// typed is the screen after a key while a part of the filter is typed.
func (s deskScreen) typed(k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Back):
		s.field, s.problem = nil, ""
	case key.Matches(k, keys.Enter):
		if id, ok := strings.CutPrefix(s.field.text(), "open "); ok {
			s.field = nil
			return s, s.work.open(strings.TrimSpace(id))
		}
		f, err := s.work.Desk.Narrow(s.work.Context, s.list.Query.Filter, s.field.text())
		if err != nil {
			s.problem = err.Error()
			return s, nil
		}
		s.field = nil
		q := s.list.Query
		q.Filter = f
		return s.reload(q)
	case key.Matches(k, keys.Down) && len(s.known) > 0:
		word, _, _ := strings.Cut(strings.TrimLeft(s.field.input.Value(), " "), " ")
		return s.typedOn(newField(word + " " + s.known[0]))
	default:
		return s.typedOn(s.field.update(k))
	}
	return s, nil
}

func (s deskScreen) typing() typing {
	if s.field != nil {
		return words
	}
	return nothing
}

func (s deskScreen) help() []key.Binding {
	if s.field != nil {
		return []key.Binding{as(keys.Enter, "show-these"), as(keys.Back, "cancel"), as(keys.Leave, "leave")}
	}
	return []key.Binding{as(keys.Enter, "open"), as(keys.Arrows, "move-order"), keys.Only, keys.Results, keys.Help, as(keys.Quit, "leave")}
}
