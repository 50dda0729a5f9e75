package measured

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// Table is what a file of readings says, one entry of every slice per row, in the order of the file. A
// figure whose column is absent has a nil slice; a reading that was not taken is NaN. Tables that were
// computed from others (merged, averaged, referenced) say in Origins which rows of which files stand behind
// each row of theirs.
type Table struct {
	File     File
	Sheet    string     // of the workbook, "" for a text
	Meta     []KeyValue // the "# key: value" lines at the top, in order; what was computed has no line
	Remarks  []Remark   // every other comment line
	Columns  []Column   // all columns of the file, in order
	Warnings []string   // what a reader of the figures should know, one sentence each

	Wavelength  []quantity.Length      // in vacuum; converted when the file gives a frequency
	Temperature []quantity.Temperature // nil in a reference trace that has none

	Isolation     []float64 // dB, the whole loss backward
	InsertionLoss []float64 // dB, the loss forward
	PDL           []float64 // dB
	DGD           []float64 // seconds
	ReturnLoss    []float64 // dB

	// More holds the further figures by name: isolation mean, insertion loss min and max, PDL and DGD
	// backward. Figure reads it too.
	More map[string][]float64

	// Raw holds what an instrument gave and figures were computed from: powers in dBm ("power forward", "reference
	// 45 deg"), elements of Jones matrices ("j11 real").
	Raw map[string][]float64

	// U holds the standard uncertainty of each reading for the columns u(NAME) of the file: dB, seconds,
	// metres for the wavelength, kelvin for the temperature; NaN where the field is empty.
	U map[string][]float64

	// Bound marks the readings that are bounds, by figure: an isolation is at least so much, a power at
	// most. Nil for a figure without any.
	Bound map[string][]bool

	// Spread and Count belong to averaged rows: the standard deviation (n-1) of the readings behind each
	// mean, by figure, NaN for a single one, and how many there were.
	Spread map[string][]float64
	Count  map[string][]int

	// Steps holds the two wavelengths that each DGD was measured between, shorter one first; zero in rows
	// without a DGD by steps, nil in tables without any.
	Steps [][2]quantity.Length

	last map[string]float64 // the last digit of the numbers of a column, SI or dB

	stepTo []int32 // line of the second matrix of a step, the first being that of the row; 0 in other rows

	Condition string // of all rows, as a column or the metadata state it; "" where nothing does

	Repeat []int    // number of the repeated sweep; nil without repeats
	Units  []string // serial number of the unit of each row; nil without such a column
	Lots   []string // lot of each row; nil without such a column

	Line    []int      // line of the file each row stands on, counted from 1; the first one of a computed row
	Origins [][]Origin // the rows behind each row; nil when each is its own
	Sources []Source   // the files that Origins count; nil when there is only File

	References []Reference          // what powers were divided by, whose errors readings share
	divided    map[string]*division // powers over reference, by direction and launch state

	Unknown []string // heads of the columns that are kept in Columns and not used
	Unused  []Unused // what else of the file holds numbers and is not used
}

// Unused is something in a file that may be a reading and is not used as one.
type Unused struct {
	What string // for example "the comment \"1550 23\", which holds 2 numbers"
	Line int
}

// mostListed is how many rows that are not used are named one by one.
const mostListed = 5

func (t *Table) unused(line int, what string) {
	t.Unused = append(t.Unused, Unused{What: what, Line: line})
}

// Source is a file, or the sheet of one, that rows came from.
type Source struct {
	File  File
	Sheet string
}

// Origin is a row of a source.
type Origin struct {
	Source int // index into Sources; 0 is the table's own File where there are none
	Line   int
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
	Index       int           // its place in the file, counted from 1
	Unit        quantity.Unit // the unit of the file; the zero Unit for repeat, unit, lot and unknown columns
	Uncertainty bool          // a u(NAME) column
	Fields      []string      // the fields of an unknown column, row by row; nil for a known one
}

// Rows returns the number of rows.
func (t *Table) Rows() int { return len(t.Line) }

