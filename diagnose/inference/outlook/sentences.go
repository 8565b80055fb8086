package outlook

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

// gradeOf is what is said at a probability.
func gradeOf(list []graded, p float64) string {
	for _, g := range list {
		if p < g.From {
			continue
		}
		if g.Against {
			p = 1 - p
		}
		return fmt.Sprintf(g.Text, quantity.Percent(p))
	}
	return ""
}

// joined is a list as people say it.
func joined(labels []string) string {
	last := len(labels) - 1
	if last < 1 {
		return strings.Join(labels, "")
	}
	return strings.Join(labels[:last], ", ") + words().And + labels[last]
}

// clock is the time so many hours after from, to the half hour before it.
func (o *Outlook) clock(from time.Time, h float64) string { return o.clockBeside(from, h, h) }

// clockBeside is clock for a time that stands beside a later one: both have a date or none.
func (o *Outlook) clockBeside(from time.Time, h, later float64) string {
	t := from.Add(hours(h))
	form := words().Clock.Near
	if from.Add(hours(later)).Sub(o.At) >= 23*time.Hour {
		form = words().Clock.Far
	}
	y, m, d := t.Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, t.Location())
	return day.Add(t.Sub(day).Truncate(30 * time.Minute)).Format(form)
}

// exact is a time as the clock shows it.
func exact(t time.Time) string { return t.Format(words().Clock.Near) }

// A battery that gains or loses less than this part of a percent an hour does neither.
const evenPercent = 0.1

// NowText says what there is to spare now.
func (o *Outlook) NowText() []string {
	return append(append([]string{o.arrayText()}, o.balanceText()...), o.loadsNow()...)
}

// arrayText is what the array gives now.
func (o *Outlook) arrayText() string {
	w, n := &words().Now, &o.Now
	if n.Day < 0.5 {
		return w.Dark
	}
	text := fmt.Sprintf(w.Gives, whole(n.GivesW.P50), whole(n.GivesW.P05), whole(n.GivesW.P95))
	if n.CouldW.P50 > 1.05*n.GivesW.P50+1 {
		text += " " + fmt.Sprintf(w.Held, n.CouldW.P50, n.CouldW.P05, n.CouldW.P95)
	}
	return text
}

// whole is a number rounded, that is never less than nothing and yet shown as nought.
func whole(x float64) float64 { return math.Round(x) + 0 }

// balanceText is what is taken, what is to spare, and what that does to the battery.
func (o *Outlook) balanceText() []string {
	w, n := &words().Now, &o.Now
	list := []string{fmt.Sprintf(w.Takes, n.TakenW.P50, n.TakenW.P05, n.TakenW.P95)}
	return append(list, o.spareText()...)
}

func (o *Outlook) spareText() (list []string) {
	w, n := &words().Now, &o.Now
	switch spare := n.SpareW; {
	case n.Day < 0.5:
	case spare.P50 >= 0.5:
		list = append(list, fmt.Sprintf(w.Spare, spare.P50, max(0, spare.P05)))
	case spare.P50 <= -0.5:
		list = append(list, fmt.Sprintf(w.Lacks, -spare.P50))
	}
	switch p := n.PerHour.P50; {
	case p > evenPercent:
		list = append(list, fmt.Sprintf(w.Gains, n.GainsA.P50, n.GainsW.P50, p))
	case p < -evenPercent:
		list = append(list, fmt.Sprintf(w.Loses, -n.GainsA.P50, -n.GainsW.P50, -p))
	default:
		list = append(list, w.Even)
	}
	return list
}

// loadsNow says of each load whether it can run now. At night all take from the battery.
func (o *Outlook) loadsNow() (list []string) {
	w, n := &words().Now, &o.Now
	for _, l := range n.Loads {
		switch form := w.Load; {
		case l.Runs < 0.5:
			list = append(list, fmt.Sprintf(w.Idle, l.Label))
		case n.Day >= 0.5:
			if l.On {
				form = w.LoadOn
			}
			list = append(list, fmt.Sprintf(form, l.Label, gradeOf(w.Free, l.Free)))
		}
	}
	return list
}

