package vocab

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/measured"
)

// Measured is the readings bound to a named input, as a cell holds them: one table, or several when the
// input is a lot.
type Measured struct {
	opaque
	input  string
	tables []*measured.Table
}

var measuredKind = instance[*Measured](`measured data such as measured("sweep", default="data/unit.csv")`)

// newMeasured wraps tables.
func newMeasured(input string, tables ...*measured.Table) *Measured {
	return &Measured{opaque{"measured"}, input, tables}
}

func (m *Measured) String() string {
	if len(m.tables) == 1 {
		t := m.tables[0]
		return fmt.Sprintf("<measured %s: %s%s>", m.input, count(t.Rows(), "row"), unitText(t))
	}
	return fmt.Sprintf("<measured %s: %s>", m.input, count(len(m.tables), "file"))
}

func unitText(t *measured.Table) string {
	if u := t.Unit(); u != "" {
		return " of unit " + u
	}
	return ""
}

// Len, Index and Iterate give the files of a lot one by one.
func (m *Measured) Len() int                   { return len(m.tables) }
func (m *Measured) Index(i int) starlark.Value { return newMeasured(m.input, m.tables[i]) }
func (m *Measured) Iterate() starlark.Iterator { return &iterator{m, 0} }

// measuredFigures are the columns that become series, as cells call them.
var measuredFigures = []struct {
	name, column string
	unit         quantity.Unit
}{
	{"isolation", measured.Isolation, decibel},
	{"insertion_loss", measured.InsertionLoss, decibel},
	{"pdl", measured.PDL, decibel},
	{"dgd", measured.DGD, picosecond},
	{"return_loss", measured.ReturnLoss, decibel},
}

// Attr returns a figure as a series or grid, or what the file says of itself.
func (m *Measured) Attr(name string) (starlark.Value, error) {
	if b := measuredMethods.bind(m, name); b != nil {
		return b, nil
	}
	if !slices.Contains(m.AttrNames(), name) {
		return nil, nil
	}
	t, err := m.one()
	if err != nil {
		return nil, err
	}
	for _, f := range measuredFigures {
		if f.name == name {
			return figureOf(t, f.name, f.column, f.unit)
		}
	}
	switch name {
	case "unit":
		return starlark.String(t.Unit()), nil
	case "lot":
		return starlark.String(t.Lot()), nil
	case "file":
		return starlark.String(t.File.Name), nil
	case "sha256":
		return starlark.String(t.File.SHA256), nil
	case "rows":
		return starlark.MakeInt(t.Rows()), nil
	case "polarization":
		return starlark.String(t.Polarization()), nil
	case "temperatures":
		var list starlark.Tuple
		for _, r := range runs(t) {
			list = append(list, inCelsius(r.temperature))
		}
		return list, nil
	}
	d := starlark.NewDict(len(t.Meta)) // meta
	for _, kv := range t.Meta {
		if err := d.SetKey(starlark.String(kv.Key), starlark.String(kv.Value)); err != nil {
			return nil, err
		}
	}
	d.Freeze()
	return d, nil
}

// AttrNames lists the fields and methods.
func (m *Measured) AttrNames() []string {
	names := measuredMethods.names("unit", "lot", "file", "sha256", "rows", "polarization", "temperatures", "meta")
	for _, f := range measuredFigures {
		names = append(names, f.name)
	}
	slices.Sort(names)
	return names
}

func (m *Measured) one() (*measured.Table, error) {
	if len(m.tables) == 1 {
		return m.tables[0], nil
	}
	return nil, fmt.Errorf("the input %q holds %d files: take one, as in d[0], or walk them with for", m.input, len(m.tables))
}

// run is the rows of a table at one temperature, in order of wavelength.
type run struct {
	temperature quantity.Temperature // mean
	rows        []int
}

// sameRun is how far apart, in kelvin, neighbouring temperatures of one run may lie: more than a chamber
// drifts during a sweep, less than the steps it is set in (a choice).
const sameRun = 2

// runs sorts the rows of a table into its sweeps, coldest first.
func runs(t *measured.Table) []run {
	order := make([]int, t.Rows())
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmpFloat(float64(t.Temperature[a]), float64(t.Temperature[b]))
	})
	var all []run
	for i, row := range order {
		if i == 0 || float64(t.Temperature[row]-t.Temperature[order[i-1]]) > sameRun {
			all = append(all, run{})
		}
		r := &all[len(all)-1]
		r.rows = append(r.rows, row)
	}
	for i := range all {
		sum := 0.0
		for _, row := range all[i].rows {
			sum += float64(t.Temperature[row])
		}
		all[i].temperature = quantity.Temperature(sum / float64(len(all[i].rows)))
		slices.SortStableFunc(all[i].rows, func(a, b int) int {
			return cmpFloat(float64(t.Wavelength[a]), float64(t.Wavelength[b]))
		})
	}
	return all
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

var errNoReadings = errors.New("the file has no such readings")

