package record

import "wedgework/reports/document"

// Qualification is a sequence of tests of a design, and what they are evidence of.
type Qualification struct {
	Verdict      Verdict       `json:"verdict"` // the worst of all tests and requirements
	Tests        []Test        `json:"tests"`
	Requirements []Requirement `json:"requirements,omitempty"`
	Deviations   []Deviation   `json:"deviations,omitempty"`
}

// Test is one test of a qualification.
type Test struct {
	Test      string    `json:"test"`
	Standard  string    `json:"standard,omitempty"`
	Severity  string    `json:"severity,omitempty"`
	Duration  string    `json:"duration,omitempty"`
	Planned   int       `json:"planned"` // units
	Allowed   int       `json:"allowed"` // failures
	Tested    int       `json:"tested"`  // units, as the next two
	Failed    int       `json:"failed"`
	Undecided int       `json:"undecided"`
	Outcome   string    `json:"outcome"`
	Sentence  string    `json:"sentence"`
	Common    []string  `json:"common,omitempty"` // contributions whose errors cancel in its changes
	Changes   []Changed `json:"changes,omitempty"`
}

// Changed is the change of one figure of one unit, after less before.
type Changed struct {
	Unit        string `json:"unit"`
	Quantity    string `json:"quantity"`
	Over        string `json:"over"` // band and temperatures
	QuantityIn  string `json:"quantity_unit"`
	Before      Number `json:"before"`
	After       Number `json:"after"`
	Change      Number `json:"change"`
	Uncertainty Number `json:"uncertainty"` // expanded, what is common cancelled
	Limit       Number `json:"limit"`
	Outcome     string `json:"outcome"`
	Why         string `json:"why,omitempty"` // why it is undecided
}

// Requirement is what the design must do, and the tests that are its evidence.
type Requirement struct {
	Requirement string   `json:"requirement"`
	Evidence    []string `json:"evidence,omitempty"` // names of tests
	Outcome     string   `json:"outcome"`
}

// Deviation is what was done otherwise than planned, or is accepted in spite of a limit. A waiver changes no outcome.
type Deviation struct {
	Test      string `json:"test"`
	Deviation string `json:"deviation"`
	Waiver    string `json:"waiver,omitempty"`
}

// Passes reports whether the qualification passes.
func (q Qualification) Passes() bool { return q.Verdict.Outcome == document.Pass.String() }
