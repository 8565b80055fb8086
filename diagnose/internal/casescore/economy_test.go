package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Figures by hand: one case right after four readings in the order asked, one
// that stops wrong after three.
func TestEconomyTable(t *testing.T) {
	early := path{taken: 4, onOffer: 9, right: []bool{false, false, true, false, true}, all: true}
	wrong := path{taken: 3, onOffer: 7, right: []bool{false, false, false, false}, all: true}
	late := path{taken: 9, onOffer: 9, right: []bool{false, false, false, false, false, false, false, false, false, true}, all: true}
	text := economyTable([]economyOf{{next: early, chance: late, list: late}, {next: wrong, chance: late, list: early}})
	assert.Regexp(t, `on offer, mean +8\.000`, text)
	assert.Regexp(t, `asked, mean +3\.500`, text)
	assert.Regexp(t, `all readings +100\.0 %  \(2 of 2\)`, text)
	assert.Regexp(t, `nothing more is asked +50\.0 %  \(1 of 2\)`, text)
	assert.Regexp(t, `\n3 +0\.0 % +0\.0 % +0\.0 %\n`, text)
	assert.Regexp(t, `\n5 +50\.0 % +0\.0 % +50\.0 %\n`, text, "after the stop the leader stays")
	assert.Regexp(t, `\n9 +50\.0 % +100\.0 % +100\.0 %\n`, text)
}

// What only says how a reading was taken is told with it and is no choice.
func TestTellingHowARestWasTaken(t *testing.T) {
	s := site.Demo()
	all := reading.NewSet()
	all.Numbers[reading.RestV], all.Numbers[reading.Minutes], all.Numbers[reading.ArrayA] = 12.6, 45, 3
	c := knownCase{}
	c.input.Site, c.input.Readings = s, all
	tell := tell(c)
	assert.Equal(t, []reading.Key{reading.ArrayA, reading.RestV}, tell.keys())
	tell.reveal(reading.ArrayA)
	assert.Equal(t, map[reading.Key]float64{reading.ArrayA: 3}, tell.told.Numbers)
	tell.reveal(reading.RestV)
	assert.Equal(t, all.Numbers, tell.told.Numbers)
}
