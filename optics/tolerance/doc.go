// Package tolerance asks what a stack does when its numbers are those a shop can hold: units drawn within tolerances, the
// worst corners of them, and which tolerance matters.
//
// A unit is the stack with some numbers changed, its receiver aligned anew as it would be on the line, or a part turned
// until a figure peaks. Double bounces add in power: ripple is averaged out, as a receiver of some bandwidth sees it. Most
// figures of a unit come from a surface of second order in the parameters, which is held against units evaluated by
// themselves; where it does not fit, every unit is evaluated.
package tolerance
