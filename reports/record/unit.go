package record

// Unit is the verification of one unit. Uncertainties are expanded unless they are called standard.
type Unit struct {
	Unit      string     `json:"unit"`
	Lot       string     `json:"lot,omitempty"`
	Input     string     `json:"input"` // base name of the file the readings came from
	Verdicts  []Verdict  `json:"verdicts,omitempty"`
	Limits    []Limit    `json:"limits,omitempty"`
	Figures   []Compared `json:"figures,omitempty"`
	Model     []Figure   `json:"model,omitempty"` // parameters as specified, by path: "rotator1.angle"
	Diagnosis Diagnosis  `json:"diagnosis"`
	Budgets   []Budget   `json:"budgets,omitempty"`
	Cautions  []string   `json:"cautions,omitempty"`
	Notes     []string   `json:"notes,omitempty"` // estimators, approximations, choices
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
	GuardBand   Number `json:"guard_band"`
	Conformance Number `json:"conformance"` // probability that the limit is kept; none where the readings do not speak for all of it
	Outcome     string `json:"outcome"`
	Why         string `json:"why,omitempty"` // why it is not decided, or what the readings do not cover
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

// Diagnosis says which parameters explain the readings.
type Diagnosis struct {
	Sentence     string        `json:"sentence"`
	Note         string        `json:"note,omitempty"`
	Causes       []string      `json:"causes,omitempty"` // parameters found outside tolerance, worst first
	Fitted       []Fitted      `json:"fitted,omitempty"`
	Explanations []Explanation `json:"explanations,omitempty"` // all that were tried, best first
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
}

// Budget is the uncertainty budget of one figure.
type Budget struct {
	Figure        string         `json:"figure"`
	Unit          string         `json:"unit"`
	Contributions []Contribution `json:"contributions,omitempty"`
	Standard      Number         `json:"standard"`
	K             Number         `json:"coverage_factor"`
	Expanded      Number         `json:"expanded"`
}

// Contribution is one line of a budget.
type Contribution struct {
	Name         string `json:"name"`
	Value        string `json:"value"` // with its unit
	Distribution string `json:"distribution"`
	Divisor      Number `json:"divisor"`
	Shared       string `json:"shared"`   // "point", "run" or "all"
	Standard     Number `json:"standard"` // contribution to the figure, in its unit
}
