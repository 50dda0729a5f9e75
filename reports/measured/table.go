package measured

import (
	"fmt"
	"strings"

	"wedgework/optics/quantity"
)

// The names of the figures and axes that columns carry, as Table.U is keyed and as files spell them. A
// file may use any case, and underscores for spaces.
const (
	Wavelength    = "wavelength"
	Frequency     = "frequency"
	Temperature   = "temperature"
	Isolation     = "isolation"
	InsertionLoss = "insertion loss"
	PDL           = "pdl"
	DGD           = "dgd"
	ReturnLoss    = "return loss"
	Repeat        = "repeat"
	UnitName      = "unit"
	LotName       = "lot"
)

// Table is what a file of readings says, one entry of every slice per row of the file, in the order of
// the file. A figure whose column is absent has a nil slice; a reading that was not taken is NaN.
type Table struct {
	File    File
	Meta    []KeyValue // the "# key: value" lines at the top, in order
	Remarks []Remark   // every other "#" line
	Columns []Column   // all columns of the file, in order

	Wavelength  []quantity.Length // in vacuum; converted when the file gives a frequency
	Temperature []quantity.Temperature

	Isolation     []float64 // dB, the whole loss backward
	InsertionLoss []float64 // dB, the loss forward
	PDL           []float64 // dB
	DGD           []float64 // seconds
	ReturnLoss    []float64 // dB

	// U holds the standard uncertainty of each reading for the columns u(NAME) of the file: dB, seconds,
	// metres for the wavelength, kelvin for the temperature; NaN where the field is empty.
	U map[string][]float64

	Repeat []int    // number of the repeated sweep; nil without such a column
	Units  []string // serial number of the unit of each row; nil without such a column
	Lots   []string // lot of each row; nil without such a column

	Line    []int    // line of the file each row stands on, counted from 1
	Unknown []string // heads of the columns that are kept in Columns and not used
}

// KeyValue is one metadata line.
type KeyValue struct {
	Key, Value string
	Line       int
}

// Remark is a comment line of the file that is not metadata.
type Remark struct {
	Text string
	Line int
}

// Column is one column of the file.
type Column struct {
	Head        string        // as the file spells it, for example "u(isolation) [dB]"
	Name        string        // one of the names above; "" when unknown
	Unit        quantity.Unit // the unit of the file; the zero Unit for repeat, unit, lot and unknown columns
	Uncertainty bool          // a u(NAME) column
	Fields      []string      // the fields of an unknown column, row by row; nil for a known one
}

// Rows returns the number of rows.
func (t *Table) Rows() int { return len(t.Line) }

// Value returns the value of the first metadata line with the key, in any case and with underscores for
// spaces as in heads; ok tells whether there is one.
func (t *Table) Value(key string) (value string, ok bool) {
	for _, kv := range t.Meta {
		if normal(kv.Key) == normal(key) {
			return kv.Value, true
		}
	}
	return "", false
}

// Unit returns the serial number that the metadata or a unit column with one value gives, "" when there
// is none or the file holds several units.
func (t *Table) Unit() string { return t.only(t.Units, UnitName) }

// Lot returns the lot, as Unit does the unit.
func (t *Table) Lot() string { return t.only(t.Lots, LotName) }

func (t *Table) only(column []string, key string) string {
	if len(column) == 0 {
		v, _ := t.Value(key)
		return v
	}
	for _, v := range column[1:] {
		if v != column[0] {
			return ""
		}
	}
	return column[0]
}

// Polarization tells how the source was polarized while the readings were taken.
type Polarization string

// The polarizations that "# source polarization:" may name. Unstated is the absence of that line.
const (
	Unstated     Polarization = ""
	Scrambled    Polarization = "scrambled"     // averaged over all states: compare with isolation_mean
	MinMax       Polarization = "min-max"       // searched for the least: compare with isolation
	FixedUnknown Polarization = "fixed-unknown" // one state, not known: no figure over all polarizations
)

// Polarization returns the value of "# source polarization:", which Read has checked.
func (t *Table) Polarization() Polarization {
	v, _ := t.Value("source polarization")
	return Polarization(strings.ToLower(v))
}

// Figure returns the readings of the named figure (Isolation, InsertionLoss, PDL, DGD or ReturnLoss), nil
// when the file has no such column.
func (t *Table) Figure(name string) []float64 {
	if p := t.figure(name); p != nil {
		return *p
	}
	return nil
}

func (t *Table) figure(name string) *[]float64 {
	switch name {
	case Isolation:
		return &t.Isolation
	case InsertionLoss:
		return &t.InsertionLoss
	case PDL:
		return &t.PDL
	case DGD:
		return &t.DGD
	case ReturnLoss:
		return &t.ReturnLoss
	}
	return nil
}

// Notes says, one sentence each, what of the file was kept and not used.
func (t *Table) Notes() []string {
	var notes []string
	for _, c := range t.Columns {
		if c.Name != "" {
			continue
		}
		s := fmt.Sprintf("column %q of %s is not known and not used", c.Head, t.File.Name)
		if near := c.Nearest(); near != "" {
			s += fmt.Sprintf("; the nearest name known is %s", near)
		}
		notes = append(notes, s)
	}
	return notes
}
