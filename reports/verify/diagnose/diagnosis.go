package diagnose

import (
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/verify/fitting"
)

// Diagnosis says which parameters explain the readings.
type Diagnosis struct {
	Fitted       bool
	Explanations []fitting.Explanation // in the order of AICc, best first
	Best         int                   // index of the one selected
	Departures   []Departure           // of the parameters of the selected one
	Causes       []string              // paths found outside tolerance, worst first; or Gross
	// gross errors that the readings look like and cannot be told apart, each as a sentence
	Gross      []string
	Correction *Correction // nil when no turn of a part mends anything
	Sentence   string
	Agreement  document.Outcome // of the selected explanation with the readings, by chi-squared
	// Scaled is the factor by which standard uncertainties were widened because chi-squared exceeds
	// what the budget accounts for; 1 when it does not.
	Scaled float64
	// Pulls are the errors of wavelength and temperature that the selected explanation asks for: they are
	// part of the budget, and one far beyond its standard uncertainty is a sign of another cause.
	Pulls []Pull
	Note  string // what else the reader must know: a combination instead of single parameters, ...
}

// Departure is a fitted parameter against what was specified.
type Departure struct {
	fitting.Fitted
	Nominal       quantity.Quantity
	Departure     float64          // fitted minus nominal, in Unit
	U             float64          // expanded, in Unit
	Tolerance     float64          // in Unit; 0 when none is declared
	Within        document.Outcome // pass: inside its tolerance by U; fail: outside by U, and by what Alike may be off
	Freed         string           // label of the explanation whose fit it comes from
	Significant   bool             // the departure exceeds its expanded uncertainty
	Alike         []Alike          // parameters that the readings cannot distinguish from it
	Combination   string           // when the data fix a sum of parameters only: "rotator1.angle + wedge2.axis"
	Indeterminate bool             // the data do not depend on it
	shown         float64          // least departure that the readings show, with the floor as stated, in Unit
	FloorOpen     bool             // an extinction ratio whose interval allows for a floor higher than stated
}

// Alike is a parameter that the readings cannot distinguish from another: their derivatives are confounded.
type Alike struct {
	Path        string
	Correlation float64           // of the derivatives of the leakage, reading by reading
	Departure   quantity.Quantity // that would give the same readings
}

// Pull is the estimate of an error that a run, or all readings, share.
type Pull struct {
	Name  string            // of the contribution
	Run   int               // index into Result.Runs, or -1 for all
	Value quantity.Quantity // what the true wavelength or temperature lies above the stated one, in nm or kelvin
	Z     float64           // over the contribution's standard uncertainty
}
