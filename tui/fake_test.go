package tui

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// noon is the moment of every test.
var noon = time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)

// A script is a visit with set steps and set beliefs, so that the frames of the
// screens do not change with the texts of the procedure.
type script struct {
	steps          []visiting.Prompt
	answers, notes []visiting.Answer
	takes          map[string][]visiting.Answer
	latest, before *belief.Result
	seq            int
	stopped        bool
	measured       bool // something was, before the script begins
	state          procedure.State
	keep           error // what Give fails with
}

func (v *script) Site() *site.Site { return site.Demo() }

func (v *script) Head() visiting.Head {
	return visiting.Head{SiteName: "Stony Ford school", Who: "Ada Example", StartedAt: noon}
}

func (v *script) Input() belief.Input {
	set := reading.NewSet()
	if v.measured {
		set.Numbers[reading.LoadA] = 1 // before the script begins
	}
	for _, a := range v.answers {
		if a.Number != nil {
			set.Numbers[a.Reading] = *a.Number
		}
		if a.Kind == visiting.Took && a.Word != "" {
			set.Words[a.Reading] = a.Word
		}
	}
	return belief.Input{Readings: set}
}

func (v *script) Seq() int { return v.seq }

func (v *script) Conclude() error { return nil }

func (v *script) Learn(seq int, r *belief.Result) bool {
	if seq != v.seq {
		return false
	}
	v.latest = r
	return true
}

func (v *script) Belief() *belief.Result              { return v.latest }
func (v *script) Before() *belief.Result              { return v.before }
func (v *script) Answers() []visiting.Answer          { return slices.Clone(v.answers) }
func (v *script) Takes(step string) []visiting.Answer { return v.takes[step] }
func (v *script) Notes() []visiting.Answer            { return slices.Clone(v.notes) }
func (v *script) State() procedure.State              { return v.state }
func (v *script) Procedure() *procedure.Procedure     { return demoProcedure() }

// demoProcedure is made once: each frame asks for it.
var demoProcedure = sync.OnceValue(func() *procedure.Procedure { return procedure.For(site.Demo()) })

func (v *script) Ahead() (rest visiting.Rest, known bool) { return rest, false }

func (v *script) Together() visiting.Telling {
	return visiting.Together(site.Demo(), v.latest, v.before, v.Input().Readings, "")
}

func (v *script) Prompt() visiting.Prompt {
	for _, p := range v.steps {
		if v.index(p.Step.ID) < 0 && !v.stopped {
			return v.expecting(p)
		}
	}
	return visiting.Prompt{Done: true}
}

func (v *script) PromptFor(step string) (visiting.Prompt, bool) {
	i := v.index(step)
	j := slices.IndexFunc(v.steps, func(p visiting.Prompt) bool { return p.Step.ID == step })
	if i < 0 || j < 0 {
		return visiting.Prompt{}, false
	}
	p := v.expecting(v.steps[j])
	p.Given = &v.answers[i]
	return p, true
}

func (v *script) expecting(p visiting.Prompt) visiting.Prompt {
	if v.latest != nil && p.Spec.Form == reading.Number {
		if r, ok := v.latest.Expect[p.Step.Reading]; ok {
			p.Expected = &r
		}
	}
	return p
}

func (v *script) index(step string) int {
	return slices.IndexFunc(v.answers, func(a visiting.Answer) bool { return a.Step == step })
}

// most is what the scripted site can show [V].
const most = 30

func (v *script) Read(p visiting.Prompt, typed string) (visiting.Answer, error) {
	return v.read(p, typed, false)
}

func (v *script) ReadAnyway(p visiting.Prompt, typed string) (visiting.Answer, error) {
	return v.read(p, typed, true)
}

func (v *script) read(p visiting.Prompt, typed string, anyway bool) (visiting.Answer, error) {
	a := visiting.Answer{Step: p.Step.ID, Kind: visiting.Took, Reading: p.Step.Reading, Typed: typed}
	switch {
	case p.Step.Kind == procedure.Choose:
		for f := range strings.FieldsSeq(typed) {
			if n, err := strconv.Atoi(f); err == nil {
				a.Choose(append(procedure.Named(a.Chosen...), p.Step.Choices[n-1]))
			}
		}
	case len(p.Step.Choices) > 0:
		n, err := strconv.Atoi(typed)
		if err != nil {
			return a, err
		}
		a.Word = p.Step.Choices[n-1].ID
	case p.Step.Kind != procedure.Take:
		a.Kind, a.Word = visiting.Did, typed
	default:
		x, err := quantity.Parse(typed, p.Spec.Unit)
		if err != nil {
			return a, err
		}
		a.Number, a.Doubted = &x, anyway && x > most
		if x > most && !anyway {
			return a, &visiting.Doubt{Typed: typed, Reason: fmt.Sprintf("%s is outside the usual range of this site, 0 to %d V", quantity.Format(x, "V"), most)}
		}
	}
	return a, nil
}

