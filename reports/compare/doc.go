// Package compare holds the statistics behind the owner's book: which crews and shifts do
// differ when the work is alike, whether a value over time is out of its limits, and what
// a change did.
//
// Its entries are LikeForLike, Study and IndividualsChart, with Payback, NetPresentValue
// and PoissonInterval beside them. Welch, Ranks, OneWay and Line are the
// second views that these hand back as well.
//
// Pipeline: beside the ledgers; a caller reads runs from the warehouse, hands them over,
// and puts what comes back where the sheets' SQL reads it.
//
// It must not know: the warehouse, wages, or how a figure is printed.
//
// # What is resampled, and why the intervals are widened
//
// The runs of a shift share its people, its lumber and its weather, so shifts are resampled
// and not runs. Each resample gives every shift a random weight (mean 1, variance 1) and
// takes all rates, or the whole fit, anew; the standard deviation of the log ratio over the
// resamples is its standard error. Two things make it too small, and both are made up for:
//
//   - weights spread a mean of n shifts by n ÷ (n+1) too little (group.widen, design.widen);
//   - residuals are smaller than what they stand for, since the rates were fitted to the
//     same shifts (influence.calibrate), and few shifts of unequal size leave few degrees of
//     freedom for Student's quantile.
//
// The same inputs give the same bytes: random numbers come from PCG with Options.Seed, runs
// are sorted before anything is summed, and no map is ranged over.
//
// # What was found on made plants
//
// Printed by go run ./reports/compare/simulate on 2026-11-25, with the truth as that
// command's documentation defines it. What was asked for: 95 % intervals cover 93 to 97 %
// of crews and of changes, and something is called in 5 % at most of the plants where
// nothing differs. The figures first named are those of --plants 400; the minima of a
// comparison (MinimumShifts and so on) were tried with four weeks a plant.
//
//	400 plants, 13 to 26 weeks, 2000 resamples, seed 1, luck of a run 0.25
//	95 % intervals of crews that cover                     95.6 % (1513 of 1583)
//	  of these, crews with fewer than 30 shifts            97.8 % (44 of 45)
//	99.8 % intervals of crews that cover                   99.7 % (1579 of 1583)
//	95 % intervals of changes that cover                   94.5 % (378 of 400)
//	99 % intervals of changes that cover                   99.0 % (396 of 400)
//	95 % intervals of changes without unchanged stations   95.5 % (382 of 400)
//	nothing differs, yet a crew is called different        0.5 % (1 of 204)
//	nothing differs, yet a change is found                 1.0 % (2 of 204)
//	nothing differs, yet either is called                  1.5 % (3 of 204)
//	crews a tenth or more apart called different           86.9 % (245 of 282)
//	changes of a tenth or more found                       80.0 % (88 of 110)
//	crews refused for want of data or common work          1.7 % (28 of 1611)
//
//	2000 plants, 13 to 26 weeks, 400 resamples, seed 7, luck of a run 0.25
//	95 % intervals of crews that cover                     95.2 % (7499 of 7875)
//	  of these, crews with fewer than 30 shifts            95.6 % (239 of 250)
//	99.8 % intervals of crews that cover                   99.7 % (7853 of 7875)
//	95 % intervals of changes that cover                   95.0 % (1901 of 2000)
//	99 % intervals of changes that cover                   99.0 % (1979 of 2000)
//	95 % intervals of changes without unchanged stations   95.1 % (1902 of 2000)
//	nothing differs, yet a crew is called different        1.3 % (13 of 1010)
//	nothing differs, yet a change is found                 1.3 % (13 of 1010)
//	nothing differs, yet either is called                  2.6 % (26 of 1010)
//	crews a tenth or more apart called different           86.1 % (1253 of 1456)
//	changes of a tenth or more found                       70.0 % (346 of 494)
//	crews refused for want of data or common work          1.5 % (117 of 7992)
//
//	1000 plants, 4 weeks, 400 resamples, seed 1, luck of a run 0.25
//	95 % intervals of crews that cover                     95.7 % (3529 of 3687)
//	  of these, crews with fewer than 30 shifts            95.7 % (3529 of 3687)
//	99.8 % intervals of crews that cover                   99.8 % (3681 of 3687)
//	95 % intervals of changes that cover                   95.4 % (721 of 756)
//	99 % intervals of changes that cover                   99.2 % (750 of 756)
//	95 % intervals of changes without unchanged stations   95.4 % (893 of 936)
//	nothing differs, yet a crew is called different        0.4 % (2 of 483)
//	nothing differs, yet a change is found                 0.4 % (2 of 483)
//	nothing differs, yet either is called                  0.8 % (4 of 483)
//	crews a tenth or more apart called different           24.1 % (160 of 665)
//	changes of a tenth or more found                       14.9 % (29 of 194)
//	crews refused for want of data or common work          8.5 % (343 of 4030)
//
//	600 plants, 13 to 26 weeks, 400 resamples, seed 1, luck of a run 0.10
//	95 % intervals of crews that cover                     95.7 % (2268 of 2371)
//	  of these, crews with fewer than 30 shifts            97.2 % (70 of 72)
//	99.8 % intervals of crews that cover                   99.8 % (2366 of 2371)
//	95 % intervals of changes that cover                   95.3 % (572 of 600)
//	99 % intervals of changes that cover                   99.7 % (598 of 600)
//	95 % intervals of changes without unchanged stations   93.7 % (562 of 600)
//	nothing differs, yet a crew is called different        0.7 % (2 of 306)
//	nothing differs, yet a change is found                 0.3 % (1 of 306)
//	nothing differs, yet either is called                  1.0 % (3 of 306)
//	crews a tenth or more apart called different           94.0 % (407 of 433)
//	changes of a tenth or more found                       90.2 % (148 of 164)
//	crews refused for want of data or common work          1.6 % (38 of 2409)
//
// # What the intervals do not know
//
// What befalls all tables on the same day, or a crew for weeks on end, is not in the luck
// of single shifts: between crews that work the same days the first cancels out, the second
// is part of the crew. A change that comes together with a new foreman or a new saw is
// credited with both. Who gets the long runs, new hires and late lumber are for the reader
// to weigh.
package compare
