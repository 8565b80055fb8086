package virtualsite

import (
	"slices"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
)

// A Ready is the id of something that is made ready before the work: rings off, leads
// looked over, the meter proved, air, eyes, tools, people asked.
type Ready string

// What is made ready.
const (
	ReadyRings  Ready = "rings"
	ReadyLeads  Ready = "leads"
	ReadyProven Ready = "meter"
	ReadyAir    Ready = "air"
	ReadyEyes   Ready = "eyes"
	ReadyTools  Ready = "tools"
	ReadyPeople Ready = "people"
)

// Readies are all of them.
var Readies = []Ready{ReadyRings, ReadyLeads, ReadyProven, ReadyAir, ReadyEyes, ReadyTools, ReadyPeople}

// readySteps are the steps of a visit that ask for it.
var readySteps = map[string]Ready{
	"jewellery": ReadyRings, "leads": ReadyLeads, "meter-proven": ReadyProven, "meter-after": ReadyProven, "air": ReadyAir, "eyes": ReadyEyes, "tools": ReadyTools, "permission": ReadyPeople,
}

// ReadyFor is what a step of a visit asks to be made ready, "" for nothing.
func ReadyFor(step string) Ready { return readySteps[step] }

// Prepare makes something ready, and gives what is seen of it.
func (b *Bench) Prepare(r Ready) string {
	if !b.IsReady(r) {
		b.ready = append(b.ready, r)
	}
	switch r {
	case ReadyEyes:
		b.worn = true
	case ReadyPeople:
		b.asked = true
	}
	return texts().Ready[r]
}

// IsReady reports whether it was made ready here.
func (b *Bench) IsReady(r Ready) bool { return slices.Contains(b.ready, r) }

// Took reports whether a reading was taken here, or its place looked at.
func (b *Bench) Took(k reading.Key) bool {
	if b.takes[k] > 0 {
		return true
	}
	_, lamp := k.LampLabel()
	_, inverterLamp := k.InverterLabel()
	switch {
	case k == reading.Sky, k == reading.Shade, k == reading.Glass:
		return b.seen[AtArray]
	case lamp, k == reading.Locked:
		return b.seen[AtController]
	case inverterLamp, k == reading.ChargerOn, k == reading.PackPercent, k == reading.PackAlarm:
		return b.seen[AtBattery]
	case k == reading.NotWorking:
		return b.seen[AtLoads]
	case k == reading.Complaint, k == reading.Changed, k == reading.Visit, k == reading.RunW, k == reading.RunH:
		return b.asked
	case k == reading.Seen:
		return b.seen[AtArray] && b.seen[AtController] && b.seen[AtBattery] && b.seen[AtLoads]
	}
	return false
}

// Times is how often the two points of a pair were measured, or a wire was clamped, "" for
// never.
func (b *Bench) Times(place string) int { return b.times[place] }

// Mend leaves the plant with these faults only; its charge and its parts stay as they are.
func (b *Bench) Mend(left plant.Fault) {
	b.u.Fault = left
	b.changed()
}
