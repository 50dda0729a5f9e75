package record

import (
	"cmp"
	"slices"
	"strings"

	"wedgework/reports/document"
)

// Unit is the verification of one unit. Uncertainties are expanded unless they are called standard.
type Unit struct {
	Unit      string     `json:"unit"`
	Lot       string     `json:"lot,omitempty"`
	Condition string     `json:"condition,omitempty"`  // before, during or after a test
	Input     string     `json:"input"`                // base name of the file the readings came from
	Measured  string     `json:"measured,omitempty"`   // when, as the file states it
	Later     string     `json:"superseded,omitempty"` // file of the later test of this unit that counts instead
	Verdicts  []Verdict  `json:"verdicts,omitempty"`
	Limits    []Limit    `json:"limits,omitempty"`
	Figures   []Compared `json:"figures,omitempty"`
	Joint     *Joint     `json:"joint,omitempty"`
	Sweeps    []Sweep    `json:"sweeps,omitempty"`
	Model     []Figure   `json:"model,omitempty"` // parameters as specified, by path: "rotator1.angle"
	Diagnosis Diagnosis  `json:"diagnosis"`
	Budgets   []Budget   `json:"budgets,omitempty"`
	Leaks     []Leak     `json:"leaks,omitempty"`  // what the leak is made of, at the readings that matter
	Checks    []Check    `json:"checks,omitempty"` // of the data, on which the verdict on its quality rests
	Unused    []string   `json:"unused,omitempty"` // what of its file holds readings and is compared with nothing
	Cautions  []string   `json:"cautions,omitempty"`
	Notes     []string   `json:"notes,omitempty"` // estimators, approximations, choices
}

// Named is the number of a unit, or its file when it has none.
func (u Unit) Named() string { return cmp.Or(u.Unit, u.Input) }

// Called is how a unit is called: as it is named, and by the condition in which it was measured.
func (u Unit) Called() string {
	if u.Condition != "" {
		return u.Named() + ", " + u.Condition
	}
	return u.Named()
}

// LotCalled is how the lot of a unit is called: by its number, and by the condition in which its units were measured.
func (u Unit) LotCalled() string {
	if u.Condition == "" {
		return u.Lot
	}
	return strings.TrimPrefix(u.Lot+", "+u.Condition, ", ")
}

// Passes reports whether every verdict is a pass; undecided and not examined are none.
func (u Unit) Passes() bool {
	return !slices.ContainsFunc(u.Verdicts, func(v Verdict) bool { return v.Outcome != document.Pass.String() })
}

// Counts reports whether no later test of the unit counts instead.
func (u Unit) Counts() bool { return u.Later == "" }

// Passes reports whether every verdict of every unit that counts, of every design and of every qualification
// is a pass.
func (r *Record) Passes() bool {
	return !slices.ContainsFunc(r.Designs, func(d Design) bool { return !d.Passes() }) &&
		!slices.ContainsFunc(r.Qualifications, func(q Qualification) bool { return !q.Passes() }) &&
		!slices.ContainsFunc(r.Units, func(u Unit) bool { return u.Counts() && !u.Passes() })
}

// Verdict is one of the judgements of the report. Outcome is "pass", "fail" or "undecided".
type Verdict struct {
	Subject  string `json:"subject"`
	Outcome  string `json:"outcome"`
	Sentence string `json:"sentence"`
}

// Limit is one limit and how the readings stand to it.
type Limit struct {
	Quantity    string `json:"quantity"`
	Rule        string `json:"rule"` // "at least" or "at most"
	Limit       Number `json:"limit"`
	Unit        string `json:"unit"`
	Over        string `json:"over"`      // band and temperatures
	Statistic   string `json:"statistic"` // "raw minimum of 301 readings"
	Measured    Number `json:"measured"`
	Margin      Number `json:"margin"` // positive when the limit is kept
	Uncertainty Number `json:"uncertainty"`
	Low         Number `json:"low"` // of the coverage interval
	High        Number `json:"high"`
	Guard       Number `json:"guard"` // factor r of the rule; 0 is simple acceptance
	GuardBand   Number `json:"guard_band"`
	Conformance Number `json:"conformance"` // probability that the limit is kept; none where not all of it was read
	// The specific risks of the outcome, with nothing known before: that what passed does not conform, that what failed
	// does.
	FalseAcceptance Number `json:"false_acceptance"`
	FalseRejection  Number `json:"false_rejection"`
	Outcome         string `json:"outcome"`
	Risk            *Risk  `json:"risk,omitempty"`              // under a declared prior
	Decision        string `json:"decision_rule,omitempty"`     // the rule in words
	Bound           bool   `json:"measured_is_bound,omitempty"` // the readings prove at least this much and no more
	Lopsided        bool   `json:"lopsided,omitempty"`          // the coverage interval is not measured ± uncertainty
	Why             string `json:"why,omitempty"`               // why it is not decided, or what the readings do not cover
}