// lastsText says how long loads last, under this name.
func (o *Outlook) lastsText(name string, x *Lasting) string {
	w, t := &words().Tonight, &o.Tonight
	switch end := t.Until.Sub(t.From).Hours(); {
	case x.Served < 0.5:
		return fmt.Sprintf(w.Unfed, name)
	case t.Rises.IsZero() && math.IsInf(x.Hours.P50, 1):
		return fmt.Sprintf(w.Long, name, o.clock(t.From, end), quantity.Percent(x.likely()))
	case math.IsInf(x.Hours.P05, 1) || !t.Rises.IsZero() && math.IsInf(x.Hours.P50, 1) && t.From.Add(hours(x.Hours.P05)).After(t.Rises):
		return fmt.Sprintf(w.Morning, name, quantity.Percent(x.likely()))
	case math.IsInf(x.Hours.P50, 1) && x.Hours.P05 < 1:
		return fmt.Sprintf(w.MorningOrNot, name, quantity.Percent(x.likely()))
	case math.IsInf(x.Hours.P50, 1):
		return fmt.Sprintf(w.MorningLikely, name, quantity.Percent(x.likely()), o.clock(t.From, x.Hours.P05))
	case x.Hours.P05 < 0.5 && x.Hours.P50 < 1:
		return fmt.Sprintf(w.UntilAlready, name, o.clock(t.From, x.Hours.P50))
	default:
		return fmt.Sprintf(w.Until, name, o.clock(t.From, x.Hours.P50), o.clockBeside(t.From, x.Hours.P05, x.Hours.P50))
	}
}

// halfText says when the first loads bring a lead-acid battery to half charge, "" where
// that does not matter.
func (o *Outlook) halfText(x *Lasting) string {
	w, t := &words().Tonight, &o.Tonight
	if !o.Lead || x.Served < 0.5 {
		return ""
	}
	switch {
	case x.Half.P50 < 0.25:
		return w.HalfAlready
	case math.IsInf(x.Half.P50, 1):
		return fmt.Sprintf(w.HalfMorning, quantity.Percent(x.AboveHalf))
	case x.Half.P05 < 0.5:
		return fmt.Sprintf(w.HalfSoon, o.clock(t.From, x.Half.P50))
	default:
		return fmt.Sprintf(w.Half, o.clock(t.From, x.Half.P50), o.clockBeside(t.From, x.Half.P05, x.Half.P50))
	}
}

// TonightText says until what o'clock loads last.
func (o *Outlook) TonightText() []string {
	w, t := &words().Tonight, &o.Tonight
	if len(t.Sets) == 0 {
		return []string{w.None}
	}
	form := w.From
	if t.Dark {
		form = w.Night
	}
	var list []string
	if off := o.OffText(); off != "" {
		list = append(list, off)
	}
	list = append(list, fmt.Sprintf(form, exact(t.From)))
	for i := range t.Sets {
		x := &t.Sets[i]
		list = append(list, strings.TrimSpace(o.lastsText(joined(x.Labels), x)+" "+o.halfText(x)))
	}
	if p := t.Sets[0].Served; p >= 0.5 && p < 0.9 {
		list = append(list, fmt.Sprintf(w.IfFed, quantity.Percent(p)))
	}
	for i := range t.Loads {
		if x := &t.Loads[i]; len(t.Sets[0].Labels) > 1 || x.Labels[0] != t.Sets[0].Labels[0] {
			list = append(list, o.lastsText(joined(x.Labels), x))
		}
	}
	if !o.Cuts {
		list = append(list, w.NoCut)
	}
	return append(list, o.sunText())
}

// OffText says what to switch off tonight so that what matters most lasts until the morning;
// "" where nothing gets power, or no morning comes.
func (o *Outlook) OffText() string {
	w, t := &words().Tonight, &o.Tonight
	sure := quantity.Percent(t.Off.Sure)
	switch off := &t.Off; {
	case t.Rises.IsZero() || len(t.Sets) == 0 || t.Sets[0].Served < 0.5:
		return ""
	case len(off.Keeps) == 0 && len(o.lastAlone()) > 0:
		return fmt.Sprintf(w.OffOne, joined(t.Sets[0].Labels), strings.Join(o.lastAlone(), "; "))
	case len(off.Keeps) == 0:
		return fmt.Sprintf(w.OffAll, joined(t.Sets[0].Labels))
	case len(off.Labels) == 0:
		return w.OffNone
	case off.By.Sub(t.From) < 30*time.Minute:
		return fmt.Sprintf(w.OffNow, joined(off.Labels), joined(off.Keeps), sure)
	default:
		return fmt.Sprintf(w.OffBy, o.clock(t.From, off.By.Sub(t.From).Hours()), joined(off.Labels), joined(off.Keeps), sure)
	}
}

// lastAlone are the loads that matter most, not all of which last, and that do each by itself.
func (o *Outlook) lastAlone() (list []string) {
	t := &o.Tonight
	for i := range t.Loads {
		x := &t.Loads[i]
		if len(t.Sets[0].Labels) > 1 && slices.Contains(t.Sets[0].Labels, x.Labels[0]) && x.likely() >= planned {
			list = append(list, fmt.Sprintf("%s (%s)", x.Labels[0], quantity.Percent(x.likely())))
		}
	}
	return list
}