// figureOf returns the readings of one run as a series over wavelength, those of several runs on the
// same wavelengths as a grid.
func figureOf(t *measured.Table, name, column string, unit quantity.Unit) (starlark.Value, error) {
	readings := t.Figure(column)
	if readings == nil {
		return nil, fmt.Errorf("%s has no column %s", t.File.Name, column)
	}
	var first *Sweep
	var grid [][]float64
	temperatures := &Sweep{unit: quantity.MustNamed("degC")}
	for _, r := range runs(t) {
		axis := &Sweep{unit: quantity.MustNamed("nm")}
		var row []float64
		for _, i := range r.rows {
			l := inNanometres(t.Wavelength[i]).Value
			if n := len(axis.values); n > 0 && axis.values[n-1] == l {
				return nil, fmt.Errorf("%s has more than one reading at %s, %s: a series needs one; .repeats(n) takes one sweep",
					t.File.Name, inNanometres(t.Wavelength[i]), inCelsius(r.temperature))
			}
			axis.values = append(axis.values, l)
			row = append(row, quantity.FromSI(readings[i], unit).Value)
		}
		if first == nil {
			first = axis
		}
		if !first.same(axis) {
			return nil, fmt.Errorf("%s was taken at different wavelengths at different temperatures: take one run, as in d.at(%s)",
				t.File.Name, spelled(inCelsius(r.temperature)))
		}
		grid = append(grid, row)
		temperatures.values = append(temperatures.values, significant(r.temperature.Celsius(), 6))
	}
	label := "measured " + figureLabel(name)
	switch len(grid) {
	case 0:
		return nil, errNoReadings
	case 1:
		return newSeries(label, first, unit, grid[0]), nil
	}
	return newGrid(label, temperatures, first, unit, grid), nil
}

func (m *Measured) blocks() []document.Block {
	var blocks []document.Block
	for _, t := range m.tables {
		rows := []document.Field{
			{Name: "file", Value: t.File.Name}, {Name: "SHA-256", Value: t.File.SHA256},
			{Name: "unit", Value: t.Unit()}, {Name: "lot", Value: t.Lot()},
			{Name: "rows", Value: fmt.Sprint(t.Rows())},
		}
		for _, r := range runs(t) {
			lo, hi := t.Wavelength[r.rows[0]], t.Wavelength[r.rows[len(r.rows)-1]]
			rows = append(rows, document.Field{Name: "run at " + sensible(inCelsius(r.temperature).Quantity),
				Value: count(len(r.rows), "reading") + ", " + spanText(inNanometres(lo), inNanometres(hi))})
		}
		if p := t.Polarization(); p != measured.Unstated {
			rows = append(rows, document.Field{Name: "source polarization", Value: string(p)})
		}
		blocks = append(blocks, fields("Measured: "+m.input, rows...))
		for _, u := range t.Unknown {
			blocks = append(blocks, document.Plain("The column "+u+" is kept and not used."))
		}
	}
	return blocks
}

// json says what the data is; the figures are series of their own.
func (m *Measured) json() any {
	var all []any
	for _, t := range m.tables {
		all = append(all, map[string]any{
			"file": t.File.Name, "sha256": t.File.SHA256, "unit": t.Unit(), "lot": t.Lot(), "rows": t.Rows(),
		})
	}
	return all
}

// subset returns the rows of a table for which keep holds, in the order of the file.
func subset(t *measured.Table, keep func(row int) bool) *measured.Table {
	s := *t
	var rows []int
	for i := range t.Rows() {
		if keep(i) {
			rows = append(rows, i)
		}
	}
	s.Wavelength, s.Temperature = take(t.Wavelength, rows), take(t.Temperature, rows)
	s.Isolation, s.InsertionLoss, s.PDL = take(t.Isolation, rows), take(t.InsertionLoss, rows), take(t.PDL, rows)
	s.DGD, s.ReturnLoss = take(t.DGD, rows), take(t.ReturnLoss, rows)
	s.Repeat, s.Units, s.Lots, s.Line = take(t.Repeat, rows), take(t.Units, rows), take(t.Lots, rows), take(t.Line, rows)
	s.U = map[string][]float64{}
	for name, u := range t.U {
		s.U[name] = take(u, rows)
	}
	s.Columns = slices.Clone(t.Columns)
	for i := range s.Columns {
		s.Columns[i].Fields = take(s.Columns[i].Fields, rows)
	}
	return &s
}

func take[T any](column []T, rows []int) []T {
	if column == nil {
		return nil
	}
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = column[r]
	}
	return out
}

var measuredMethods = newMethods("measured",
	method[*Measured]{Word{
		Name:    "at",
		Summary: "the run at one temperature",
		Params:  []Param{{Name: "temperature", Kind: temperatureKind, Doc: "the temperature of the run, to within 2 K"}},
		Returns: "measured data of that run",
		Errors:  "no run is within 2 K of it",
		Example: `measured("sweep", default="sweep.csv").at(23*degC).isolation.min()`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		want := a.Temperature("temperature")
		best, found := run{temperature: quantity.Temperature(math.Inf(1))}, ""
		for _, r := range runs(t) {
			if math.Abs(float64(r.temperature-want)) < math.Abs(float64(best.temperature-want)) {
				best = r
			}
			found += ", " + sensible(inCelsius(r.temperature).Quantity)
		}
		if !(math.Abs(float64(best.temperature-want)) <= sameRun) {
			return nil, fmt.Errorf("no run is within %d K of %s; there are runs at %s", sameRun, a.Get("temperature"), found[min(2, len(found)):])
		}
		return newMeasured(m.input, subset(t, func(row int) bool { return slices.Contains(best.rows, row) })), nil
	}},
	method[*Measured]{Word{
		Name:    "repeats",
		Summary: "the readings of one repeated sweep",
		Params:  []Param{{Name: "number", Kind: wholeKind, Doc: "the number in the file's column repeat"}},
		Returns: "measured data of that sweep",
		Errors:  "the file has no column repeat, or no such number in it",
		Example: `measured("sweep", default="repeats.csv").repeats(2)`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		n, err := a.whole("number", 0, math.MaxInt32)
		if err != nil {
			return nil, err
		}
		if t.Repeat == nil {
			return nil, fmt.Errorf("%s has no column repeat", t.File.Name)
		}
		s := subset(t, func(row int) bool { return t.Repeat[row] == n })
		if s.Rows() == 0 {
			return nil, fmt.Errorf("%s has no repeat %d", t.File.Name, n)
		}
		return newMeasured(m.input, s), nil
	}},
)
