// Package belief infers what state a system can be in from any subset of readings. It gives
// a posterior over the conditions, the moment, the charge level and the questions that a
// visit must answer.
//
// Start with [Infer], [Input] and [Result]. The package knows no steps and no people.
//
// # The model
//
// A hypothesis h is no condition, one, or two. Everything else that is unknown is a point z
// of some fifty coordinates (prior.go): the moment, the tolerances of the parts, the
// severity of the conditions, the errors of the instruments. Each coordinate is standard
// normal before any reading. Choices, such as the controller's stage, are even over 0 to 1.
// A map turns z into [ampwalk/diagnose/physics/plant.Unknowns], and the plant gives every
// reading. The posterior of all readings y is
//
//	P(h, z | y) ∝ P(h) · N(z; 0, 1) · Π L(y_i | plant(h, z))
//
// and the evidence of a hypothesis is that without z:
//
//	Z(h) = ∫ N(z; 0, 1) · Π L(y_i | plant(h, z)) dz      P(h | y) ∝ P(h) · Z(h)
//
// P(h) is the rate of the catalogue. The age of the part, the season and the table [priors]
// of the site file shift it (condition/rate.go). All pairs together have
// the prior probability pairShare. Priors of the parts without a source are
// judgement and say so. They come from the trade and are never fitted to cases. A figure of
// the site file that is marked as assumed widens the spread of its part (doubt.go).
//
// A hundredth of the posterior is left to the prior (modelDoubt): the readings may belong to
// a plant that is not modelled, such as another site's.
//
// # Likelihood
//
// A number is right, read by a clamp turned round, or simply wrong (observe.go). A wrong one
// has an even density over all that the reading could show. The errors of an instrument are
// shared by all its readings:
//
//	y_i = (1 + g)·v_i + o + e_i
//
// with the plant's value v, gain error g, offset o, and the rest e: rounding, repeating, and
// what the model leaves out. A clamp may have a zero that was not set besides. So a
// difference of two voltages is far more precise than either. Given the plant, these errors
// are linear and normal. They are integrated out in closed form (instruments.go), which takes
// the stiffest directions out of search and sampling. Where every reading is most likely
// right, shorter sums give the same (plain.go). Words (sky, shade, glass, indicators) have
// tables of what eyes see. What people complain of, what changed, and visible damage
// (condition/signs.toml) weigh too, each list by at most ten to one.
//
// A condition counts only where it is one by the meaning of the word (words.go, idle): loads
// that draw too much while none is on, a cut-off with nothing to cut.
//
// # From readings to the posterior
//
//  1. Starts (search.go). For each hypothesis a coarse grid covers what divides the regimes:
//     light, charge, stage, options. Readings are widened. The best few starts of each
//     regime are kept.
//  2. Climb (climb.go). Damped Gauss–Newton steps lead from each start. There are fewer
//     readings than coordinates, so a step is solved among the readings. The widened readings
//     are narrowed in stages. Slopes are updated (Broyden) and worked out afresh where they
//     lead no further. The first part is climbed twice. Once every reading is trusted, or a
//     reading far from the start would count as wrong and have no pull. Once it is not, since
//     one may be wrong. Starts far behind the best hypothesis are given up (inReach).
//  3. Modes. A climb ends at a mode: a point, its curvature H, and Laplace's estimate of its
//     evidence, ln Z ≈ −cost(z) − ½·ln det H. Every hypothesis then tries the best points of
//     the others (exchange).
//  4. Pairs (pairs.go). All single conditions are searched. A pair is searched where a second
//     condition explains what one of the best single ones leaves. Each condition of the
//     pair also tries the pair's point alone. A pair is kept if it explains more than either
//     (pairGain).
//  5. Frames (frame.go). Each mode gets coordinates along those axes of its curvature that
//     the readings bear on. The stiff axes are bent as the valley of the readings bends.
//     Across them the density is the prior's. Along a valley that is long in light, charge or
//     severity, more modes are added (beads.go).
//  6. Samples (sample.go). All hypotheses share one proposal q, a mixture of the prior and the
//     normal densities of the modes, each in several widths (density.go). Pilot samples from all modes are weighted under every hypothesis. They say which ones
//     matter. For those, short random walks (preconditioned Crank–Nicolson, walk.go) teach
//     the densities their spreads. Then more samples are drawn in rounds, most where most
//     is in doubt (Neyman). A sample of great weight shows where the proposal is too
//     thin, and becomes a mode itself (reach, TestReach).
//  7. Hypotheses that the readings cannot tell apart have the same likelihood at every sample,
//     so they keep their prior ratio exactly. A hypothesis with pilot samples only follows the
//     nearest of the others as a control variate (particles.go), so this holds for it too.
//  8. Second faults that do not show (unseen.go). A pair that was not sampled gets its
//     probability from draws of the leading condition, with the second fault added.
//  9. Particles (particles.go). What is left of the samples, with weights and with a draw of
//     the instruments' errors, carries every answer.
//
// A sample z has, with n_j samples from each density q_j of the mixture, the weight
//
//	w(h, z) = N(z; 0, 1)·Π L(y_i | plant(h, z)) / q(z)      q(z) = Σ n_j·q_j(z) / Σ n_j
//
// The points of the walks are not used as samples. Their density has a norm that would have
// to be estimated from a few points that depend on each other. Its error does not show, and
// once made a probability 0.42 that is 0.24.
//
// Sources: E. Veach, L. J. Guibas, SIGGRAPH 1995 (mixture as proposal); J.-M. Cornuet and
// others, Scandinavian Journal of Statistics 39 (2012) 798–812 (densities added in rounds);
// S. L. Cotter and others, Statistical Science 28 (2013) 424–446 (walks); J. Neyman, Journal
// of the Royal Statistical Society 97 (1934) 558–625 (allocation); J. M. Hammersley,
// D. C. Handscomb, Monte Carlo Methods (1964), ch. 5 (control variates). All from memory.
//
// # What is read off the particles
//
//   - Conditions and state (infer.go): probabilities, charge level, spare power, hours left.
//   - Outliers ([Suspect]): readings that are more likely wrong than usual.
//   - What each reading speaks for, with the reading itself left out (why.go).
//   - Ranges (range.go): the densest nine tenths of what a reading would show, in two pieces
//     where there are two. Paper, screen and verdict use the same range.
//   - The worth of a reading not yet taken (gain.go): the expected information in bits about
//     condition and regime, and with less weight about the charge level. Few particles show
//     information where there is none. That excess is worked out from the spread within
//     each hypothesis and taken off (TestInformation).
//   - Readings that only say in what light and warmth others were taken are evidence for
//     nothing (reading.Key.Context).
//   - Enough light: below [BrightFrom] the array cannot be judged, unless the readings have
//     found or ruled out what takes a part of its power ([Result.TooDim]).
//
// # Same in, same out
//
// The work is spread over all processors, and the result is the same on every run. Each
// piece of work writes only its own result, and each walk has its own random source with a
// fixed seed. No map is ranged over where order counts. Between processor architectures the last
// digits differ, because some fuse multiply and add.
//
// # As wide as the world
//
// The plants of the prior differ as makes do:
//
//   - modules of one nameplate in ideality and shunt (plant/family.go, TestMeasuredModules),
//   - blocking diodes up to 1 V,
//   - mppt controllers that miss the best point and start late,
//   - batteries under load from Copetti's curves down to a measured one
//     (TestMeasuredDischarge), LFP between two curves,
//   - surface charge that a load step takes away or not (TestMeasuredLoadStep),
//   - light that moves between two readings.
//
// What no such plant shows is an unknown of its own, the misfit. One is for voltages and one
// for currents, and they are common to all hypotheses. A misfit widens what the model leaves
// out of readings: not at all for most plants, much for a few. So readings of a plant
// beside the model widen the answer, instead of choosing the fault that happens to come
// nearest (TestPlantsOutsideTheModel).
//
// The table shows what each widening did when it was made. casescore printed it, on two sets of
// 120 and 150 cases of an independent simulation. In 51 and 70 of them one fault acts, 42 and
// 46 are healthy, 10 and 12 have two faults. A row leaves out one thing:
//
//	left out                     right first  healthy called faulty  pairs in top three  log loss
//	nothing: as it is            46, 57       0, 3                   5, 7                0.496, 0.685
//	drops above 0.5 V            46, 57       1, 3                   6, 8                0.484, 0.703
//	tracking and late start      46, 57       0, 4                   5, 7                0.495, 0.676
//	misfit                       46, 58       1, 3                   5, 7                0.495, 0.690
//	ideality and shunt           46, 57       2, 3                   5, 7                0.488, 0.732
//	batteries below Copetti's    46, 55       0, 3                   5, 6                0.503, 0.769
//	pairs by other choices       46, 57       0, 3                   5, 6                0.496, 0.685
//	150 prior samples, not 800   46, 56       2, 4                   5, 7                0.506, 0.705
//
// A later table adds one thing a row, on these sets and on testdata/cases-wide: 108 cases in
// which one fault acts and 125 healthy ones, whose batteries differ more than the model's. On
// the last line, 7 of 100 healthy plants outside the model are called faulty; it was 13.
//
//	added                        right first  healthy called faulty  log loss
//	nothing: as it was           46, 56, 90   2, 1, 29               0.501, 0.678, 0.694
//	surface charge taken away    45, 56, 89   0, 1, 20               0.514, 0.720, 0.676
//	discharge by kind            45, 56, 91   1, 2, 16               0.514, 0.703, 0.689
//	one plant in three beside    45, 56, 90   1, 1, 18               0.543, 0.699, 0.684
//	LFP nearer to the cell       45, 56, 90   1, 2, 18               0.543, 0.698, 0.700
//	acid in layers               45, 56, 90   1, 2, 15               0.514, 0.701, 0.691
//
// The first costs log loss where the cases keep the surface charge, which a real battery does not.
//
// # What it is checked against
//
//   - plain averages over the prior, by brute force (TestEvidenceAgainstBruteForce),
//   - its own draws, by simulation-based calibration (TestCalibratedOnItsOwnDraws),
//   - prior ratios that must come out exact (TestEqualLikelihoodsKeepThePriorRatio),
//   - cases that ngspice solved (testdata/cases), and situations with the condition that common
//     practice gives them (summary/practice_test.go).
//
// # Where it is wrong, and by how much
//
//   - The evidence has a noise. TestEvidenceAgainstBruteForce holds the mean of four seeds
//     within 0.1 nat of a plain average over the prior, beyond that average's own error. One
//     seed strays from their mean by less than 0.1 nat (root of the mean square). That is for
//     hypotheses within 2.5 nats of the best; those further below get few samples.
//   - So another seed moves a probability by a few hundredths at times. A visit whose two
//     leading conditions are closer than that has no leader.
//   - A condition whose regime no start reaches is left out. More starts cost time.
//   - A second fault that the search for the first does not lead to can be missed. Once one
//     fault leads, the worth of readings ignores a second one that nothing hints at: unseen.go
//     gives it a probability, but no particles.
//   - An unseen pair gets too little where the first condition must give way to the second:
//     0.1 % where sampling the pair gives 2 to 3 %. The search's own estimate would repair
//     that, but errs by half a nat among rare second faults, and ranked them worse.
//   - Conditions that are not in the catalogue come out as the nearest one, or as outliers.
//   - Charge level by rest voltage is no better than the published tables agree.
//   - The range that a reading would show at a healthy plant is of few samples. Against fine
//     sampling its ends are off by a twentieth of its width at the median, and by two fifths
//     in one case of twenty.
//
// To see what a change does, run casescore (ampwalk/diagnose/internal/casescore) before and
// after, on the same cases. Look first at log loss and calibration: the share of cases that
// are right moves by whole cases.
package belief
