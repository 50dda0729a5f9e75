package record

import "wedgework/reports/document"

// Schema and Version identify the format. A reader refuses a record with another schema or a later
// version; a field may be added without a new version, never removed or given another meaning.
const (
	Schema  = "wedgework record"
	Version = 1
)

// Header is what the word report() says about the report as a document.
type Header struct {
	Title    string
	Part     string
	Revision string
	Change   string           // number of the change-control record
	Extra    []document.Field // further identification in the order it was given
}

// Record is the whole record of one report.
type Record struct {
	Program    Program   `json:"program"`
	Header     Header    `json:"header"`
	Notebook   Source    `json:"notebook"`
	Inputs     []Input   `json:"inputs,omitempty"`
	Settings   []Setting `json:"settings,omitempty"`
	Parameters []Figure  `json:"parameters,omitempty"` // of the model as specified, by path: "rotator1.angle"
	Units      []Unit    `json:"units,omitempty"`      // one per verified unit, in the order of the notebook
	Cautions   []string  `json:"cautions,omitempty"`
}

// Field is a name and a value as they are to be read.
type Field struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Program says what made the record.
type Program struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Go      string `json:"go"` // toolchain: the same bytes are promised for the same toolchain only
}

// Source is a file that entered the report. Name is a base name, never a path.
type Source struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Bytes  int    `json:"bytes"`
}

// Input is a file of readings bound to a named input.
type Input struct {
	Name string  `json:"name"` // of the input: measured("sweep") asks for "sweep"
	File Source  `json:"file"`
	Rows int     `json:"rows"`
	Unit string  `json:"unit"`
	Lot  string  `json:"lot,omitempty"`
	Meta []Field `json:"metadata,omitempty"` // metadata lines of the file
}

// Setting is a value that given() returned.
type Setting struct {
	Name  string `json:"name"`
	Value string `json:"value"` // as printed: "5 deg"
	Bound bool   `json:"bound"` // true when the command line set it, false for the notebook's own default
}

// Unit is the verification of one unit.
type Unit struct {
	Unit         string         `json:"unit"`
	Lot          string         `json:"lot,omitempty"`
	Input        string         `json:"input"` // base name of the file the readings came from
	Verdicts     []Verdict      `json:"verdicts,omitempty"`
	Figures      []Compared     `json:"figures,omitempty"`
	Fitted       []Fitted       `json:"fitted,omitempty"`
	Limits       []Limit        `json:"limits,omitempty"`
	Contributors []Contribution `json:"contributors,omitempty"`
	Cautions     []string       `json:"cautions,omitempty"`
}

// Verdict is one of the judgements of the report. Outcome is "pass", "fail" or "undecided".
type Verdict struct {
	Subject  string `json:"subject"`
	Outcome  string `json:"outcome"`
	Sentence string `json:"sentence"`
}

// Figure is one number with its unit and, where there is one, its expanded uncertainty.
type Figure struct {
	Name        string `json:"name"`
	Value       Number `json:"value"`
	Unit        string `json:"unit"`        // "" for a plain number
	Uncertainty Number `json:"uncertainty"` // "" when none is stated
}

// Compared is a declared figure, measured and modelled.
type Compared struct {
	Name        string `json:"name"`
	At          string `json:"at,omitempty"` // where it holds: "23 °C, 1535 nm to 1565 nm"
	Unit        string `json:"unit"`
	Measured    Number `json:"measured"`
	UMeasured   Number `json:"u_measured"` // expanded uncertainty
	Model       Number `json:"model"`
	UModel      Number `json:"u_model"`      // expanded uncertainty
	NormalError Number `json:"normal_error"` // E_n
}

// Fitted is a parameter that the diagnosis adjusted.
type Fitted struct {
	Name        string `json:"name"` // "rotator1.angle"
	Unit        string `json:"unit"`
	Specified   Number `json:"specified"`
	Value       Number `json:"value"`
	Uncertainty Number `json:"uncertainty"`    // expanded
	Note        string `json:"note,omitempty"` // why the data cannot say more, when it cannot
}

// Limit is one limit and how the readings stand to it.
type Limit struct {
	Quantity string `json:"quantity"`
	Rule     string `json:"rule"` // "at least" or "at most"
	Over     string `json:"over"` // band and temperatures, in words
	Unit     string `json:"unit"`
	Limit    Number `json:"limit"`
	Measured Number `json:"measured"`
	Margin   Number `json:"margin"` // positive when the limit is kept
	Guard    Number `json:"guard"`  // guard band
	Outcome  string `json:"outcome"`
}

// Contribution is one line of the uncertainty budget.
type Contribution struct {
	Name         string `json:"name"`
	Value        Number `json:"value"`
	Unit         string `json:"unit"`
	Distribution string `json:"distribution"`
	Divisor      Number `json:"divisor"`
	Shared       string `json:"shared"` // "point", "run" or "all"
}
