package summary

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// Measures of the pictures [mm].
const (
	pictureW = 88.0
	letterH  = 2.5
)

// label is a text of the usual size.
func label(x, y float64, text string, align document.Align, most float64) document.Label {
	return document.Label{At: document.Point{X: x, Y: y}, Text: text, Size: letterH, Align: align, Max: most}
}

func line(width float64, tone document.Tone, points ...document.Point) document.Line {
	return document.Line{Points: points, Width: width, Tone: tone}
}

// A plot is a drawing with an area between two axes.
type plot struct {
	document.Drawing
	left, top, right, bottom float64 // of the area
	maxX, maxY               float64 // at its right and upper edge; both begin at 0
}

func newPlot(h, left, right, maxX, maxY float64) *plot {
	p := &plot{left: left, top: 3.5, right: right, bottom: h - 4.5, maxX: maxX, maxY: maxY}
	p.W, p.H = pictureW, h
	p.Add(line(0.25, document.Ink, document.Point{X: left, Y: p.top}, document.Point{X: left, Y: p.bottom}, document.Point{X: right, Y: p.bottom}))
	return p
}

func (p *plot) at(x, y float64) document.Point {
	return document.Point{X: p.left + (p.right-p.left)*x/p.maxX, Y: p.bottom - (p.bottom-p.top)*y/p.maxY}
}

// tickX marks x on the lower axis.
func (p *plot) tickX(x float64, text string) {
	at := p.at(x, 0)
	p.Add(line(0.2, document.Ink, at, document.Point{X: at.X, Y: at.Y + 0.8}), label(at.X, at.Y+3.6, text, document.Middle, 12))
}

// tickY marks y on the left axis with a faint line across.
func (p *plot) tickY(y float64, text string) {
	at := p.at(0, y)
	if y > 0 {
		p.Add(line(0.15, document.Faint, at, document.Point{X: p.right, Y: at.Y}))
	}
	p.Add(label(at.X-1, at.Y+0.9, text, document.Right, p.left-1))
}

// stepOf is a round distance of ticks for about n of them up to most.
func stepOf(most float64, n int) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(most/float64(n))))
	for _, k := range []float64{1, 2, 5} {
		if most/(k*unit) <= float64(n) {
			return k * unit
		}
	}
	return 10 * unit
}

// curve is the array's expected curve with the point it works at; nil where
// there is none.
func (f facts) curve() document.Block {
	c := f.result.Array
	if c == nil || len(c.Volts) == 0 {
		return nil
	}
	const h = 38
	t := texts().Picture
	atV, atA := c.AtV, c.AtA
	if x, ok := f.readings.Numbers[reading.ArrayV]; ok {
		atV = x
	}
	if x, ok := f.readings.Numbers[reading.ArrayA]; ok {
		atA = x
	}
	topV, topA := max(slices.Max(c.Volts), atV), 1.15*max(slices.Max(c.Amps), atA)
	p := newPlot(h, 8, pictureW-3, topV, topA)
	for y, step := 0.0, stepOf(topA, 4); y < 0.97*topA; y += step {
		p.tickY(y, fmt.Sprintf("%.3g", y))
	}
	for x, step := 0.0, stepOf(topV, 6); x < 0.94*topV; x += step {
		p.tickX(x, fmt.Sprintf("%.3g", x))
	}
	p.Add(label(0, 2.2, t.CurveY, document.Left, 30), label(p.right+3, p.bottom+3.6, t.CurveX, document.Right, 8))
	var points []document.Point
	for i, v := range c.Volts {
		points = append(points, p.at(v, c.Amps[i]))
	}
	p.Add(line(0.45, document.Accent, points...))
	best := p.at(c.BestV, c.BestA)
	p.Add(document.Dot{At: best, R: 1, Tone: document.Accent}, label(best.X+1.6, best.Y-0.6, t.CurveBest, document.Left, 25))
	v, a := max(0, atV), max(0, atA)
	now := p.at(v, a)
	down := line(0.2, document.Ink, p.at(v, 0), now, p.at(0, a))
	down.Dashed = true
	text := label(now.X+2, now.Y-1.4, t.CurveNow+" "+quantity.Format(atV, "V")+", "+quantity.Format(atA, "A"), document.Left, 45)
	text.Bold = true
	if now.X > pictureW/2 {
		text.At.X, text.Align = now.X-1.6, document.Right
	}
	if now.Y-p.top < 5 {
		text.At.Y = now.Y + 4
	}
	p.Add(down, document.Dot{At: now, R: 1.2, Tone: document.Ink}, text)
	said := fmt.Sprintf(t.CurveSaid, quantity.Format(atV, "V"), quantity.Format(atA, "A"), quantity.Format(c.BestV, "V"), quantity.Format(c.BestA, "A"), c.BestV*c.BestA)
	return document.Picture{Drawing: p.Drawing, Caption: said}
}

