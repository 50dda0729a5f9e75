package record

import "wedgework/reports/document"

// Schema and Version identify the format. A reader refuses a record with another schema or a later
// version; a field may be added without a new version, never removed or given another meaning.
const (
	Schema  = "wedgework record"
	Version = 1
)

// FileName is the name of the record among the attachments of a report. The record names the others by their hashes.
const FileName = "record.json"

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
	Program    Program     `json:"program"`
	Header     Header      `json:"header"`
	Number     string      `json:"number,omitempty"`     // of the report, never that of another; see OwnNumber
	Supersedes *Superseded `json:"supersedes,omitempty"` // the report that this one takes the place of
	Issued     string      `json:"issued,omitempty"`     // the day the report bears, as 2026-11-25, when one was asked for
	Paper      string      `json:"paper,omitempty"`      // that pages are made for: "letter"; "" is A4
	Notebook   Source      `json:"notebook"`
	Executed   Source      `json:"executed"`            // the notebook with its outputs, as it is attached
	Constants  []Source    `json:"constants,omitempty"` // the program's own that the notebook asked for, by material
	Fonts      []Source    `json:"fonts,omitempty"`     // added to those of the program
	Inputs     []Input     `json:"inputs,omitempty"`
	Settings   []Setting   `json:"settings,omitempty"`
	Units      []Unit      `json:"units,omitempty"`   // one per verified unit, in the order of the notebook
	Lots       []Lot       `json:"lots,omitempty"`    // of two units or more
	Designs    []Design    `json:"designs,omitempty"` // against limits, in the order of the notebook

	Qualifications []Qualification `json:"qualifications,omitempty"`
	Retests        *Retests        `json:"retests,omitempty"`
	Cautions       []string        `json:"cautions,omitempty"`
}

// Superseded is a report that another one takes the place of.
type Superseded struct {
	Number string `json:"number"`
	SHA256 string `json:"sha256"` // of its record
}

// Retests says how units count that were measured more than once; nil where none was.
type Retests struct {
	Rule     string `json:"rule"` // "latest" or "all"
	Sentence string `json:"sentence"`
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

	// Architecture is of the processor, as the toolchain calls it, in records that were written when bytes depended on
	// it: those are made again with it.
	Architecture string `json:"architecture,omitempty"`
}

// Source is a file that entered the report. Name is a base name, never a path.
type Source struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Bytes  int    `json:"bytes"`
}

// Input is a file of readings bound to a named input.
type Input struct {
	Name    string   `json:"name"` // of the input: measured("sweep") asks for "sweep"
	File    Source   `json:"file"`
	Sheet   string   `json:"sheet,omitempty"` // of a workbook
	Rows    int      `json:"rows"`
	Unit    string   `json:"unit"`
	Lot     string   `json:"lot,omitempty"`
	Meta    []Field  `json:"metadata,omitempty"`       // metadata lines of the file
	Remarks []string `json:"remarks,omitempty"`        // its other comment lines
	Unused  []string `json:"unused_columns,omitempty"` // heads of the columns that were kept and not used
}

// Setting is a value that given() returned.
type Setting struct {
	Name       string `json:"name"`
	Value      string `json:"value"`                // as printed: "5 deg"
	Expression string `json:"expression,omitempty"` // what the command line set it to: "5*deg"
	Bound      bool   `json:"bound"`                // true when the command line set it, false for the notebook's own default
}

// Figure is one number with its unit.
type Figure struct {
	Name  string `json:"name"`
	Value Number `json:"value"`
	Unit  string `json:"unit"` // "" for a plain number
}
