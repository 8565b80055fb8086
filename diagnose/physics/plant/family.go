package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/site"
)

// A family is the modules that one nameplate may belong to: all have its Isc, Voc,
// its current at Vmp and its coefficients, and differ in the ideality of their cells
// and in their shunt, which a nameplate does not tell. In full light they are alike,
// in weak light they are not. What more of either takes at the power point, a smaller
// series resistance gives back.
//
// The saturation current's exponent makes Voc follow the nameplate's own coefficient
// at any ideality; the gap of De Soto's relation suits an ideality near 1 only.
type family [familyNodes][familyNodes]member

// A member is one module.
type member struct {
	a, rs, il float64
	foot      float64 // A times the logarithm of I0, about minus Voc, so nearly straight
	sat       float64 // exponent of De Soto's saturation current with temperature
}

// The grid over ideality and the logarithm of the shunt's share of Isc at Voc. Eight
// measured modules have idealities of 1.13 to 1.32 by their Voc from 1000 to 100 W/m2
// (NREL mPERT, tested); shunts of a given nameplate differ tenfold.
const (
	familyNodes  = 7
	minIdeality  = 0.9
	idealityStep = 0.1
	minShunt     = 0.001
	shuntStep    = 0.8 // of the logarithm
)

// shuntAt are the shunts of the grid.
var shuntAt = func() (at [familyNodes]float64) {
	for j := range at {
		at[j] = minShunt * math.Exp(shuntStep*float64(j))
	}
	return at
}()

func newFamily(m site.Module, alpha float64) *family {
	f := new(family)
	for i := range f {
		for j := range f[i] {
			n := minIdeality + idealityStep*float64(i)
			f[i][j] = newMember(m, n, shuntAt[j], alpha)
		}
	}
	return f
}

// newMember finds Rs for ideality n and a shunt that takes the given share of Isc at
// Voc. Where even none is too much, the ideality is the largest that leaves room.
func newMember(m site.Module, n, share, alpha float64) member {
	g := share * m.IscA / m.VocV
	thermal := boltzmannEV * refK * float64(m.Cells)
	at := func(n, rs float64) (Diode, float64) {
		a := n * thermal
		short := m.IscA * rs
		d := Diode{A: a, Rs: rs, Gsh: g}
		d.I0 = (m.IscA - g*(m.VocV-short)) / (math.Expm1(m.VocV/a) - math.Expm1(short/a))
		d.IL = d.I0*math.Expm1(m.VocV/a) + g*m.VocV
		vd := m.VmpV + m.ImpA*rs
		return d, d.IL - d.I0*math.Expm1(vd/a) - g*vd - m.ImpA
	}
	const halvings = 50
	d, spare := at(n, 0)
	if spare < 0 {
		lo, hi := minIdeality/3, n
		for range halvings {
			mid := (lo + hi) / 2
			if d, spare = at(mid, 0); spare < 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
	} else {
		lo, hi := 0.0, (m.VocV-m.VmpV)/m.ImpA
		for range halvings {
			mid := (lo + hi) / 2
			if d, spare = at(n, mid); spare < 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
	}
	// Of A·T/T'·ln(IL/I0) the slope with temperature is the nameplate's.
	perK := math.Log(d.IL/d.I0)/refK + alpha/d.IL - m.VocPctPerC/100*m.VocV/d.A
	const step = 1.0
	theirs := (moveTo(refLight, refC+step, 1).lnSat - moveTo(refLight, refC-step, 1).lnSat) / (2 * step)
	return member{a: d.A, foot: d.A * math.Log(d.I0), rs: d.Rs, il: d.IL, sat: perK / theirs}
}

// module is the member of an ideality and a shunt, between those of the grid, and its
// saturation current's exponent.
func (f *family) module(m *site.Module, ideality, share float64) (d Diode, sat float64) {
	const last = familyNodes - 1.001
	x := min(max((ideality-minIdeality)/idealityStep, 0), last)
	share = min(max(share, shuntAt[0]), shuntAt[familyNodes-1])
	i, j := int(x), 0
	for j < familyNodes-2 && shuntAt[j+1] < share {
		j++
	}
	// Between two shunts what they take counts, not its logarithm.
	x -= float64(i)
	y := (share - shuntAt[j]) / (shuntAt[j+1] - shuntAt[j])
	var b member
	add := func(w float64, c *member) {
		b.a, b.foot, b.rs, b.il, b.sat = b.a+w*c.a, b.foot+w*c.foot, b.rs+w*c.rs, b.il+w*c.il, b.sat+w*c.sat
	}
	add((1-x)*(1-y), &f[i][j])
	add(x*(1-y), &f[i+1][j])
	add((1-x)*y, &f[i][j+1])
	add(x*y, &f[i+1][j+1])
	return Diode{IL: b.il, I0: fastmath.Exp(b.foot / b.a), A: b.a, Rs: b.rs, Gsh: share * m.IscA / m.VocV}, b.sat
}
