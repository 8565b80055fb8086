package visiting

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Kirchhoff's current law at the battery's side (any textbook of circuits): what comes in
// and is not seen to go out goes elsewhere.
func TestBalance(t *testing.T) {
	s := site.Demo()
	set := reading.NewSet()
	set.LoadsOn = []string{}
	_, ok := BalanceOf(s, set)
	assert.False(t, ok, "nothing was read")
	set.Numbers[reading.ArrayA], set.Numbers[reading.LoadA] = 5, 1.5
	set.Numbers[reading.BatteryA] = 3.48
	b, ok := BalanceOf(s, set)
	require.True(t, ok)
	assert.InDelta(t, 0.02-s.Controller.OwnUseMA/1000, b.ElsewhereA, 1e-9)
	assert.Empty(t, BalanceText(s, set))
	set.Numbers[reading.BatteryA] = 2
	assert.Contains(t, BalanceText(s, set), "1.49 A goes where no clamp was")
	set.Numbers[reading.BatteryA] = 5
	assert.Contains(t, BalanceText(s, set), "comes from where no clamp was")

	s.Inverter = &site.Inverter{From: site.FromBattery}
	_, ok = BalanceOf(s, set)
	assert.False(t, ok, "the inverter's current is not known")
	set.Numbers[reading.InverterA] = 0
	s.Controller.Kind = site.MPPT
	_, ok = BalanceOf(s, set)
	assert.False(t, ok, "it converts: amperes are not kept")
	set.Words[reading.Sky] = "dark"
	_, ok = BalanceOf(s, set)
	assert.True(t, ok)
}