func (v *script) Give(a visiting.Answer) error {
	if v.keep != nil {
		return fmt.Errorf("the answer could not be saved: %w", v.keep)
	}
	if a.At.IsZero() {
		return visiting.ErrNoTime
	}
	if a.Kind == visiting.Note {
		v.notes = append(v.notes, a)
		return nil
	}
	v.seq++
	v.before = v.latest
	if !a.Repeats {
		delete(v.takes, a.Step)
	}
	v.takes[a.Step] = append(v.takes[a.Step], a)
	v.stopped = v.stopped || a.Kind == visiting.Stop
	if i := v.index(a.Step); i >= 0 {
		v.answers[i] = a
		return nil
	}
	v.answers = append(v.answers, a)
	return nil
}

// newScript is a visit of one step of each kind.
func newScript() *script {
	spec := func(k reading.Key) reading.Spec {
		s, _ := reading.SpecOf(k)
		return s
	}
	return &script{measured: true, takes: map[string][]visiting.Answer{}, steps: []visiting.Prompt{
		{Step: procedure.Step{ID: "people", Rung: procedure.Prepare, Kind: procedure.Confirm, Title: "People",
			Purpose: "Somebody must be able to help you.", Do: "Look around you. Is an adult within call?"}, Hint: "yes or no"},
		{Step: procedure.Step{ID: "sky", Rung: procedure.Look, Kind: procedure.Take, Reading: reading.Sky, Title: "Sky",
			Do: "Look at the sky where the sun is.", Caution: "Never look into the sun.", Choices: procedure.Named(spec(reading.Sky).Choices...)}, Spec: spec(reading.Sky)},
		{Step: procedure.Step{ID: "loads-on", Rung: procedure.Look, Kind: procedure.Choose, Title: "Loads that are on",
			Do: "Choose all that are switched on now.", Choices: procedure.Named("ward lamps", "phones, two", "radio")}},
		{Step: procedure.Step{ID: "array-v", Rung: procedure.Probe, Kind: procedure.Take, Reading: reading.ArrayV, Title: "Voltage at the array terminals",
			Purpose: "It tells dark from broken.", Do: "Measure across the controller's array terminals. Touch nothing else.",
			Meter: "DC volts, 200 V range", Probes: "Red on array plus, black on array minus.", Red: "array+", Black: "array-",
			Surprise: "Near zero in daylight: the array's circuit is open.", Caution: "One hand away. The terminals are live whenever light falls on the modules.",
			Who: "field staff", Minutes: 2, Reasons: procedure.Named("no access to the terminals", "not safe", "other")},
			Spec: spec(reading.ArrayV), Hint: "13.10 or 13,10 V", Why: "Of all safe steps now, it can tell the most for its time."},
		{Step: procedure.Step{ID: "array-a", Rung: procedure.Clamp, Kind: procedure.Take, Reading: reading.ArrayA, Title: "Array current",
			Do: "Close the clamp around the array's plus wire.", Meter: "Clamp meter, DC amperes", Probes: "Zero with empty jaws, then around ONE wire.", Clamp: "array-wire"},
			Spec: spec(reading.ArrayA), Hint: "2.40 or 2,40 A"},
		{Step: procedure.Step{ID: "log", Rung: procedure.Leave, Kind: procedure.Act, Title: "Log", Do: "Write what you found into the site's log."}},
	}}
}

// answered is the script with its first n steps answered, and a belief.
func answered(n int) *script {
	v := newScript()
	for i, typed := range []string{"yes", "4", "1 3", "0.02", "0", "done"}[:n] {
		a, err := v.Read(v.steps[i], typed)
		if err != nil {
			panic(err)
		}
		a.At = noon
		if err := v.Give(a); err != nil {
			panic(err)
		}
	}
	v.before = believing(0.38)
	v.latest = believing(0.61)
	return v
}

