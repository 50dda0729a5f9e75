// Package gauge examines a bench: how much of the scatter of its readings comes from repeating them, from reconnecting
// the unit, from operators and fixtures, and how much from the units (a gauge repeatability and reproducibility study:
// crossed analysis of variance, all factors random, balanced data; crossed.go); whether the bench is fine enough for a
// limit (suitable.go); and whether it is biased or drifts, by a check standard read over time (standard.go).
//
// Numbers are in the unit of the readings. Isolation is studied in leakage amplitude, 10^(-A/20), in which the errors
// of a bench are of one size at every level (scale.go). The package reads no file and draws nothing.
package gauge
