package tui

import (
	"errors"
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

// signScreen takes what is said of a visit, the passphrase where the key is not open
// yet, and signs.
type signScreen struct {
	over
	kind    review.Kind
	field   field // the comment or the question
	secret  field // never drawn
	asking  bool  // for the passphrase
	working bool
	problem string
}

func newSign(below deskVisitScreen, kind review.Kind) screen {
	if kind == review.Accept && !below.v.Digest.Finished {
		below.notice = desk.ErrUnderWay.Error()
		return below
	}
	secret := newField("")
	secret.input.EchoMode = textinput.EchoNone
	return signScreen{over: over{below}, kind: kind, field: newField(""), secret: secret}
}

// signedMsg says what became of it; key is the one that was opened.
type signedMsg struct {
	key *signature.Key
	err error
}

func (s signScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	m, ok := msg.(signedMsg)
	if !ok {
		if k, ok := msg.(tea.KeyMsg); ok && s.working && key.Matches(k, keys.Back) {
			return s, nil // it may be in the ledger already
		}
		return updateOver(s, e, msg)
	}
	v, ok := s.below.(deskVisitScreen)
	if !ok {
		return s.below, nil
	}
	s.working = false
	if m.key != nil {
		v.work.key = m.key
	}
	overtaken := (*ledger.Overtaken)(nil)
	switch {
	case errors.As(m.err, &overtaken):
		v.notice = desk.OvertakenText(overtaken)
	case m.err != nil:
		s.problem, s.asking = m.err.Error(), false
		s.secret.input.Reset()
		return s, nil
	default:
		v.notice = fmt.Sprintf(deskWords().Sign.Signed, s.kind.Text())
	}
	return v, v.work.open(v.v.Digest.ID)
}

func (s signScreen) onto(below screen) screen { s.below = below; return s }

func (s signScreen) key(_ env, k tea.KeyMsg) (screen, tea.Cmd) {
	v, ok := s.below.(deskVisitScreen)
	switch {
	case s.working || !ok:
		return s, nil
	case key.Matches(k, keys.Enter):
		switch {
		case s.kind != review.Accept && s.field.text() == "":
			s.problem = deskWords().Sign.NothingTyped
			return s, nil
		case v.work.key == nil && !s.asking:
			s.asking, s.problem = true, ""
			return s, nil
		}
		s.working, s.problem = true, ""
		return s, s.sign(v)
	case s.asking:
		s.secret = s.secret.update(k)
	case s.kind != review.Accept:
		s.field = s.field.update(k)
		s.problem = ""
	}
	return s, nil
}

func (s signScreen) sign(v deskVisitScreen) tea.Cmd {
	step := ""
	if s.kind == review.Comment && v.at != overview {
		step = v.v.Steps[v.at].Answer.Step
	}
	work, kind, text, opened, passphrase := v.work, s.kind, s.field.text(), v.work.key, []byte(s.secret.input.Value())
	return func() tea.Msg {
		if opened == nil {
			k, err := work.OpenKey(passphrase)
			if err != nil {
				return signedMsg{err: err}
			}
			opened = &k
		}
		return signedMsg{opened, work.Desk.Say(work.Context, v.v, *opened, kind, step, text)}
	}
}

func (s signScreen) view(e env) []string {
	v, _ := s.below.(deskVisitScreen)
	w := deskWords().Sign
	title := map[review.Kind]string{review.Comment: w.Comment, review.SendBack: w.SendBack, review.Accept: w.Accept}[s.kind]
	on := w.OnVisit
	if s.kind == review.Comment && v.at != overview {
		on = fmt.Sprintf(w.OnStep, v.v.Steps[v.at].Title)
	}
	lines := append(ruled(e, title, on), "")
	if s.kind == review.Accept {
		lines = append(lines, w.Accepts)
		for _, text := range v.v.Found() {
			lines = append(lines, bullet(e, text)...)
		}
		if room := e.h - 6; len(lines) > room {
			lines = append(lines[:room-1], w.More)
		}
	} else {
		lines = append(lines, s.field.view(e.st, !s.asking, e.w))
	}
	lines = append(lines, "")
	switch {
	case s.asking && !s.working:
		lines = append(lines, w.Passphrase, e.st.title.Render("> _"))
	case !s.working:
		lines = append(lines, w.Confirm)
	}
	return append(lines, progress(e, s.working, s.problem)...)
}

func (s signScreen) typing() typing {
	if s.kind == review.Accept && !s.asking {
		return nothing
	}
	return words
}

func (signScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "sign"), as(keys.Back, "back-unsigned"), as(keys.Leave, "leave")}
}