func (o *Outlook) sunText() string {
	w, t := &words().Tonight, &o.Tonight
	switch {
	case t.Rises.IsZero():
		return w.NoSun
	case t.Sets[0].Served < 0.5:
		return fmt.Sprintf(w.Sunrise, exact(t.Rises))
	case t.Takes.IsZero():
		return fmt.Sprintf(w.TakesNot, exact(t.Rises))
	default:
		return fmt.Sprintf(w.Takes, exact(t.Rises), exact(t.Takes.Round(15*time.Minute)))
	}
}

// PlanText is the plan of the day, with what was found in mind.
func (o *Outlook) PlanText() []string {
	w := &words().Plan
	list := []string{o.FaultText()}
	for i := range o.Day.Loads {
		list = append(list, o.planLine(&o.Day.Loads[i]))
	}
	if len(o.Uses) > 0 && o.Uses[len(o.Uses)-1].Priority > o.Uses[0].Priority {
		list = append(list, w.First)
	}
	var uses []string
	for _, u := range o.Uses {
		switch {
		case u.Hours >= 24:
			uses = append(uses, fmt.Sprintf(w.Always, u.Label))
		case u.Evening:
			uses = append(uses, fmt.Sprintf(w.Evening, u.Label, u.Hours))
		default:
			uses = append(uses, fmt.Sprintf(w.Noon, u.Label, u.Hours))
		}
	}
	if uses != nil {
		list = append(list, fmt.Sprintf(w.Use, strings.Join(uses, "; ")))
	}
	return list
}

// FaultText is what the leading condition means for the use of power; where nothing leads,
// that of the likeliest.
func (o *Outlook) FaultText() string {
	text := words().Fault[o.Fault]
	if o.Fault == condition.Sound && o.Tonight.Rises.IsZero() {
		text = words().Plan.NoSun
	}
	if o.Fault == condition.Sound || o.Sure >= sureFault {
		return text
	}
	return fmt.Sprintf(words().Plan.Unsure, condition.Of(o.Fault).Title, quantity.Percent(o.Sure), text)
}

// sureFault is the probability from which a fault is spoken of as found, as in a summary.
const sureFault = 0.8

func (o *Outlook) planLine(x *LoadDay) string {
	w := &words().Plan
	var parts []string
	for _, s := range []struct {
		source Source
		text   string
	}{{FromArray, w.Array}, {FromBattery, w.Battery}} {
		if spans := o.spans(x, s.source); spans != "" {
			parts = append(parts, fmt.Sprintf(s.text, spans))
		}
	}
	switch rest := o.spans(x, NotToday); {
	case len(parts) == 0:
		parts = append(parts, w.Not)
	case rest != "":
		parts = append(parts, w.NotRest)
	}
	return fmt.Sprintf(w.Line, x.Label, strings.Join(parts, ", "))
}

// spans are the hours of a source, such as "07 to 16 h".
func (o *Outlook) spans(x *LoadDay, source Source) string {
	var list []string
	hour := func(h int) int { return (o.Day.From.Hour() + h) % 24 }
	// The last hour is followed by the first: a span may go on over both.
	other := slices.IndexFunc(x.Hours[:], func(s Source) bool { return s != source })
	if other < 0 {
		return words().Plan.AllHours
	}
	for h := other; h < other+24; {
		if x.Hours[h%24] != source {
			h++
			continue
		}
		from := h
		for x.Hours[h%24] == source {
			h++
		}
		to := hour(h)
		if to == 0 {
			to = 24
		}
		list = append(list, fmt.Sprintf("%02d-%02d h", hour(from), to))
	}
	slices.Sort(list)
	return joined(list)
}

// mostMissing is the part of their energy that the loads may go without, and the life of a
// battery so used still be worth telling.
const mostMissing = 0.5

// AheadText is the week and the year.
func (o *Outlook) AheadText() []string {
	w, y := &words().Ahead, &o.Year
	switch {
	case len(o.Uses) == 0:
		return []string{w.NoLoads}
	case y.NeedWh == 0:
		return []string{w.NoHours}
	}
	m, bad := &y.Months[o.At.Month()-1], &y.Months[y.Worst-1]
	cut := w.Cut
	if !o.Cuts {
		cut = w.CutEmpty
	}
	list := []string{
		fmt.Sprintf(w.Need, y.NeedWh, m.YieldWh.P50, m.YieldWh.P05, m.YieldWh.P95),
		o.levelText(),
		fmt.Sprintf(cut, quantity.Percent(o.Week.Cut[len(o.Week.Cut)-1])),
	}
	if y.dark() {
		list = append(list, w.NoMonth)
	} else {
		list = append(list, fmt.Sprintf(w.Worst, words().Months[y.Worst-1], bad.SunH.P50, bad.YieldWh.P50, bad.NeedWh.P50, quantity.Percent(bad.Cut)))
	}
	if m.Missing < mostMissing {
		list = append(list, fmt.Sprintf(w.Depth, 100*y.Cycle.P50)+" "+fmt.Sprintf(w.Life, y.Life.P50, y.Life.P05, y.Life.P95))
	}
	if o.Known {
		return append(list, w.Light)
	}
	return append(list, w.Guess)
}

