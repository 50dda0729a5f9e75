// Package model is what a verification needs of a stack: power transmissions over wavelength at one temperature, and
// adjustable parameters. ForStack makes a Model of a *stack.Stack; anything else with these methods will do as well,
// and tests bring closed forms.
//
// A stack is dear to evaluate for its double reflections. So a Model may be anchored along the sweeps of a measurement:
// it then takes what double reflections add from there as long as that is theirs too (ghosts.go), and it evaluates few
// wavelengths and interpolates, as a response without ripple is smooth (smooth.go). Rough, Coarse and Nearby are models
// that cost less and are wrong by as much as each of them says.
//
// A Variable is a parameter as a fit sees it, with bounds and steps. Blunders lists the gross errors that the elements
// of a stack may have.
package model
