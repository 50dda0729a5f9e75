package decide

import (
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Figure is a key figure, measured against modelled.
type Figure struct {
	Name        string // "minimum isolation", "wavelength of the isolation peak", "PDL over the sweep"
	Quantity    limits.Quantity
	Condition   string // "1535-1565 nm, 23 °C"
	Unit        string // "dB", "nm", "nm/K", "ps"
	Limit       int    // index into Spec.Limits, or -1
	Run         int    // index into Result.Runs, or -1
	Determined  bool   // the data fix the figure; otherwise Why says why not
	Why         string
	Measured    float64
	Low, High   float64 // of Measured, expanded
	Bias        float64 // expected of the estimator, already allowed for in the comparison; stated in Unit
	Specified   FigureComparison
	Diagnosed   FigureComparison
	Extrapolate bool // the peak lies outside the readings
}

// FigureComparison is a key figure by one model.
type FigureComparison struct {
	Value     float64
	Low, High float64 // expanded
	En        float64
}

// Joint holds all determined figures against the model at once, with their covariance.
type Joint struct {
	Count      int
	ChiSquared float64
	PValue     float64
}

// Decision is a limit, the figure compared with it, and what the data covers of it.
type Decision struct {
	limits.Decision
	Statistic   string // "raw minimum of 301 readings"
	Count       int
	Line        int // of the reading that is the statistic
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	AtLeast     bool    // the statistic is an "at least" reading
	Correction  float64 // dB added to go from the polarization mean to the worst polarization
	Covered     bool    // band and temperatures are covered by readings
	Uncovered   string  // what is not
	Decided     bool    // a statistic exists
	Continuous  bool    // the figure is that of the band, by a curve through the readings

	// Reserve says why the figure does not speak for the whole limit: what was not measured, or a polarization that
	// was not sought out. A limit is then never met; it may be failed. Empty when the figure speaks for it.
	Reserve string
}

// FigureBudget is the uncertainty budget of one figure.
type FigureBudget struct {
	Figure string
	Unit   string
	uncertainty.Combined
	MonteCarlo MonteCarlo
}