// largeStep is the change of the leader's probability that makes a reading worth
// naming beside the picture.
const largeStep = 0.1

// steps is the belief in the leading conditions over the readings; nil for fewer
// than two readings.
func (f facts) steps(list []Believed) document.Block {
	if len(list) < 2 {
		return nil
	}
	const h, right, maxLines = 38, 46.0, 4
	t := texts().Picture
	p := newPlot(h, 9, right, float64(len(list))+0.5, 1)
	for _, y := range []float64{0, 0.5, 1} {
		p.tickY(y, quantity.Share(y))
	}
	for i, step := 0, max(1, (len(list)+7)/8); i < len(list); i += step {
		p.tickX(float64(i+1), fmt.Sprint(i+1))
	}
	p.Add(label(right+1.5, p.bottom+3.6, t.StepsX, document.Left, pictureW-right-1.5))
	lines := slices.DeleteFunc(slices.Clone(f.result.Conditions), func(c belief.Posterior) bool {
		return !slices.ContainsFunc(list, func(b Believed) bool { return b.of(c) >= alternative })
	})
	lines = lines[:min(maxLines, len(lines))]
	var names []document.Label
	for n, c := range lines {
		var points []document.Point
		for i, b := range list {
			points = append(points, p.at(float64(i+1), b.of(c)))
		}
		width, tone := 0.3, document.Quiet
		if n == 0 {
			width, tone = 0.7, document.Accent
		}
		drawn := line(width, tone, points...)
		drawn.Dashed = n >= 2
		p.Add(drawn)
		end := points[len(points)-1]
		p.Add(document.Dot{At: end, R: 0.7, Tone: tone})
		name := label(end.X+1.5, end.Y+0.9, condition.Of(c.ID).Title, document.Left, pictureW-right-1.5)
		name.Bold = n == 0
		names = append(names, name)
	}
	for _, name := range spread(names, letterH+0.4, p.top+1, p.bottom) {
		p.Add(name)
	}
	return document.Picture{Drawing: p.Drawing, Caption: f.turns(list), Words: f.counted(list)}
}

// spread moves labels apart, keeping their order, within top and bottom.
func spread(labels []document.Label, apart, top, bottom float64) []document.Label {
	list := slices.Clone(labels)
	slices.SortStableFunc(list, func(a, b document.Label) int {
		switch {
		case a.At.Y < b.At.Y:
			return -1
		case a.At.Y > b.At.Y:
			return 1
		}
		return 0
	})
	for i := range list {
		low := top
		if i > 0 {
			low = list[i-1].At.Y + apart
		}
		list[i].At.Y = max(low, min(list[i].At.Y, bottom))
	}
	for i := len(list) - 1; i >= 0; i-- {
		list[i].At.Y = min(list[i].At.Y, bottom-apart*float64(len(list)-1-i))
	}
	return list
}

// turns names the readings that changed the belief in the leader most.
func (f facts) turns(list []Believed) string {
	var named []string
	for i := 1; i < len(list); i++ {
		if change := list[i].of(f.leader()) - list[i-1].of(f.leader()); math.Abs(change) >= largeStep {
			named = append(named, fmt.Sprintf(texts().Picture.Turn, i+1, list[i].Step, 100*change))
		}
	}
	if len(named) == 0 {
		return texts().Picture.NoTurn
	}
	return fmt.Sprintf(texts().Picture.Turns, strings.Join(named, "; "))
}