// believing is a belief in an open array circuit.
func believing(p float64) *belief.Result {
	rest := 1 - p
	return &belief.Result{
		Conditions: []belief.Posterior{
			{ID: condition.ArrayOpen, P: p}, {ID: condition.Sound, P: 0.6 * rest}, {ID: condition.ArrayReversed, P: 0.2 * rest},
			{ID: condition.BypassShort, P: 0.15 * rest}, {ID: condition.BatteryWorn, P: 0.05 * rest},
		},
		State: belief.State{Daylight: 0.97, Bright: 0.97, Charging: 0.03, Regulating: 0.3, LoadsCut: 0.02, AsDesigned: 0.6 * rest,
			ChargeLevel: belief.Interval{Mean: 0.62, P05: 0.55, P95: 0.7}, HoursToCut: belief.Interval{Mean: 14, P05: 9, P95: 22}},
		Suspects: []belief.Suspect{{Reading: reading.ArrayV, P: 0.24}, {Reading: reading.Sky, P: 0.01}},
		Expect:   map[reading.Key]belief.Range{reading.ArrayV: {Lo: 12.6, Hi: 20.9}, reading.ArrayA: {Lo: -0.1, Hi: 4.8}},
		Shown: map[reading.Key][]belief.Showing{
			reading.ArrayV: {{ID: condition.ArrayOpen, Range: belief.Range{Lo: -0.1, Hi: 0.3}}, {ID: condition.Sound, Range: belief.Range{Lo: 12.6, Hi: 20.9}},
				{ID: condition.ArrayReversed, Range: belief.Range{Lo: -21.5, Hi: -18}}},
			reading.ArrayA: {{ID: condition.ArrayOpen, Range: belief.Range{Lo: -0.1, Hi: 0.1}}, {ID: condition.Sound, Range: belief.Range{Lo: 0.4, Hi: 4.8}}},
		},
		Array: &belief.Curve{Volts: []float64{0, 5, 10, 14, 16, 17, 18, 19, 20, 21}, Amps: []float64{5, 4.98, 4.95, 4.85, 4.6, 4.3, 3.7, 2.7, 1.2, 0},
			BestV: 16, BestA: 4.6, AtV: 0.1, AtA: 0},
		Evidence: []belief.Evidence{
			{Reading: reading.ArrayV, ForLeader: 1.6, AgainstSound: 1.6, Expected: belief.Range{Lo: 12.6, Hi: 20.9}, Sound: belief.Range{Lo: 13.1, Hi: 20.9}, HasRange: true},
			{Reading: reading.Sky, ForLeader: -0.4, AgainstSound: -0.4},
		},
	}
}

var errDisk = errors.New("no space left on the disk")

// options are what the tests give the screens; whatever would reach outside fails.
func options() Options {
	return Options{
		Unfinished: []record.Item{{ID: "a", SiteName: "Stony Ford school", Who: "Ada Example", StartedAt: noon, Answers: 7}},
		Sites: func() []SiteFile {
			return []SiteFile{
				{Name: "Stony Ford school", Path: "stony-ford.site.toml", Site: site.Demo(), Last: lastVisit(false), Finished: lastVisit(true)},
				{Path: "old.site.toml", Problem: problems(3)},
				{Name: "Lantern Hill clinic", Demo: true, Site: site.Demo()},
			}
		},
		About: func(f SiteFile) (About, error) {
			if f.Finished == nil {
				return About{}, nil
			}
			return About{
				Left:    &visiting.Left{Found: "The array circuit is open (likely, 61 %)", Actions: []string{"Look at the array switch, plugs and fuse; close what is open. (field staff)", "Look along the cable. (a person trained for it)"}},
				Assumed: []string{"Open-circuit voltage, Voc: 22.1 V", "Nominal operating cell temperature: 46 °C"},
				Remarks: []string{"Battery room: it needs fresh air."},
			}, nil
		},
		ReadSite: func(SiteFile) ([]byte, error) { return site.DemoTOML(), nil },
		NewPath:  func(name string) string { return strings.ReplaceAll(strings.ToLower(name), " ", "-") + ".site.toml" },
		Write:    func(id, _ string) (string, error) { return id + ".txt", nil },
		KeepSite: func(string, []byte) error { return errDisk },
		OpenSite: func(path string) SiteFile { return SiteFile{Path: path, Problem: problems(1)} },
		Begin:    func(SiteFile, string, visiting.Depth) (*visiting.Visit, error) { return nil, errDisk },
		Resume: func(record.Item) (*visiting.Visit, string, error) {
			return nil, "", errors.New("another program has it open")
		},
		Infer: func(belief.Input) (*belief.Result, error) { return believing(0.61), nil },
		Signs: Boxes,
		Now:   func() time.Time { return noon },
	}
}

