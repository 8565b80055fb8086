// Package condition is the catalogue of what can be wrong: ids, which sites
// they apply to, how common they are, what they mean and what to do.
//
// Start with [Applicable], [Of] and [Advise]. All words a person reads stand in
// the embedded TOML files of this folder.
package condition

// An ID names one condition.
type ID string

// The conditions; conditions.toml says in plain words what each one means.
const (
	Sound           ID = "sound"
	ArrayOpen       ID = "array-open"
	ArrayReversed   ID = "array-reversed"
	ArrayJoint      ID = "array-joint"
	ArraySoiled     ID = "array-soiled"
	ArrayAged       ID = "array-aged"
	ArrayShaded     ID = "array-shaded"
	StringOpen      ID = "string-open"
	BypassShort     ID = "bypass-short"
	ChargePathOpen  ID = "charge-path-open"
	ChargePathStuck ID = "charge-path-stuck"
	SetPointLow     ID = "set-point-low"
	SetPointHigh    ID = "set-point-high"
	ReverseLeak     ID = "reverse-leak"
	ControllerDead  ID = "controller-dead"
	LoadOutputOpen  ID = "load-output-open"
	BatteryOpen     ID = "battery-open"
	BatteryJoint    ID = "battery-joint"
	CellShort       ID = "cell-short"
	BatteryWorn     ID = "battery-worn"
	BatteryOff      ID = "battery-off"
	LoadOpen        ID = "load-open"
	LoadExcess      ID = "load-excess"
	StandbyDrain    ID = "standby-drain"
	LoadJoint       ID = "load-joint"

	ArrayShort        ID = "array-short"
	CutOffFails       ID = "cut-off-fails"
	BlockWeak         ID = "block-weak"
	BatteryStringOpen ID = "battery-string-open"
	ElectrolyteLow    ID = "electrolyte-low"
	ApplianceFault    ID = "appliance-fault"
	InverterOff       ID = "inverter-off"
	InverterStarved   ID = "inverter-starved"
	EarthFault        ID = "earth-fault"
)