// levelText is how far the battery is taken down in the week.
func (o *Outlook) levelText() string {
	w, low := &words().Ahead, o.Week.Lowest
	switch apart := o.Fault == condition.BatteryOpen || o.Fault == condition.BatteryOff; {
	case apart && o.Sure >= 0.5:
		return w.Apart
	case low.P50-low.P05 < 0.01:
		return fmt.Sprintf(w.Level, 100*low.P05)
	default:
		return fmt.Sprintf(w.Week, 100*low.P50, 100*low.P05)
	}
}

// SmallText is said where the system is too small though nothing is broken; "" else.
func (o *Outlook) SmallText() string {
	w := &words().Small
	begins := w.Sure
	if o.Sure < sureFault {
		begins = w.Likely
	}
	switch o.TooSmall {
	case "":
		return ""
	case "array":
		if m := &o.Year.Months[o.At.Month()-1]; m.SunH.P95 < littleSun {
			return fmt.Sprintf(w.Sun, begins)
		}
		return fmt.Sprintf(w.Array, begins, o.Year.NeedWh, o.Year.Months[o.At.Month()-1].YieldWh.P50)
	default:
		return fmt.Sprintf(w.Battery, begins)
	}
}

// littleSun is below what any array makes use of [peak sun hours a day] (judgement).
const littleSun = 0.1

// A CheckLine is one rule in words.
type CheckLine struct{ Title, Value, Rule, Verdict, Source string }

// CheckLines are the rules in words.
func (o *Outlook) CheckLines() []CheckLine {
	var list []CheckLine
	for _, c := range o.Checks {
		t := words().Check[c.ID]
		l := CheckLine{Title: t.Title, Value: t.Value, Rule: t.Rule, Source: t.Source, Verdict: words().Verdict.Good}
		if t.Form != "" {
			l.Value = fmt.Sprintf(t.Form, c.Value*t.Scale)
		}
		switch {
		case !c.Known:
			l.Verdict = words().Verdict.Look
		case !c.Good:
			l.Verdict = words().Verdict.Bad + ". " + t.Bad
		}
		list = append(list, l)
	}
	return list
}

// HelpText says what would help most, at most so many changes.
func (o *Outlook) HelpText(most int) []string {
	w, y := &words().Helps, &o.Year
	if y.NeedWh == 0 {
		return nil
	}
	missing, cut := y.Missed()
	switch {
	case cut < needsHelp && missing < needsHelp/10:
		return []string{w.None}
	}
	list := []string{fmt.Sprintf(w.Intro, words().Months[y.Worst-1], quantity.Percent(missing), quantity.Percent(cut))}
	for i, h := range o.Helps {
		if i == most {
			break
		}
		list = append(list, fmt.Sprintf(w.Item, h.words(), quantity.Percent(h.Missing), quantity.Percent(h.Cut)))
	}
	if len(o.Helps) == 0 {
		list = append(list, w.NoHelp)
	}
	return list
}

// words are the change.
func (h *Help) words() string {
	text := words().Help[h.ID]
	switch {
	case h.Label != "":
		return fmt.Sprintf(text, h.Label)
	case h.Size > 0:
		return fmt.Sprintf(text, h.Size)
	}
	return text
}

// NightLine is tonight in one sentence: how long all loads last, and where that is not
// until the morning, the most that is, or else what is kept longest.
func (o *Outlook) NightLine() string {
	sets := o.Tonight.Sets
	if len(sets) == 0 {
		return ""
	}
	all, fewer := &sets[len(sets)-1], &sets[0]
	text := o.lastsText(joined(all.Labels), all)
	for i := range sets {
		if math.IsInf(sets[i].Hours.P50, 1) {
			fewer = &sets[i]
		}
	}
	if fewer.Hours.P50 <= all.Hours.P50 {
		return text
	}
	name := fmt.Sprintf(words().Tonight.Alone, joined(fewer.Labels))
	return strings.TrimSuffix(text, ".") + "; " + o.lastsText(name, fewer)
}

// MonthText is the name of a month.
func MonthText(m time.Month) string { return words().Months[m-1] }