// Risk is what a decision risks when the figure is distributed over the production as its prior says.
type Risk struct {
	Prior         string `json:"prior"`
	Mean          Number `json:"mean"`
	Deviation     Number `json:"standard_deviation"`
	Conforming    Number `json:"conforming"`     // probability that a unit of the production conforms
	Posterior     Number `json:"posterior"`      // that this one does, given its reading too
	Consumer      Number `json:"consumers_risk"` // a unit is accepted and does not conform
	Producer      Number `json:"producers_risk"` // a unit conforms and is not accepted
	FalselyFailed Number `json:"falsely_failed"` // a unit conforms and fails
}

// Interval is a figure with the ends of its expanded uncertainty, which in dB need not be symmetric.
type Interval struct {
	Value Number `json:"value"`
	Low   Number `json:"low"`
	High  Number `json:"high"`
}

// Compared is a declared figure, measured and modelled.
type Compared struct {
	Name      string   `json:"name"`
	At        string   `json:"at,omitempty"` // where it holds: "1535-1565 nm, 23 °C"
	Unit      string   `json:"unit"`
	Measured  Interval `json:"measured"`
	Specified Model    `json:"specified"`           // by the model as specified
	Diagnosed *Model   `json:"diagnosed,omitempty"` // by the model as fitted
	Why       string   `json:"why,omitempty"`       // why the data does not fix the figure
}

// Model is a figure by one model, and the normalized error of the measured one against it.
type Model struct {
	Interval
	NormalizedError Number `json:"normalized_error"`
}

// Joint is the test of the declared figures together, with their covariance, against the model as specified.
type Joint struct {
	Figures    int    `json:"figures"` // those that do not follow from others
	Of         int    `json:"of"`      // all that the data fix
	ChiSquared Number `json:"chi_squared"`
	PValue     Number `json:"p_value"`
}

// Sweep is the readings at one temperature. Its numbers are conditions, as they are read.
type Sweep struct {
	Temperature Number `json:"temperature"`    // degC, the mean
	Low         Number `json:"wavelength_low"` // nm
	High        Number `json:"wavelength_high"`
	Counts
}

// Counts is how many readings of each quantity a sweep has that are compared with model and limits.
type Counts struct {
	Isolations int `json:"backward_readings"`
	Losses     int `json:"forward_readings"`
	PDLs       int `json:"pdl_readings,omitempty"`
	DGDs       int `json:"dgd_readings,omitempty"`
	Returns    int `json:"return_loss_readings,omitempty"`

	SlowLosses  int `json:"insertion_loss_slow_readings,omitempty"`
	FastLosses  int `json:"insertion_loss_fast_readings,omitempty"`
	Extinctions int `json:"extinction_ratio_readings,omitempty"`
}

// Diagnosis says which parameters explain the readings.
type Diagnosis struct {
	Sentence     string        `json:"sentence"`
	Note         string        `json:"note,omitempty"`
	Causes       []string      `json:"causes,omitempty"` // parameters found outside tolerance, worst first
	Fitted       []Fitted      `json:"fitted,omitempty"`
	Explanations []Explanation `json:"explanations,omitempty"` // all that were tried, best first
	Gross        []string      `json:"gross,omitempty"`        // gross errors that the readings look like
	Correction   *Correction   `json:"correction,omitempty"`   // none where no turn of a part mends anything
	Outliers     []Outlier     `json:"outliers,omitempty"`     // readings left out of the fit, by line
}

// Made reports whether parameters were fitted: a specified model alone explains nothing.
func (d Diagnosis) Made() bool {
	return slices.ContainsFunc(d.Explanations, func(e Explanation) bool { return e.Selected })
}

// Correction is the turn of one part that leaves the limits most room, by the model as diagnosed.
type Correction struct {
	Part        string `json:"part"`
	Parameter   string `json:"parameter"`   // what is turned, such as wedge2.roll
	Turn        Number `json:"turn"`        // from +x towards +y
	Uncertainty Number `json:"uncertainty"` // expanded, of the turn
	Unit        string `json:"unit"`        // of turn and uncertainty
	Gains       []Gain `json:"gains"`
	Cost        Number `json:"cost"` // insertion loss added, dB
}

