// Command casemake invents visits to invented plants, with the truth beside each. They
// are for judging the diagnosis, not for making it.
//
//	casemake [-n N] [-seed S] [-parts] OUT
//
// Each case draws its own physics from families that are wider than the model of package
// plant, and has nothing else in common with it: see [world], [store], [cellKind] and
// [control] for what is drawn and from where the limits are. ngspice solves the circuits.
// With -parts the sites have inverters, battery strings, chargers and earthing too.
//
// A set is one file, cases.txtar, in the folder OUT. The same seed gives the same file
// with the same version of ngspice.
package main
