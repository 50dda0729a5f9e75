// Package tolerance computes what a stack does within manufacturing tolerances: yield and spread from sampled units,
// the worst case over corners, which tolerance matters, and the parameters at which a figure is greatest.
//
// A unit is the stack with some parameters changed, its receiver realigned as in assembly, or an element turned until
// a figure peaks. Double reflections between parallel faces add in power, unless the stack leaves them out: ripple is
// averaged out, as by a receiver of some bandwidth. Every unit is computed with the full model, by a program of the stack (stack.Units) that is checked
// against the stack itself in every study. Where a stack or a figure has no program, figures come from a second-order
// response surface in the parameters, checked the same way, and where that does not fit from the stack, unit by unit.
//
// Figures are levels in dB, a DGD in seconds. Departures are in the SI unit of the parameter, those of a level in dB.
// Tolerances are independent of each other but for what Study.Correlations says.
package tolerance
