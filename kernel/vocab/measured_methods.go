package vocab

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/measured"
	"wedgework/reports/nearest"
)

// figureParam asks for a figure by the name of its attribute or of its column.
var figureParam = Param{Name: "figure", Kind: textKind.of("figure", `"isolation"`),
	Doc: "the figure, by the name of its attribute"}

var measuredMethods = newMethods("measured",
	method[*Measured]{Word{
		Name:    "at",
		Summary: "the measured sweep at one temperature",
		Params:  []Param{{Name: "temperature", Kind: temperatureKind, Doc: "temperature of the sweep, to within 2 K"}},
		Returns: "measured data of that sweep",
		Errors:  "no sweep was measured within 2 K of it",
		Example: `measured("sweep", default="sweep.csv").at(23*degC).isolation.min()`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		r, err := runAt(t, a.Temperature("temperature"), a.Get("temperature"))
		if err != nil {
			return nil, err
		}
		return newMeasured(m.input, t.Pick(slices.Sorted(slices.Values(r.Rows)))), nil
	}},
	method[*Measured]{Word{
		Name:    "repeats",
		Summary: "the readings of one repeated sweep",
		Params: []Param{{Name: "number", Kind: wholeKind,
			Doc: "number in the column repeat of the file; if the file has no such column, repeats count from 1"}},
		Returns: "measured data of that sweep",
		Errors:  "the file has no repeated readings, or none with this number",
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
			return nil, noRepeats(t)
		}
		var rows []int
		for i, k := range t.Repeat {
			if k == n {
				rows = append(rows, i)
			}
		}
		if rows == nil {
			return nil, fmt.Errorf("%s has no repeat %d", t.File.Name, n)
		}
		return newMeasured(m.input, t.Pick(rows)), nil
	}},
	method[*Measured]{Word{
		Name:    "column",
		Summary: "any column of the file, by its name or its heading",
		Params: []Param{{Name: "name", Kind: textKind.of("name", `"power forward"`), Suggest: columnNames,
			Doc: "a name such as \"power forward\" or \"u(isolation)\", or the heading of a column unknown to the " +
				"program"}},
		Returns: "a series or grid; for a column unknown to the program, the texts of its fields, row by row",
		Errors:  "the file has no such column",
		Example: `measured("powers", default="powers.csv").column("power backward").max()`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		return columnOf(t, a.Text("name"))
	}},
	method[*Measured]{Word{
		Name:    "spread",
		Summary: "the standard deviation of repeated readings of a figure, point by point",
		Params:  []Param{figureParam},
		Returns: "a series or grid; the standard uncertainty of a mean of n readings is the spread over sqrt(n)",
		Errors:  "the file has no such figure, or no repeated readings",
		Example: `measured("sweep", default="repeats.csv").spread("isolation").mean()`,
		Source:  "JCGM 100, 4.2",
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, name, unit, err := m.repeated(a)
		if err != nil {
			return nil, err
		}
		averaged := t.Averaged()
		if averaged.Spread[name] == nil {
			return nil, noRepeats(t)
		}
		return seriesOf(averaged, "spread of "+name, name, averaged.Spread[name], unit)
	}},
	method[*Measured]{Word{
		Name:    "drift",
		Summary: "mean difference between repeated sweeps of a figure and the first, over their common wavelengths",
		Params:  []Param{figureParam},
		Returns: "a tuple with (temperature, repeat, mean difference) for each repeated sweep",
		Errors:  "the file has no such figure, or no repeated readings",
		Example: `measured("sweep", default="repeats.csv").drift("isolation")`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, name, unit, err := m.repeated(a)
		if err != nil {
			return nil, err
		}
		if t.Repeat == nil {
			return nil, noRepeats(t)
		}
		var all starlark.Tuple
		runs := t.Runs()
		for _, d := range t.Drifts(name) {
			all = append(all, starlark.Tuple{inCelsius(runs[d.Run].Temperature), starlark.MakeInt(d.Repeat),
				fromQuantity(quantity.FromSI(d.Mean, unit))})
		}
		return all, nil
	}},
	method[*Measured]{Word{
		Name:    "source",
		Summary: "origin of a reading: file with line and column, or workbook with sheet and cell",
		Params: []Param{
			figureParam,
			{Name: "wavelength", Kind: wavelengthKind, Doc: "a wavelength of the file, to within 1 pm"},
			{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
				Doc: "temperature of the sweep, to within 2 K; required if the file has several temperatures"},
		},
		Returns: "a text; for a figure computed from several rows, it names them all",
		Errors:  "the file has no reading of the figure at this wavelength and temperature",
		Example: `measured("sweep", default="sweep.csv").source("isolation", 1550*nm, temperature=23*degC)`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		return sourceOf(t, a)
	}},
	method[*Measured]{Word{
		Name:    "dgd_of",
		Summary: "DGD of a stack over the wavelength steps of these data, for comparison with them",
		Params:  []Param{{Name: "stack", Kind: stackKind, Doc: "the model"}},
		Returns: "a series or grid at the middle of each step",
		Errors: "the data contain no DGD by wavelength steps (swept Jones matrices), or a wavelength is outside the " +
			"range of a material",
		Example: exampleStack + `measured("matrices", default="jones.csv").dgd_of(s).mean()`,
		Source:  "B. L. Heffner, IEEE Photon. Technol. Lett. 4, 1066 (1992); IEC 61300-3-32",
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		return dgdOf(t, arg[*Stack](a, "stack").stack)
	}},
	repeatability,
)

