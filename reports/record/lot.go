package record

// Lot is what the units of one lot show together. Its characteristics are in the order in which a report prints them.
type Lot struct {
	Lot             string           `json:"lot"`
	Sentence        string           `json:"sentence"`
	Order           string           `json:"order"`                   // by what the units are ordered
	Unstable        []string         `json:"unstable,omitempty"`      // characteristics that move from unit to unit
	Retested        bool             `json:"several_tests,omitempty"` // some unit stands with more than one test
	Proportion      Number           `json:"proportion"`              // of the units, that tolerance intervals hold
	Confidence      Number           `json:"confidence"`
	Units           []LotUnit        `json:"units"`
	Characteristics []Characteristic `json:"characteristics,omitempty"`
}

// LotUnit is one unit with the outcomes of its verdicts, in the order in which they are always shown.
type LotUnit struct {
	Unit     string   `json:"unit"`
	Verdicts []string `json:"verdicts"` // model agreement, limit conformity, data quality
	Causes   []string `json:"causes,omitempty"`
}

// Characteristic is one number that each unit has, over the units of a lot.
type Characteristic struct {
	Kind      string   `json:"kind"` // "limit", "figure" or "parameter"
	Name      string   `json:"name"`
	At        string   `json:"at,omitempty"`
	Unit      string   `json:"unit"`
	Rule      string   `json:"rule,omitempty"` // "at least" or "at most", of a limit
	Limit     Number   `json:"limit"`
	Units     []string `json:"units"` // that have a value
	Values    []Number `json:"values"`
	Bounded   []string `json:"bounded,omitempty"` // units whose figure is a bound only
	Missing   []string `json:"missing,omitempty"` // units without one
	Mean      Number   `json:"mean"`
	Deviation Number   `json:"standard_deviation"`
	Least     Number   `json:"least"`
	Greatest  Number   `json:"greatest"`
	// Measurement is the share of the variance that the uncertainty of the measurement accounts for.
	Measurement Number      `json:"share_of_measurement"`
	Tolerance   LotInterval `json:"tolerance_interval"`
	Keeps       string      `json:"keeps_limit,omitempty"` // whether the tolerance interval keeps the limit
	Chart       *Chart      `json:"control_chart,omitempty"`
	Trend       *Trend      `json:"trend,omitempty"`
}

// LotInterval is a statistical tolerance interval (ISO 16269-6); an end that it does not have is none.
type LotInterval struct {
	K              Number `json:"k"`
	Low            Number `json:"low"`
	High           Number `json:"high"`
	FreeProportion Number `json:"distribution_free_proportion"` // of the units, beyond or between the extremes
	FreeSize       int    `json:"distribution_free_size"`       // units for the extremes to hold the proportion
}

// Chart is a control chart for individuals and moving ranges (ISO 7870-2).
type Chart struct {
	Centre     Number   `json:"centre"`
	Lower      Number   `json:"lower"`
	Upper      Number   `json:"upper"`
	MeanRange  Number   `json:"mean_range"`
	UpperRange Number   `json:"upper_range"`
	Trial      bool     `json:"trial"` // limits from too few units to be more
	Signals    []string `json:"signals,omitempty"`
}

// Trend is the straight line over the units in their order.
type Trend struct {
	Slope       Number `json:"slope"` // per unit
	Uncertainty Number `json:"uncertainty"`
	PValue      Number `json:"p_value"`
	Significant bool   `json:"significant"`
}
