package record

import (
	"slices"

	"wedgework/reports/document"
)

// Design is a design held against limits before a unit of it exists. Its figures are those of the model, and have no
// uncertainty of measurement.
type Design struct {
	Design   string        `json:"design"` // its name
	Verdicts []Verdict     `json:"verdicts"`
	Limits   []DesignLimit `json:"limits"`
	Yield    *Yield        `json:"yield,omitempty"` // of units sampled within tolerances
	Model    []Figure      `json:"model,omitempty"` // parameters, by path
	Cautions []string      `json:"cautions,omitempty"`
}

// DesignLimit is one limit and the extreme that the design has over its band and temperatures.
type DesignLimit struct {
	Quantity    string `json:"quantity"`
	Rule        string `json:"rule"` // "at least" or "at most"
	Limit       Number `json:"limit"`
	Unit        string `json:"unit"`
	Over        string `json:"over"` // band and temperatures
	Computed    Number `json:"computed"`
	Margin      Number `json:"margin"`      // positive when the limit is met
	Wavelength  Number `json:"wavelength"`  // nm, where the extreme is
	Temperature Number `json:"temperature"` // degC
	Port        int    `json:"port,omitempty"`
	Outcome     string `json:"outcome"`
	Yield       Number `json:"yield"` // share of sampled units that meet it; none without tolerances
	Why         string `json:"why,omitempty"`
}

// Yield is the share of sampled units that meet every limit.
type Yield struct {
	Units      int     `json:"units"`
	Good       int     `json:"good"`
	Low        Number  `json:"low"` // 95 % interval of the share
	High       Number  `json:"high"`
	Required   Number  `json:"required"` // none where nothing is
	Seed       int     `json:"seed"`
	Each       string  `json:"each_unit"` // what was done to each
	Tolerances []Field `json:"tolerances"`
}

// Passes reports whether every verdict is a pass.
func (d Design) Passes() bool {
	return !slices.ContainsFunc(d.Verdicts, func(v Verdict) bool { return v.Outcome != document.Pass.String() })
}
