package verify

import (
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Result is everything a report prints about one unit. Losses are in dB, amplitudes plain, wavelengths
// in metres, temperatures in kelvin; Unit fields name the unit where it varies. Uncertainties called
// Standard or Sigma are standard, those called U or Expanded are expanded.
type Result struct {
	Unit, Lot    string
	File, SHA256 string
	Meta         [][2]string
	Polarization Polarization
	// Compared names the model figure the readings are held against: "isolation_mean" or "isolation".
	Compared     string
	LossCompared string // "insertion_loss" or "insertion_loss_max"

	Agreement  Verdict
	Conformity Verdict
	Quality    Verdict

	Runs      []Sweep
	Points    []Point     // backward readings, in the order of the file
	Losses    []LossPoint // forward readings, in the order of the file
	Curves    []Curve
	Figures   []Figure // declared figures, on which Agreement rests
	Joint     Joint
	Decisions []Decision
	Diagnosis Diagnosis
	Checks    []Check // of data quality
	Budgets   []FigureBudget
	Floor     *FloorUsed
	Censored  int       // number of "at least" readings
	Bounds    int       // how many of them the file gives as such
	Outliers  []Outlier // by line
	Collapse  *Collapse // nil where nothing was fitted, or the model has not exactly one rotator
	Valley    *Valley   // nil with readings at one temperature
	Ledgers   []Ledger
	Cautions  []string
	Notes     []string // how numbers were come by: estimators, approximations, choices
}

// Verdict is one of the three judgements.
type Verdict struct {
	Outcome  document.Outcome
	Sentence string // why, with its figures
}

// Sweep is a run: the readings at one temperature.
type Sweep struct {
	Temperature quantity.Temperature // mean of the readings
	Low, High   quantity.Length      // first and last wavelength
	Isolations  int                  // readings of each kind
	Losses      int
}

// Point is one backward reading held against the model.
type Point struct {
	Line        int
	Run         int // index into Result.Runs
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Read        float64 // isolation as read, dB
	Bound       bool    // the file says "at least" Read, as in >62
	Isolation   float64 // net of the floor, dB; for an "at least" reading, the least isolation it proves at 95 %
	Low, High   float64 // of Isolation, expanded, dB; equal to it where Censored
	Amplitude   float64 // net leak amplitude; 0 if the floor exceeds the reading
	Standard    float64 // of Amplitude
	U           float64 // of Amplitude
	Censored    bool    // an "at least" reading: Bound, or net power under twice its standard uncertainty
	Outlier     bool    // left out of the fit
	Specified   Comparison
	Diagnosed   Comparison // with the errors that readings share put on the curve; same as Specified when nothing was fitted
}

// Comparison is a reading against one model.
type Comparison struct {
	Amplitude  float64 // model
	Isolation  float64 // model, dB
	ULow       float64 // expanded uncertainty of the model's amplitude, downwards
	UHigh      float64 // and upwards
	Residual   float64 // measured minus model amplitude
	ResidualDB float64 // measured minus model isolation, dB; 0 where Censored
	En         float64 // residual over the root sum of squares of both expanded uncertainties (ISO 13528); 0 where Censored
}

// LossPoint is one forward reading held against the model, in dB.
type LossPoint struct {
	Line        int
	Run         int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Read        float64
	Standard    float64
	U           float64
	Model       float64
	UModel      float64
	Residual    float64
	En          float64
}

// Curve is the model over wavelength at the temperature of one run, in dB.
type Curve struct {
	Quantity    string // limits.Isolation or limits.InsertionLoss
	Run         int
	Temperature quantity.Temperature
	Wavelengths []quantity.Length
	Specified   Band
	Diagnosed   Band // Value nil when nothing was fitted
}

// Band is a curve with its expanded uncertainty. In dB a band near the null is not symmetric.
type Band struct{ Value, Low, High []float64 }

// Figure is a declared figure, measured against modelled.
type Figure struct {
	Name        string // "least isolation", "wavelength of the isolation peak", "shift of the peak", "insertion loss"
	Condition   string // "1535-1565 nm, 23 °C"
	Unit        string // "dB", "nm", "nm/K"
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

// FigureComparison is a declared figure by one model.
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

// Decision is a limit, the figure held against it, and what the data covers of it.
type Decision struct {
	limits.Decision
	Statistic   string // "raw minimum of 301 readings"
	Count       int
	Line        int // of the reading that is the statistic
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	AtLeast     bool    // the statistic is an "at least" reading
	Bias        float64 // expected bias of the raw statistic from point-wise noise, dB; not corrected
	Correction  float64 // dB added to go from the polarization mean to the worst polarization
	Covered     bool    // band and temperatures are covered by readings
	Uncovered   string  // what is not
	Decided     bool    // a statistic exists

	// Reserve says why the figure does not speak for the whole limit: what was not measured, or a polarization that
	// was not sought out. A limit is then never met; it may be failed. Empty when the figure speaks for it.
	Reserve string
}

// FigureBudget is the uncertainty budget of one figure.
type FigureBudget struct {
	Figure   string
	Unit     string
	Lines    []BudgetLine
	Standard float64
	DOF      float64 // effective; 0 stands for infinite
	K        float64
	Expanded float64

	MonteCarlo MonteCarlo
}

// BudgetLine is one contribution to one figure.
type BudgetLine struct {
	Name         string
	Value        quantity.Quantity
	Distribution uncertainty.Distribution
	Divisor      float64
	Standard     float64 // in the unit of Value
	Sensitivity  float64 // figure's unit per unit of Value
	Contribution float64 // standard, in the figure's unit
	DOF          float64 // 0 stands for infinite
	Shared       uncertainty.Shared
	Share        float64 // of the variance
}

// FloorUsed is the floor that was subtracted.
type FloorUsed struct {
	Level    float64 // dB
	Power    float64
	Standard float64 // of Power
	Stated   bool    // the uncertainty was stated
}

// Diagnosis says which parameters explain the readings.
type Diagnosis struct {
	Fitted       bool
	Explanations []Explanation // in the order of AICc, best first
	Best         int           // index of the one adopted
	Departures   []Departure   // of the parameters of the adopted one
	Causes       []string      // paths found outside tolerance, worst first; or Gross
	Gross        []string      // gross errors that the readings look like and cannot be told apart, each as a sentence
	Correction   *Correction   // nil when no turn of a part mends anything
	Sentence     string
	Agreement    document.Outcome // of the adopted explanation with the readings, by chi-squared
	// Scaled is the factor by which standard uncertainties were widened because chi-squared exceeds
	// what the budget accounts for; 1 when it does not.
	Scaled float64
	// Pulls are the errors of wavelength and temperature that the adopted explanation asks for: they are
	// part of the budget, and one far beyond its standard uncertainty is a sign of another cause.
	Pulls []Pull
	Note  string // what else the reader must know: a combination instead of single parameters, ...
}

// Explanation is one hypothesis: the named parameters are free, all others as specified.
type Explanation struct {
	Label       string // "as specified", "rotator1.angle", ...; a gross error as a sentence
	Gross       bool   // a gross error, fitted to the readings of both directions as all others beside it
	Parameters  []Fitted
	Correlation [][]float64
	ChiSquared  float64
	DOF         int
	PValue      float64
	AICc        float64
	Delta       float64 // AICc above the best
	Converged   bool
}

// Fitted is a parameter with its fitted value, in the unit it was written in.
type Fitted struct {
	Path      string
	Unit      quantity.Unit
	Value     float64
	Sigma     float64 // 0 where the interval is not symmetric
	Low, High float64 // 95.45 %; High 0 where AtLeast
	AtLeast   bool    // compatible with no leak at all: the value is at least Low
}

// Departure is a fitted parameter against what was specified.
type Departure struct {
	Fitted
	Nominal       quantity.Quantity
	Departure     float64          // fitted minus nominal, in Unit
	U             float64          // expanded, in Unit
	Tolerance     float64          // in Unit; 0 when none is declared
	Within        document.Outcome // pass: inside its tolerance by U; fail: outside by U, and by what Alike may be off
	Freed         string           // label of the explanation whose fit it comes from
	Significant   bool             // the departure exceeds its expanded uncertainty
	Alike         []Alike          // parameters whose error looks the same in this data
	Combination   string           // when the data fix a sum of parameters only: "rotator1.angle + wedge2.axis"
	Indeterminate bool             // the data do not depend on it
}

// Alike is a parameter that this data cannot tell from another.
type Alike struct {
	Path        string
	Correlation float64           // of the derivatives of the leak, reading by reading
	Departure   quantity.Quantity // that would look the same
}

// Pull is the estimate of an error that a run, or all readings, share.
type Pull struct {
	Name  string            // of the contribution
	Run   int               // index into Result.Runs, or -1 for all
	Value quantity.Quantity // what the true wavelength or temperature lies above the stated one, in nm or kelvin
	Z     float64           // over the contribution's standard uncertainty
}

// Check is one examination of the data.
type Check struct {
	Name     string
	Outcome  document.Outcome // 0: not examined, for want of a statement in the file
	Sentence string
}
