// Package plant is the physics: one function from a site, what is wrong, the
// moment and the tolerances to every reading a visit may take.
//
// Start with [New], [Plant.Solve] and [Unknowns]. Quantities are SI, voltages
// at system level unless a name says per cell, temperatures in °C. Currents
// are positive as a visit's readings are: toward the controller in the array
// circuit, into the battery, toward the loads.
//
// # Module and array
//
// A bypass group of cells is a single diode, explicit in its diode voltage Vd [V]:
//
//	I = IL − I0·(exp(Vd/A) − 1) − Vd·Gsh      V = Vd − I·Rs
//
// with light current IL, saturation current I0 [A], A = n·Ns·k·T/q [V], shunt
// conductance Gsh [S] and series resistance Rs [ohm]. Light G [W/m²] and cell
// temperature T [K] act by the relations of De Soto, Klein and Beckman, Solar
// Energy 80 (2006) 78–88, Gsh with an exponent of its own, s (1 in theirs):
//
//	IL = G/1000·(IL' + α·(T − T'))             A = A'·T/T'
//	I0 = I0'·(T/T')³·exp(Eg'/kT' − Eg/kT)      Gsh = Gsh'·(G/1000)^s
//	Eg = 1.121 eV·(1 − 0.0002677·(T − T'))     T' = 298.15 K
//
// [FitNameplate] finds the five of them from Isc, Voc, Vmp, Imp and the two
// temperature coefficients. That is one module of many with this nameplate: where the
// unknowns give an ideality and a shunt, the module is the one of the nameplate's family
// that has them. In full light all of it are alike; Voc by light goes with the ideality,
// which stands for recombination too, and the power in weak light with the shunt. Voc
// follows the nameplate's own coefficient there: I0'·((T/T')³·exp(…))^p. Groups in series carry one current, strings in
// parallel one voltage; a group in shadow that falls to −0.45 V is bypassed. The
// array is two classes of strings at most, enough for one string with a shadow
// or a shorted bypass diode beside sound ones. The current of a string at a given voltage
// is explicit in Wright's ω function.
//
// # Battery
//
// Per cell, with charge SoC, current x per capacity [1/h], the rest voltage U0
// between published tables ([RestVoltage]) and an ohmic part r:
//
//	U = U0(SoC) + η + r·I          η = η0·asinh(x/x0(SoC, T))
//
// for charge and discharge apart: the Butler–Volmer form laid through the curves
// of Copetti, Lorenzo and Chenlo, Progress in Photovoltaics 1 (1993) 283–292
// (from memory). Charging, a lead-acid cell gasses beside its main reaction:
//
//	x_gas = 0.0002·exp(11·(U0 + η − 2.23) + 0.06·(T − 20))    [1/h]
//
// of Schiffer, Sauer et al., J. Power Sources 168 (2007) 66–78 (from memory).
// Density of the acid: U0 − 0.845, less 0.004 for 5.5 K of warmth. LFP cells
// have no gassing, little overvoltage and climb steeply when full.
//
// # Wires, loads, controller
//
// Cables are copper of IEC 60228 class 5 ([CableOhm]), joints added. A load is
// part constant power, down to 60 % of the nominal voltage, part resistor. The
// controller is a regime:
//
//	direct      array and battery share a node, less the switch's drop
//	held        the node stands at the compensated set-point. A series switch
//	            is closed for the share I_needed/I_full of the time and a meter
//	            shows means; a shunt controller shorts the array for the rest;
//	            an mppt controller walks up from the array's best point
//	converting  an mppt controller passes the efficiency times the power near the
//	            array's best point, once that is enough to start it
//	cut         the load output is off below cut_v, until restore_v
//	alone       without a battery it stands at its set-point or falls silent
//
// # What else hangs on the battery
//
//	inverter    takes idle power and the AC power by its efficiency, as constant power
//	            behind its own cable; it stops below cut_v at its terminals, until
//	            restore_v, and where more than a quarter above its rating is drawn
//	charger     gives all its current up to its set-point, over the last 0.05 V (at 12 V)
//	            less and less
//	strings     healthy ones share the current. One with a shorted cell is solved beside
//	            the others at their voltage; they charge it when all rest
//	weak block  has a resistance and a charge of its own in the same current
//	earth       a pole that is joined to it holds both; with none, both float
//
// Loads past the controller, and those at the inverter, hang on the posts ([Unknowns.SetLoads]).
//
// # Where power goes, and what time does
//
// [Plant.Flow] tells of one moment what the array brings and what loads, controller, wires
// and cells make of it. With the main reaction's current m, gas g and n cells:
//
//	n·U·I = n·U0·m  +  n·(η·m + r·I²)  +  n·(U0 + η)·g        I = m + g
//	        stored     heat               gassing
//
// At rest m = −g: a battery discharges itself. The charge changes by m over the capacity;
// above the rated current a discharge takes a toll by Peukert's rule, with an exponent
// beside what the lower voltage costs, which is reckoned here anyway ([Plant.PerHour]).
// [Plant.HoursToCut] follows from the same two.
//
// # How it is solved
//
// The direct regime is one pair of equations in the array's diode voltage and the
// battery's main-reaction current, in which both sides are explicit: Newton's
// steps, three mostly, and where they go to and fro, along the battery's current
// alone in a bracket. Everything else is one monotone equation, solved in a
// bracket: the array's by Halley's steps, since the second slopes come without
// another exponential, the battery's by Newton's. What one solution finds within a
// string starts the next. slow_test.go holds the answers to plain halving, within
// 10⁻⁷ V and A. Loads of constant power at a battery that is next to full can have
// more than one point of rest: then it is one of them.
//
// [Plant.Solve] allocates nothing and is the inner loop of everything. After a change look at
// its cost, and at more cases than usual:
//
//	go test ./diagnose/physics/plant -run - -bench Solve$
//	go test ./diagnose/physics/plant -run Quick -rapid.checks 10000
//
// ngspice gets the same plant as a circuit (referee_*_test.go). Published module curves, a
// table of modules and measured batteries are in testdata.
//
// # Where it is wrong, and by how much
//
//   - A nameplate fit against the model of an open table of 202 modules, at
//     seven points of light and warmth: median error of Pmp 0.9 %, Voc 0.5 %, Isc
//     0.14 %; worst 8.6, 7.0 and 5.0 %. Hot cells are the hardest (65 °C: median
//     2.3 and 1.5 %), since that model leaves the nameplate's own Voc coefficient;
//     Isc is off where the table's own fit is.
//   - The shunt of real modules is known to a factor only, and so are power and Voc in
//     weak light. The 90 % ranges of the family under the priors of the belief hold all
//     but a few of 144 measured points of eight modules, 100 to 1100 W/m²; Pmp at
//     100 W/m² is known to ±10 % then (TestMeasuredModules there).
//   - Reverse breakdown of shaded cells, spectrum, the angle of the sun and
//     mismatch between sound modules are left out: 1 to 3 % of the current
//     (judgement). More than one string in shadow is taken for one.
//   - Rest voltage: published tables differ by 0.2 V at half charge and 0.4 V at
//     a quarter (12 V); charge from voltage is no better than 10 to 15 %. An LFP
//     battery tells nothing between 40 and 70 %.
//   - Overvoltages: 15 % against Copetti's curves, a factor of 1.5 between
//     batteries; acid stratification and the history of charging are left out. A full
//     17 Ah battery kept 0.4 V for two hours of rest, which one decay does not do.
//     Next to full, loads of constant power can have two points of rest.
//   - The air and the cables share one temperature. Cables in conduit in the sun
//     are 20 K warmer: 8 % of their drop.
//   - A pulsed switch is taken as its mean: ripple, slow turns, and what a meter makes of
//     them, are left to who weighs the readings.
//   - What it is beside any plant that it can be is [Misfit], handed on.
package plant