// counted says what led after which readings.
func (f facts) counted(list []Believed) []string {
	var words []string
	for i, b := range list {
		leader := b.Conditions[0]
		last := i == len(list)-1
		if i > 0 && !last && list[i-1].Conditions[0].ID == leader.ID {
			continue
		}
		words = append(words, fmt.Sprintf(texts().Picture.After, i+1, b.Step, condition.Of(leader.ID).Title, quantity.Percent(leader.P)))
	}
	return words
}

// charge is the charge level with its interval.
func (f facts) charge() document.Block {
	const h, left, right, y = 11.0, 4.0, pictureW - 6, 3.4
	c := f.result.State.ChargeLevel
	at := func(x float64) float64 { return left + (right-left)*min(1, max(0, x)) }
	var d document.Drawing
	d.W, d.H = pictureW, h
	d.Add(document.Area{Points: document.Rect(at(c.P05), y-1.5, max(0.5, at(c.P95)-at(c.P05)), 3), Tone: document.Faint},
		document.Frame(left, y-1.5, right-left, 3, 0.25, document.Ink),
		line(1, document.Accent, document.Point{X: at(c.Mean), Y: y - 2.2}, document.Point{X: at(c.Mean), Y: y + 2.2}))
	for _, x := range []float64{0, 0.25, 0.5, 0.75, 1} {
		d.Add(line(0.2, document.Ink, document.Point{X: at(x), Y: y + 1.5}, document.Point{X: at(x), Y: y + 2.3}), label(at(x), y+5.4, quantity.Share(x), document.Middle, 10))
	}
	for _, x := range []float64{c.P05, c.P95} {
		d.Add(line(0.35, document.Accent, document.Point{X: at(x), Y: y - 1.5}, document.Point{X: at(x), Y: y + 1.5}))
	}
	return document.Picture{Drawing: d, Caption: fmt.Sprintf(texts().Picture.Charge, 100*c.Mean, 100*c.P05, 100*c.P95)}
}

// maxEarlier is how many visits the trend shows beside the present one.
const maxEarlier = 8

// trend is this site's charge level and battery voltage over its visits; nil
// without an earlier one.
func (f facts) trend(earlier []Earlier) document.Block {
	if len(earlier) == 0 || f.visit == nil {
		return nil
	}
	const h = 36
	t := texts().Picture
	list := append(slices.Clone(earlier[max(0, len(earlier)-maxEarlier):]), EarlierOf(f.visit, f.result))
	p := newPlot(h, 9, pictureW-1, float64(len(list)), 1)
	p.bottom -= 6
	p.Shapes = nil
	p.Add(line(0.25, document.Ink, document.Point{X: p.left, Y: p.top}, document.Point{X: p.left, Y: p.bottom}, document.Point{X: p.right, Y: p.bottom}))
	for _, y := range []float64{0, 0.5, 1} {
		p.tickY(y, quantity.Share(y))
	}
	room := (p.right - p.left) / float64(len(list))
	var words []string
	var means []document.Point
	for i, e := range list {
		x := float64(i) + 0.5
		lo, hi, mean := p.at(x, e.Charge.P05), p.at(x, e.Charge.P95), p.at(x, e.Charge.Mean)
		p.Add(line(1.6, document.Faint, lo, hi))
		means = append(means, mean)
		p.Add(document.Dot{At: mean, R: 0.9, Tone: document.Accent})
		verdict, faulty := t.TrendSound, false
		switch {
		case e.Leader.P < decided:
			verdict = t.TrendOpen
		case e.Leader.ID != condition.Sound:
			verdict, faulty = t.TrendFault, true
		}
		volts := "-"
		if e.BatteryV != nil {
			volts = quantity.Format(*e.BatteryV, "V")
		}
		foot := []string{e.At.Format("2006-01-02"), volts, verdict}
		for n, text := range foot {
			l := label(p.at(x, 0).X, p.bottom+3.2+3*float64(n), text, document.Middle, room-0.6)
			l.Bold = n == 2 && faulty
			p.Add(l)
		}
		words = append(words, fmt.Sprintf(t.TrendSaid, foot[0], condition.Of(e.Leader.ID).Title, quantity.Percent(e.Leader.P), 100*e.Charge.Mean, volts))
	}
	p.Add(line(0.3, document.Accent, means...))
	return document.Picture{Drawing: p.Drawing, Caption: t.Trend, Words: words}
}