// repeated returns the table and the figure of it that repeated readings are asked for of.
func (m *Measured) repeated(a Args) (t *measured.Table, column string, unit quantity.Unit, err error) {
	if t, err = m.one(); err == nil {
		column, unit, err = figureNamed(t, a)
	}
	return t, column, unit, err
}

func noRepeats(t *measured.Table) error {
	return fmt.Errorf("%s has no repeated readings", t.File.Name)
}

// runAt finds the run nearest to a temperature.
func runAt(t *measured.Table, want quantity.Temperature, said starlark.Value) (measured.Run, error) {
	best, found := measured.Run{Temperature: quantity.Temperature(math.Inf(1))}, ""
	if t.Temperature == nil {
		return best, fmt.Errorf("%s does not state the temperature", t.File.Name)
	}
	for _, r := range t.Runs() {
		if math.Abs(float64(r.Temperature-want)) < math.Abs(float64(best.Temperature-want)) {
			best = r
		}
		found += ", " + sensible(inCelsius(r.Temperature).Quantity)
	}
	if !(math.Abs(float64(best.Temperature-want)) <= measured.SameRun) {
		return best, fmt.Errorf("no sweep was measured within %d K of %s; the file has sweeps at %s",
			measured.SameRun, said, found[min(2, len(found)):])
	}
	return best, nil
}

// figureNamed returns the column of a figure and its unit; the table has it.
func figureNamed(t *measured.Table, a Args) (column string, unit quantity.Unit, err error) {
	name := a.Text("figure")
	var names []string
	for _, f := range measuredFigures {
		names = append(names, f.name)
		if f.name == name || f.column == name {
			if t.Figure(f.column) == nil {
				return "", unit, lacking(t, f.column)
			}
			return f.column, f.unit, nil
		}
	}
	if near := nearest.To(name, names); near != "" {
		return "", unit, fmt.Errorf("unknown figure %q; did you mean %q?", name, near)
	}
	return "", unit, a.refuse("figure", "one of "+strings.Join(names, ", "))
}

