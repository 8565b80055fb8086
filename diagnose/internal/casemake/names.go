package main

// Invented names.
var (
	firstNames = []string{"Alder", "Birch", "Clay", "Dusk", "Elm", "Flint", "Goat", "Heath", "Iron", "Juniper", "Kestrel", "Long", "Moss", "North", "Otter", "Pale", "Quiet", "Red", "Stone", "Thorn"}
	lastNames  = []string{"Bank", "Cross", "Dale", "End", "Field", "Gap", "Hollow", "Island", "Landing", "Mill", "Pass", "Ridge", "Shore", "Spring", "Well"}
	houses     = []string{"clinic", "school", "shop", "ranger hut", "pump house", "reading room", "post", "hostel", "chapel", "mill", "relay hut", "dispensary"}
	loadNames  = []string{"lamps", "phone charging", "radio", "fan", "cooler", "router", "water pump", "night lamp", "screen", "sewing machine", "logger", "hall lamps"}
)

// Lamp tables as controllers' manuals might have them. Voltages are for 12 V.
type lampTable []lamp

func means(m ...string) []string { return m }

var lampTables = []lampTable{
	{
		{"sun dot", []look{{"on", means("array-live"), 0, 0}, {"off", means("array-dead"), 0, 0}}},
		{"level bar", []look{
			{"three marks", means("battery-above"), 12.9, 0}, {"two marks", means("battery-between"), 12.2, 12.9},
			{"one mark", means("battery-below"), 12.2, 0}, {"none", means("unpowered"), 0, 0}}},
		{"out dot", []look{{"green", means("loads-live"), 0, 0}, {"red", means("loads-cut"), 0, 0}, {"dark", means("unpowered"), 0, 0}}},
	},
	{
		{"work lamp", []look{
			{"steady", means("charging", "not-regulating"), 0, 0}, {"winking", means("regulating"), 0, 0},
			{"dark", means("not-charging", "not-regulating"), 0, 0}}},
		{"store lamp", []look{
			{"blue", means("battery-above"), 13.3, 0}, {"white", means("battery-between"), 12, 13.3},
			{"amber", means("battery-below"), 12, 0}, {"dark", means("unpowered"), 0, 0}}},
	},
	{
		{"only lamp", []look{{"lit", means("powered"), 0, 0}, {"dark", means("unpowered"), 0, 0}}},
	},
	{
		{"line one", []look{
			{"SUN", means("array-live", "charging"), 0, 0}, {"SUN FULL", means("array-live", "regulating"), 0, 0},
			{"SUN WAIT", means("array-live", "not-charging"), 0, 0}, {"DARK", means("array-dead"), 0, 0}, {"blank", means("unpowered"), 0, 0}}},
		{"line two", []look{{"OUT", means("loads-live"), 0, 0}, {"LOW", means("loads-cut"), 0, 0}, {"blank", means("unpowered"), 0, 0}}},
	},
	{}, // none at all
	{
		{"charge ring", []look{{"turning", means("charging"), 0, 0}, {"still", means("not-charging"), 0, 0}}},
		{"power ring", []look{{"lit", means("loads-live"), 0, 0}, {"dull", means("loads-cut"), 0, 0}, {"dark", means("unpowered"), 0, 0}}},
	},
}

var inverterLamps = []lampTable{
	{{"front lamp", []look{{"green", means("inverter-on"), 0, 0}, {"red", means("inverter-low"), 0, 0}, {"red and green", means("inverter-overload"), 0, 0}, {"dark", means("inverter-off"), 0, 0}}}},
	{{"state", []look{{"AC", means("inverter-on"), 0, 0}, {"LO", means("inverter-low"), 0, 0}, {"OL", means("inverter-overload"), 0, 0}, {"blank", means("inverter-off"), 0, 0}}}},
}
