// Command casescore runs the diagnosis over a folder of cases whose truth is known and prints
// how often it is right.
//
//	casescore [-v] [-only ID] [-economy] [-quick] FOLDER
//	casescore -visits
//	casescore -places [-seed N] [FOLDER]
//
// Every case is a folder with site.toml, readings.toml and truth.json, or all are in one file
// cases.txtar, as casemake writes it. With -economy it prints
// how many readings it takes to get there: in the order that a visit asks for them, by chance,
// and by the steps as they stand. That takes some minutes. With -places it prints how often the
// part at fault is found, on plants that it invents at the sites of the folder and at others.
// With -quick it prints how many of the cases where the array can be judged, and that are right
// by all their readings, are right by those of a quick round too, and which reading those that
// are lost would have needed. With -visits it prints
// how many screens and minutes visits to the practice scenarios take at each depth.
//
// # What it shows
//
// go run ./diagnose/internal/casescore testdata/cases prints, of 64 cases that ngspice solved:
//
//	single faults arranged to act: true condition first         73.9 %  (17 of 23)
//	  and among the first three                                 91.3 %  (21 of 23)
//	sound cases believed sound (P > 0.5)                        95.8 %  (23 of 24)
//	two faults: both among the first three                      37.5 %  (3 of 8)
//	log loss, single and sound [nat]                           0.548  (56 cases)
//	expected calibration error, P above 0.1                    0.047
//	  by chance, were every probability right                  0.079  (0.046 to 0.114)
//	charge level, mean error                                   0.044  (64 cases)
//	wrong readings found                                        78.6 %  (11 of 14)
//	  readings named that were wrong                           100.0 %  (11 of 11)
//
// With -economy:
//
//	readings on offer, mean                                    20.297  (64 cases)
//	readings taken until nothing more is asked, mean           9.891  (64 cases)
//	leader right, all readings                                  78.1 %  (50 of 64)
//	leader right when nothing more is asked                     78.1 %  (50 of 64)
//
// And casescore -visits:
//
//	depth  plants   visits  right  screens before the first instrument  screens  answers  minutes
//	full   healthy  8       8      5.5                                  29.6     50.2     56.0
//	full   faulty   32      31     5.9                                  23.0     40.6     25.5
//	quick  healthy  8       8      6.2                                  13.9     29.4     11.5
//	quick  faulty   32      28     6.5                                  19.4     33.8     14.6
//
// The table of -visits is older than the rest. With -quick, a set of 120 cases in families wider
// than the model's gave 63 % kept of 65 where the array can be judged, before the ways between
// the parts were left out of a round's minutes, which won 3 of 17 lost cases. All that can be
// read there with nothing switched off, some 15 readings in twice the time, keeps 89 %: what is
// lost needs a rest, a load step, the array unplugged, or a walk to the module or the load.
//
// The first form also prints the time of one inference. Night, dusk and an empty battery leave most in
// doubt and cost most.
//
// # Before and after
//
// To judge a change, run it before and after on the same cases. Look first at log loss and
// calibration: the share of cases right moves by whole cases. Half of the faults are left to
// chance and may not show at all.
package main