// lastVisit is the last visit to the first site, or the last one that was finished.
func lastVisit(finished bool) *record.Item {
	if finished {
		return &record.Item{ID: "f", SiteName: "Stony Ford school", Who: "Ben Example", StartedAt: noon.AddDate(0, -2, 0), LastAt: noon.AddDate(0, -2, 0), Answers: 40, Finished: true}
	}
	return &record.Item{ID: "a", SiteName: "Stony Ford school", Who: "Ada Example", StartedAt: noon, LastAt: noon, Answers: 7}
}

func problems(n int) error {
	var errs []error
	for i := range n {
		errs = append(errs, fmt.Errorf("old.site.toml:%d:1: cable_mm2: missing; expected a number of square millimetres, such as 4.0", 10+i))
	}
	return errors.Join(errs...)
}

// driver presses keys and runs the commands that come back.
type driver struct {
	m    model
	quit bool
	held []tea.Cmd // commands not run yet, with hold set
	hold bool
}

func drive(s screen, opt Options) *driver {
	m := newModel(opt, rendererIn(termenv.Ascii))
	if s != nil {
		m.screen = s
	}
	return &driver{m: m}
}

// visiting drives a visit that is asked its open question.
func visitUnderWay(v conversation.Visit, opt Options) *driver {
	d := drive(newVisit(&opt, v, func(_ int, ahead *outlook.Outlook) string {
		if ahead == nil {
			return summaryText
		}
		return summaryText + ahead.SmallText()
	}), opt)
	d.send(beginMsg{})
	return d
}

const summaryText = "VISIT SUMMARY\n\n  Site       Stony Ford school\n  Visit by   Ada Example\n\nThe array circuit is open (61 %).\n"

func (d *driver) send(msg tea.Msg) {
	next, cmd := d.m.Update(msg)
	d.m = next.(model)
	d.run(cmd)
}

func (d *driver) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	if d.hold {
		d.held = append(d.held, cmd)
		return
	}
	switch msg := cmd().(type) {
	case tea.QuitMsg:
		d.quit = true
	case tea.BatchMsg:
		for _, c := range msg {
			d.run(c)
		}
	default:
		d.send(msg)
	}
}

// release runs the commands held back.
func (d *driver) release() {
	d.hold = false
	for _, cmd := range d.held {
		d.run(cmd)
	}
	d.held = nil
}

// special are the keys that are not letters.
var special = map[string]tea.KeyType{
	"enter": tea.KeyEnter, "esc": tea.KeyEsc, "up": tea.KeyUp, "down": tea.KeyDown, "left": tea.KeyLeft, "right": tea.KeyRight,
	"pgdown": tea.KeyPgDown, "home": tea.KeyHome, "end": tea.KeyEnd, "f1": tea.KeyF1, "f2": tea.KeyF2, "f3": tea.KeyF3, "f4": tea.KeyF4, "f5": tea.KeyF5, "f6": tea.KeyF6,
	"f7": tea.KeyF7, "f8": tea.KeyF8, "f9": tea.KeyF9, "f11": tea.KeyF11, "f12": tea.KeyF12, "f10": tea.KeyF10, "ctrl+c": tea.KeyCtrlC, "backspace": tea.KeyBackspace, "space": tea.KeySpace,
}

// press presses special keys by their names and anything else letter by letter.
// pick presses keys, and Enter after each digit: a digit goes to a choice, Enter takes it.
func (d *driver) pick(names ...string) *driver {
	for _, n := range names {
		d.press(n)
		if len(n) == 1 && n[0] >= '0' && n[0] <= '9' {
			d.press("enter")
		}
	}
	return d
}

func (d *driver) press(names ...string) *driver {
	for _, n := range names {
		if k, ok := special[n]; ok {
			msg := tea.KeyMsg{Type: k}
			if k == tea.KeySpace {
				msg.Runes = []rune{' '}
			}
			d.send(msg)
			continue
		}
		for _, r := range n {
			d.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		}
	}
	return d
}

func (d *driver) paste(text string) *driver {
	d.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(text), Paste: true})
	return d
}

func (d *driver) size(w, h int) *driver {
	d.send(tea.WindowSizeMsg{Width: w, Height: h})
	return d
}
