// Package lot says what several units of one build show together: how many pass, where a proportion of all such units lies
// (statistical tolerance intervals, ISO 16269-6), whether the process that made them holds still (Shewhart charts for
// individuals and moving ranges, ISO 7870-2) and whether a figure or a fitted parameter drifts from unit to unit.
//
// Units count in the order in which they were given, which the charts take for the order of production. The scatter from
// unit to unit contains that of the measurement; an error that all units share does not show in it. Figures that are only
// bounds are left out of the statistics and counted. The package reads no file and draws nothing.
package lot
