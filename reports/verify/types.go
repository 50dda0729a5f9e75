package verify

import (
	"wedgework/optics/stack"
	"wedgework/reports/measured"
	"wedgework/reports/verify/compare"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/pictures"
	"wedgework/reports/verify/quality"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
	"wedgework/reports/verify/words"
)

// What a specification and a result are made of, by the stage that defines it.
type (
	Readings     = readings.Readings
	Reading      = readings.Reading
	Polarization = readings.Polarization
	Sweep        = readings.Sweep
	FloorUsed    = readings.FloorUsed
	Outlier      = readings.Outlier

	Model        = model.Model
	Direction    = model.Direction
	Transmission = model.Transmission
	Returned     = model.Returned
	Axes         = model.Axes
	Ripple       = model.Ripple
	Parameter    = model.Parameter

	Explanation = fitting.Explanation
	Fitted      = fitting.Fitted
	Diagnosis   = diagnose.Diagnosis
	Departure   = diagnose.Departure
	Alike       = diagnose.Alike
	Pull        = diagnose.Pull
	Correction  = diagnose.Correction
	Gain        = diagnose.Gain

	Point      = compare.Point
	Comparison = compare.Comparison
	LossPoint  = compare.LossPoint
	Curve      = compare.Curve
	Band       = compare.Band

	Figure           = decide.Figure
	FigureComparison = decide.FigureComparison
	Joint            = decide.Joint
	Decision         = decide.Decision
	FigureBudget     = decide.FigureBudget
	MonteCarlo       = decide.MonteCarlo

	Check   = quality.Check
	Verdict = words.Verdict

	Collapse = pictures.Collapse
	Valley   = pictures.Valley
	Contour  = pictures.Contour
	Ledger   = pictures.Ledger
)

// How the source's polarization was treated while measuring.
const (
	Scrambled    = readings.Scrambled
	MinMax       = readings.MinMax
	FixedUnknown = readings.FixedUnknown
	Unstated     = readings.Unstated
)

// The ways that light goes.
const (
	Forward  = model.Forward
	Backward = model.Backward
)

// FixturePath stands among parameters for the floor of the fixture.
const FixturePath = diagnose.FixturePath

// Most stands for the isolation of no leakage at all, in dB.
const Most = readings.Most

// ForStack returns a stack as a Model.
func ForStack(s *stack.Stack) Model { return model.ForStack(s) }

// FromTable returns the readings of a table that holds one unit.
func FromTable(t *measured.Table) (Readings, error) { return readings.FromTable(t) }

// FigureDecimals returns the decimals of a figure in a unit.
func FigureDecimals(unit string) int { return text.FigureDecimals(unit) }