// Value returns the value of the first metadata line with the key, in any case, with underscores for
// spaces and under other names as in heads; ok tells whether there is one.
func (t *Table) Value(key string) (value string, ok bool) {
	for _, kv := range t.Meta {
		if keyOf(kv.Key) == keyOf(key) {
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

// Polarization returns the value of "# source polarization:", which Read has checked; four-state readings
// are min-max, for the extremes over polarization are computed from them.
func (t *Table) Polarization() Polarization {
	v, _ := t.Value(polarizationKey)
	return Polarization(strings.ToLower(v))
}

// Figure returns the readings of the named figure, one of Figures, nil when the table has none.
func (t *Table) Figure(name string) []float64 {
	if p := t.figure(name); p != nil {
		return *p
	}
	return t.More[name]
}

// figure returns where the readings of a figure are kept, nil for another name.
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

// setFigure keeps the readings of a figure.
func (t *Table) setFigure(name string, values []float64) {
	if p := t.figure(name); p != nil {
		*p = values
		return
	}
	put(&t.More, name, values)
}

func (t *Table) setU(name string, u []float64)       { put(&t.U, name, u) }
func (t *Table) setRaw(name string, v []float64)     { put(&t.Raw, name, v) }
func (t *Table) setBound(name string, bounds []bool) { put(&t.Bound, name, bounds) }

// put sets an entry of a map that may be nil.
func put[T any](m *map[string][]T, name string, values []T) {
	if *m == nil {
		*m = map[string][]T{}
	}
	(*m)[name] = values
}

// bounded tells whether a reading is a bound.
func (t *Table) bounded(name string, row int) bool {
	b := t.Bound[name]
	return b != nil && b[row]
}

// AtLeast tells whether the reading of a figure is a bound: the figure is at least so much.
func (t *Table) AtLeast(name string, row int) bool { return t.bounded(name, row) }

// Origin returns the rows of files that a row of the table came from: its own, the two matrices of a step, the readings
// of a reference trace.
func (t *Table) Origin(row int) []Origin {
	if t.Origins != nil {
		return t.Origins[row]
	}
	own := []Origin{{Line: t.Line[row]}}
	if t.stepTo != nil && t.stepTo[row] > 0 {
		own = append(own, Origin{Line: int(t.stepTo[row])})
	}
	for _, name := range slices.Sorted(maps.Keys(t.divided)) {
		t.divided[name].points(row, func(k int, _ float64) {
			r, n := t.reference(k)
			if r.Lines == nil {
				return
			}
			for _, line := range r.Lines[n] {
				if o := (Origin{Source: len(t.Sources) - 1, Line: line}); !slices.Contains(own, o) {
					own = append(own, o)
				}
			}
		})
	}
	return own
}

// Source returns a file that rows came from.
func (t *Table) Source(i int) Source {
	if t.Sources == nil {
		return Source{t.File, t.Sheet}
	}
	return t.Sources[i]
}

// LastDigit returns what a column of the file resolves: the change of a reading by one in its last digit, in SI, dB or
// dBm. It is 0 where that is not known.
func (t *Table) LastDigit(name string) float64 { return t.last[name] }

// Place words where a row came from: "sweep.csv, line 7", or "sweep.xlsx, sheet 23 C, row 7".
func (t *Table) Place(row int) string {
	var s []string
	for _, o := range t.Origin(row) {
		src := t.Source(o.Source)
		s = append(s, src.File.Name+", "+placeOf(src.Sheet, o.Line, 0))
	}
	return strings.Join(s, "; ")
}

// Cell words where one reading of a figure came from, as Place does, with its column: "line 7, column 3" or
// "cell C7". A figure that was computed, from powers or matrices, comes from its whole row.
func (t *Table) Cell(name string, row int) string {
	i := slices.IndexFunc(t.Columns, func(c Column) bool { return c.Name == name && !c.Uncertainty })
	if i < 0 || t.Sources != nil || len(t.Origin(row)) != 1 {
		return t.Place(row)
	}
	return t.File.Name + ", " + placeOf(t.Sheet, t.Line[row], t.Columns[i].Index)
}

// Notes says, one sentence each, what of the file was kept and not used, and what else a reader of the
// figures should know.
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
	for i, u := range t.Unused {
		if i == mostListed && len(t.Unused) > mostListed+1 {
			notes = append(notes, fmt.Sprintf("%d more rows of %s are not used", len(t.Unused)-i, t.File.Name))
			break
		}
		notes = append(notes, fmt.Sprintf("not used: %s (%s, %s)", u.What, t.File.Name, placeOf(t.Sheet, u.Line, 0)))
	}
	return append(notes, t.Warnings...)
}