// Gain is the least isolation under one condition before and after a correction, in dB.
type Gain struct {
	At     string `json:"at"`
	Before Number `json:"before"`
	After  Number `json:"after"`
}

// Outlier is a reading of isolation that parts with the curve; the file is the unit's input.
type Outlier struct {
	Line        int    `json:"line"`
	Wavelength  Number `json:"wavelength"`  // nm
	Temperature Number `json:"temperature"` // degC
	Residual    Number `json:"residual"`    // in standard uncertainties; positive where more light leaks
}

// Fitted is a parameter that the diagnosis adjusted.
type Fitted struct {
	Name        string `json:"name"` // "rotator1.angle"
	Unit        string `json:"unit"`
	Specified   Number `json:"specified"`
	Value       Number `json:"value"`
	Low         Number `json:"low"` // of 95 %
	High        Number `json:"high"`
	Departure   Number `json:"departure"`
	Uncertainty Number `json:"uncertainty"` // of the departure
	Tolerance   Number `json:"tolerance"`
	Within      string `json:"within"`
	Explanation string `json:"explanation,omitempty"` // the one whose fit it comes from
	Note        string `json:"note,omitempty"`        // what this data cannot tell it from
}

// Explanation is one hypothesis that was tried.
type Explanation struct {
	Label      string `json:"label"`
	ChiSquared Number `json:"chi_squared"`
	DOF        int    `json:"degrees_of_freedom"`
	PValue     Number `json:"p_value"`
	AICc       Number `json:"aicc,omitempty"`
	Above      Number `json:"aicc_above_best,omitempty"`
	Gross      bool   `json:"gross,omitempty"`    // a gross error, which label names
	Selected   bool   `json:"selected,omitempty"` // the one that the fitted model rests on
}

// Check is one examination of the data. Outcome may also be "not examined".
type Check struct {
	Name    string `json:"name"`
	Outcome string `json:"outcome"`
	Finding string `json:"finding"`
}

// Leak is what the leak of one reading is made of, by the model as diagnosed. The parts add in power.
type Leak struct {
	Name    string     `json:"name"` // why this reading: "decides limit 1"
	At      string     `json:"at"`   // "1565 nm, 23 °C"
	Parts   []LeakPart `json:"parts"`
	Sum     LeakPower  `json:"sum"`
	Reading LeakPower  `json:"reading"`
}

// LeakPart is one way for light to get back.
type LeakPart struct {
	Name string `json:"name"`
	LeakPower
}

// LeakPower is power that comes back over power sent, and the isolation that it would leave by itself; none where there
// is none to speak of.
type LeakPower struct {
	Millionths Number `json:"millionths"`
	Isolation  Number `json:"isolation"` // dB
}

// Budget is the uncertainty budget of one figure.
type Budget struct {
	Figure        string         `json:"figure"`
	Unit          string         `json:"unit"`
	Contributions []Contribution `json:"contributions,omitempty"`
	Standard      Number         `json:"standard"`
	K             Number         `json:"coverage_factor"`
	Expanded      Number         `json:"expanded"`
	DOF           Number         `json:"degrees_of_freedom"` // effective; none: well known
	MonteCarlo    *MonteCarlo    `json:"monte_carlo,omitempty"`
}

// MonteCarlo is the check of a budget by the Monte Carlo method: both coverage intervals, and whether they agree within
// the numerical tolerance.
type MonteCarlo struct {
	Low        Number `json:"low"`
	High       Number `json:"high"` // none: the leak may be nothing at all
	LinearLow  Number `json:"linear_low"`
	LinearHigh Number `json:"linear_high"`
	Tolerance  Number `json:"numerical_tolerance"`
	Trials     int    `json:"trials"`
	Agrees     bool   `json:"agrees"`
}

// Contribution is one line of a budget.
type Contribution struct {
	Name         string `json:"name"`
	Value        string `json:"value"` // with its unit
	Distribution string `json:"distribution"`
	Divisor      Number `json:"divisor"`
	Shared       string `json:"shared"`             // "point", "run" or "all"
	DOF          Number `json:"degrees_of_freedom"` // none: well known
	Sensitivity  Number `json:"sensitivity"`        // of the figure, in its unit by that of Value
	Standard     Number `json:"standard"`           // contribution to the figure, in its unit
}
