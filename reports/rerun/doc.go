// Package rerun runs a saved notebook from its first cell to its last with nobody at the keyboard: named
// inputs bound to files, settings to expressions, outputs collected.
//
// It knows no language. It asks for a Session through Opener and gives the session a Desk, where words
// find the surroundings they need: inputs, settings, and places for what they report. It reads no file by
// itself (Request.ReadFile does) and writes none: the outcome is plain data that a report is composed of.
//
// The first failing cell ends the run. So does, at the end, a named input or setting that the notebook
// never asked for: a misspelt name must not silently leave the default in force.
package rerun
