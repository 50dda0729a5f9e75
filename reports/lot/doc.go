// Package lot says what several units of one build show together: how many pass, where a proportion of all such units
// lies (statistical tolerance intervals, ISO 16269-6), whether the process that made them holds still (Shewhart charts
// for individuals and moving ranges, ISO 7870-2) and whether a figure or a fitted parameter drifts from unit to unit.
//
// Units stand in the order of the time measured, else in a stated sequence, else in order of their numbers (order.go),
// which the charts take for the order of production. A unit that was measured more than once counts by a rule
// (retest.go). The scatter from unit to unit contains that of the measurement; an error that all units share does not
// show in it. Figures that are only bounds are left out of the statistics and counted. The package reads no file and
// draws nothing.
package lot
