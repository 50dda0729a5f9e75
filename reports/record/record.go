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
	Program    Program
	Header     Header
	Notebook   Source
	Inputs     []Input
	Settings   []Setting
	Parameters []Figure // of the model as specified, by path: "rotator1.angle"
	Units      []Unit   // one per verified unit, in the order of the notebook
	Cautions   []string
}

// Program says what made the record.
type Program struct {
	Name    string
	Version string
	Go      string // toolchain: the same bytes are promised for the same toolchain only
}

// Source is a file that entered the report. Name is a base name, never a path.
type Source struct {
	Name   string
	SHA256 string
	Bytes  int
}

// Input is a file of readings bound to a named input.
type Input struct {
	Name string // of the input: measured("sweep") asks for "sweep"
	Source
	Rows int
	Unit string
	Lot  string
	Meta []document.Field // metadata lines of the file
}

// Setting is a value that given() returned.
type Setting struct {
	Name  string
	Value string // as printed: "5 deg"
	Bound bool   // true when the command line set it, false for the notebook's own default
}

// Unit is the verification of one unit.
type Unit struct {
	Unit         string
	Lot          string
	Input        string // base name of the file the readings came from
	Verdicts     []Verdict
	Figures      []Compared
	Fitted       []Fitted
	Limits       []Limit
	Contributors []Contribution
	Cautions     []string
}

// Verdict is one of the judgements of the report. Outcome is "pass", "fail" or "undecided".
type Verdict struct {
	Subject  string
	Outcome  string
	Sentence string
}

// Figure is one number with its unit and, where there is one, its expanded uncertainty.
type Figure struct {
	Name        string
	Value       Number
	Unit        string // "" for a plain number
	Uncertainty Number // "" when none is stated
}

// Compared is a declared figure, measured and modelled.
type Compared struct {
	Name        string
	At          string // where it holds: "23 °C, 1535 nm to 1565 nm"
	Unit        string
	Measured    Number
	UMeasured   Number // expanded uncertainty
	Model       Number
	UModel      Number // expanded uncertainty
	NormalError Number // E_n
}

// Fitted is a parameter that the diagnosis adjusted.
type Fitted struct {
	Name        string // "rotator1.angle"
	Unit        string
	Specified   Number
	Value       Number
	Uncertainty Number // expanded
	Note        string // why the data cannot say more, when it cannot
}

// Limit is one limit and how the readings stand to it.
type Limit struct {
	Quantity string
	Rule     string // "at least" or "at most"
	Over     string // band and temperatures, in words
	Unit     string
	Limit    Number
	Measured Number
	Margin   Number // positive when the limit is kept
	Guard    Number // guard band
	Outcome  string
}

// Contribution is one line of the uncertainty budget.
type Contribution struct {
	Name         string
	Value        Number
	Unit         string
	Distribution string
	Divisor      Number
	Shared       string // "point", "run" or "all"
}