// columnOf returns a column by its name or head.
func columnOf(t *measured.Table, name string) (starlark.Value, error) {
	var names []string
	averaged := t.Averaged()
	for _, c := range t.Columns {
		known := c.Name
		if c.Uncertainty {
			known = "u(" + c.Name + ")"
		}
		names = append(names, c.Head)
		if !strings.EqualFold(c.Head, name) && (known == "" || !strings.EqualFold(known, name)) {
			continue
		}
		values := averaged.Raw[c.Name]
		if values == nil {
			values = averaged.Figure(c.Name)
		}
		unit := unitOf(t, c.Name)
		if c.Uncertainty {
			values = averaged.U[c.Name]
			if unit.Dimension() == quantity.OfLevel {
				unit = decibel
			}
		}
		switch {
		case c.Fields != nil:
			return textsOf(c.Fields, func(s string) string { return s }), nil
		case values != nil:
			return seriesOf(averaged, known, c.Name, values, unit)
		}
		return axisColumn(t, c.Name), nil
	}
	if near := nearest.To(name, names); near != "" {
		return nil, fmt.Errorf("%s has no column %q; did you mean %q?", t.File.Name, name, near)
	}
	return nil, fmt.Errorf("%s has no column %q; its columns are %s", t.File.Name, name, strings.Join(names, ", "))
}

// columnNames proposes the columns of the readings that a method belongs to.
func columnNames(at session.Site) []session.Match {
	m, ok := at.Receiver.(*Measured)
	if !at.Quoted || !ok || len(m.tables) != 1 {
		return nil
	}
	var list []session.Match
	for _, c := range m.tables[0].Columns {
		name := c.Name
		switch {
		case name == "":
			name = c.Head
		case c.Uncertainty:
			name = "u(" + name + ")"
		}
		list = append(list, session.Match{Text: name, Kind: session.TextMatch, Detail: c.Head})
	}
	return list
}

// axisColumn returns what places the readings, row by row.
func axisColumn(t *measured.Table, name string) starlark.Value {
	rows := make([]int, t.Rows())
	for i := range rows {
		rows[i] = i
	}
	list := make(starlark.Tuple, len(rows))
	for i := range rows {
		switch name {
		case measured.Temperature:
			list[i] = inCelsius(t.Temperature[i])
		case measured.Repeat:
			list[i] = starlark.MakeInt(t.Repeat[i])
		case measured.UnitName:
			list[i] = starlark.String(t.Units[i])
		case measured.LotName:
			list[i] = starlark.String(t.Lots[i])
		case measured.ConditionName:
			list[i] = starlark.String(t.Condition)
		default:
			list[i] = inNanometres(t.Wavelength[i])
		}
	}
	return list
}

// sourceOf words where a reading came from.
func sourceOf(t *measured.Table, a Args) (starlark.Value, error) {
	name, _, err := figureNamed(t, a)
	if err != nil {
		return nil, err
	}
	runs := t.Runs()
	run := runs[0]
	switch {
	case a.Given("temperature"):
		if run, err = runAt(t, a.Temperature("temperature"), a.Get("temperature")); err != nil {
			return nil, err
		}
	case len(runs) > 1:
		return nil, fmt.Errorf("%s has sweeps at several temperatures: select one, as in temperature=%s",
			t.File.Name, spelled(inCelsius(run.Temperature)))
	}
	const near = 1e-12 // metre
	var places []string
	for _, i := range run.Rows {
		if v := t.Figure(name)[i]; v == v && math.Abs(float64(t.Wavelength[i]-a.Length("wavelength"))) <= near {
			places = append(places, t.Cell(name, i))
		}
	}
	if places == nil {
		return nil, fmt.Errorf("%s has no reading of %s at %s", t.File.Name, name, a.Get("wavelength"))
	}
	return starlark.String(strings.Join(places, "; ")), nil
}

// dgdOf computes the delay of a stack over the steps of a table.
func dgdOf(t *measured.Table, s *stack.Stack) (starlark.Value, error) {
	if t.Steps == nil {
		return nil, fmt.Errorf("%s contains no DGD by wavelength steps, which needs swept Jones matrices", t.File.Name)
	}
	t = t.Averaged()
	direction, column := stack.Forward, measured.DGD
	if t.Figure(column) == nil {
		direction, column = stack.Backward, measured.BackwardDGD
	}
	values := make([]float64, t.Rows())
	for i, step := range t.Steps {
		values[i] = math.NaN()
		if step[0] == 0 {
			continue
		}
		var err error
		if values[i], err = s.StepDGD(direction, step[0], step[1], t.Temperature[i]); err != nil {
			return nil, err
		}
	}
	return seriesOf(t, "DGD", column, values, picosecond)
}
