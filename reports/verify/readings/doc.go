// Package readings is the first stage of a verification: what was measured, and how well.
//
// A Readings is a file's rows as they are. NewSet sorts them into runs, the readings at one temperature, and into
// observations: one reading of one quantity each, in the scale in which it is compared (scale.go). An isolation A in dB
// is compared as leakage power 10^(-A/10), less the power of the fixture's floor, a return loss as a power too; an
// insertion loss in dB as it is; a PDL or DGD, which noise makes larger, as its square less the share of noise
// (bias.go). What a contribution of the budget does to a figure says Acts (acts.go), and nothing else does.
//
// A Term is what one contribution of the budget moves every observation by, for one standard uncertainty. It belongs to
// a reading, to a run or to all of them, and so the terms give the covariance of all observations (JCGM 102:2011,
// clause 6). Package predict makes them, for what an error of wavelength does depends on the slope of a model.
//
// A Measurement is the set with its terms: values, covariance, bounds, outliers, and the coverage factor of any figure
// that is made of them. Later stages read it and change nothing in it.
package readings
