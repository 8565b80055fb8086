// Package outlook tells how much power there is and until when: now, tonight, in the week
// and over the year, whether the system is big enough, and what would help.
//
// Start with [Look], [Outlook] and [Change]. Quantities are float64 in the unit that the
// name says; times are in the site's own zone.
//
// # How it is worked out
//
// Draws of the posterior ([belief.Draws]) are plants with what is wrong with them. Each is
// led through time by the plant itself ([plant.Plant.Flow]): what light it gets, what
// the loads take, what the controller holds back or cuts off and when it gives the loads
// back. The charge follows from the current of the cells' main reaction. What is told is
// the spread over the draws, so that no other part of the program can say otherwise.
// The books of every run are kept ([Books]): what came in is what was used, stored and
// lost.
//
// # What is assumed
//
//   - Light: a clear sky (package sun) times a clearness. Its mean of a month comes from
//     sun_hours of the site, give or take 7 % from year to year (judgement); else it is
//     0.75 give or take 0.13, which holds nine in ten of 56 months at five weather
//     stations from 71° N to 33° S (see TestClearnessOfStations). From day to day it is
//     spread as Bendt, Collares-Pereira and Rabl (Solar Energy 27 (1981) 1-5) found, and a
//     day is a little like the day before (Graham, Hollands and Huget, Solar Energy 40
//     (1988) 83-92, a correlation of 0.29; both from memory). The rest of today is like
//     the light that was found. Within a day clouds are even; the horizon is free.
//   - Warmth: the air swings by 5 K about its mean, warmest at 15 h of the sun's time. In
//     the week the mean is that of the visit, over the year it follows from the latitude,
//     give or take 4 K (judgement, against five stations in TestWarmthOfStations).
//   - Loads: each runs for its hours_per_day, in one piece: from sunset on or about noon, as
//     its key used says. Where that is not given, which are lamps is guessed from the name
//     and from nothing else; those begin at sunset, others lie about noon.
//     What was switched on at the visit counts for the visit's moment only.
//   - The controller changes to its float stage after two hours at the set-point, and back
//     at night (common practice).
//   - What is wrong stays as it is, unless a [Change] mends it.
//   - What to switch off tonight ([Off]) keeps the most that lasts until the array carries
//     it in at least eight of ten draws; the rest may run as long as that stays so.
//
// # Where it is wrong
//
// The light of single days is chance; a season, haze of a dry season and snow are known no
// better than the clearness says. People use loads as they need them, not as listed. The
// capacity of a battery shows in no reading but the hours it lasts, so those are wide.
package outlook
