package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// reader holds a file while it is being read.
type reader struct {
	*Table
	grid    *grid
	columns []column
	row     int    // the row of the heads
	unit    string // of every row, from the metadata
	lot     string
}

// Read reads a file of readings: a text in any dialect, or a workbook of one sheet that holds anything. An
// error is a *Refusal.
func Read(f File) (*Table, error) { return ReadSheet(f, "") }

// ReadSheet reads one sheet of a workbook, by its name; the empty name is the only one there is.
func ReadSheet(f File, sheet string) (*Table, error) {
	g, err := gridOf(f, sheet)
	if err != nil {
		return nil, err
	}
	r := &reader{Table: &Table{File: f, Sheet: g.sheet}, grid: g}
	if g.warning != "" {
		r.warn("%s", g.warning)
	}
	rows, err := r.top()
	if err != nil {
		return nil, err
	}
	for _, step := range []func() error{
		r.checkMeta,
		func() error { return r.records(rows) },
		r.fill, r.number, r.derive,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return r.Table, nil
}

func (r *reader) warn(format string, args ...any) {
	r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...))
}

// top reads what stands above the data: comments, metadata and the heads. It returns the rows of data.
func (r *reader) top() ([]gridRow, error) {
	rows := r.grid.rows
	for i, row := range rows {
		if row.remark {
			r.comment(row, false)
			continue
		}
		if !heads(row.cells) && !r.named(row.cells) {
			if err := r.preamble(row); err != nil {
				return nil, err
			}
			continue
		}
		var below *gridRow
		if i+1 < len(rows) && !rows[i+1].remark {
			below = &rows[i+1]
		}
		used, err := r.head(row, below)
		r.row = row.line
		return rows[min(i+used, len(rows)):], err
	}
	if slices.ContainsFunc(rows, func(row gridRow) bool { return !row.remark }) {
		return nil, r.refuse(0, 0, "no row with the heads of the columns", "heads such as wavelength [nm], isolation [dB] above the readings")
	}
	return nil, r.refuse(0, 0, "comment lines only", "a head of columns and rows of readings")
}

// named tells whether a row that holds no axis and no reading is the heads all the same, so that it is
// refused for what it lacks: three or more names, one of them known.
func (r *reader) named(cells []string) bool {
	if triple(cells) {
		return false
	}
	n, known := 0, false
	for _, c := range cells {
		if c != "" {
			n++
			known = known || parseHead(c).Name != ""
		}
	}
	return n > 2 && known
}

// records reads the rows of data.
func (r *reader) records(rows []gridRow) error {
	if err := r.shown(rows); err != nil {
		return err
	}
	mark, err := r.decimalMark(rows)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if row.remark {
			if err := r.late(row); err != nil {
				return err
			}
			r.comment(row, true)
			continue
		}
		if err := r.record(row, mark); err != nil {
			return err
		}
	}
	if r.Rows() == 0 {
		return r.refuse(r.row, 0, "nothing after the heads of the columns", "rows of readings")
	}
	return nil
}

// decimalMark looks at all the numbers of the file.
func (r *reader) decimalMark(rows []gridRow) (byte, error) {
	var d decimals
	for _, row := range rows {
		for i, f := range row.cells {
			if i < len(r.columns) && r.columns[i].Name != "" && !r.columns[i].kind.text {
				d.see(place{f, row.line, i + 1})
			}
		}
	}
	mark, at, found, want := d.mark(func(p *place) string { return placeOf(r.Sheet, p.line, p.column) })
	if at != nil {
		return 0, r.refuse(at.line, at.column, found, want)
	}
	return mark, nil
}

// record reads one row of readings.
func (r *reader) record(row gridRow, mark byte) error {
	cells := row.cells
	for len(cells) > len(r.columns) && cells[len(cells)-1] == "" {
		cells = cells[:len(cells)-1] // a separator at the end of the line
	}
	if r.grid.ragged && len(cells) < len(r.columns) {
		cells = append(slices.Clone(cells), make([]string, len(r.columns)-len(cells))...)
	}
	if r.again(cells) {
		return r.refuse(row.line, 0, "the heads of the columns again", "one table in a file: sweeps under each other need columns such as temperature [degC] or repeat, or files of their own")
	}
	if len(cells) == 1 && len(r.columns) > 1 {
		return r.refuse(row.line, 0, quote(cells[0])+" alone on its line", fmt.Sprintf("%d fields as in the head on %s, or a comment that begins with #", len(r.columns), placeOf(r.Sheet, r.row, 0)))
	}
	if r.grid.sheet != "" && len(cells) > len(r.columns) {
		return r.refuse(row.line, len(cells), quote(cells[len(cells)-1]), "nothing, for there is no head above it")
	}
	if len(cells) != len(r.columns) {
		want := fmt.Sprintf("%d as in the head on %s", len(r.columns), placeOf(r.Sheet, r.row, 0))
		if len(cells) > len(r.columns) {
			want += " (a decimal comma makes two fields of one number where commas separate fields)"
		}
		return r.refuse(row.line, 0, fmt.Sprintf("%d fields", len(cells)), want)
	}
	r.Line = append(r.Line, row.line)
	for i := range r.columns {
		if err := r.columns[i].take(cells[i], mark); err != nil {
			return r.refuse(row.line, i+1, quote(cells[i]), err.Error())
		}
	}
	return nil
}

// again tells whether a row repeats the heads.
func (r *reader) again(cells []string) bool {
	for i, c := range cells {
		if i >= len(r.columns) || c != r.columns[i].Head {
			return false
		}
	}
	return len(cells) > 1
}

// take adds a field to the column; the error says what was expected.
func (c *column) take(field string, mark byte) error {
	switch {
	case c.blank:
		if field != "" {
			return fmt.Errorf("nothing, or a head above it: the name of a column")
		}
		return nil
	case c.Name == "":
		c.Fields = append(c.Fields, field)
		return nil
	case c.kind.text:
		c.texts = append(c.texts, field)
		return nil
	}
	if mark == ',' && strings.Count(field, ",") == 1 && !strings.Contains(field, ".") {
		field = strings.Replace(field, ",", ".", 1)
	}
	v, err := c.parseReading(field)
	if err != nil {
		return err
	}
	if v.value != v.value && c.required() {
		return fmt.Errorf("a %s in every row", c.Name)
	}
	if v.bound && c.bounds == nil {
		c.bounds = make([]bool, len(c.values))
	}
	c.values = append(c.values, v.value)
	if c.bounds != nil {
		c.bounds = append(c.bounds, v.bound)
	}
	return nil
}

// required columns place a reading; without them it has no meaning.
func (c *column) required() bool {
	switch c.Name {
	case Wavelength, Frequency, Temperature, Repeat:
		return !c.Uncertainty
	}
	return false
}

// refuse makes the error of a place, with the head of its column.
func (r *reader) refuse(line, column int, found, want string) error {
	e := &Refusal{File: r.File.Name, Sheet: r.Sheet, Line: line, Column: column, Found: found, Want: want}
	if column > 0 && column <= len(r.columns) {
		e.Head = r.columns[column-1].Head
	}
	return e
}

func (r *reader) column(name string, uncertainty bool) *column {
	for i := range r.columns {
		if c := &r.columns[i]; c.Name == name && c.Uncertainty == uncertainty {
			return c
		}
	}
	return nil
}

// fill moves what was read into the table.
func (r *reader) fill() error {
	for i := range r.columns {
		c := &r.columns[i]
		c.Index = i + 1
		if c.blank {
			continue
		}
		r.Columns = append(r.Columns, c.Column)
		p := r.figure(c.Name)
		switch {
		case c.Name == "":
			r.Unknown = append(r.Unknown, c.Head)
		case c.Uncertainty:
			r.uncertainty(c)
		case p != nil:
			*p = c.values
		case c.kind.raw:
			r.setRaw(c.Name, c.values)
		}
		if c.bounds != nil {
			r.setBound(c.Name, c.bounds)
		}
	}
	r.axis()
	if err := r.temperatures(); err != nil {
		return err
	}
	if c := r.column(Repeat, false); c != nil {
		for _, v := range c.values {
			r.Repeat = append(r.Repeat, int(v))
		}
	}
	r.unit, _ = r.Value(UnitName)
	r.lot, _ = r.Value(LotName)
	var err error
	if r.Units, err = r.texts(UnitName, r.unit); err == nil {
		r.Lots, err = r.texts(LotName, r.lot)
	}
	return err
}

// axis fills in the wavelengths, lambda = c / f where the file gives frequencies.
func (r *reader) axis() {
	if c := r.column(Wavelength, false); c != nil {
		for _, v := range c.values {
			r.Wavelength = append(r.Wavelength, quantity.Length(v))
		}
		return
	}
	for _, f := range r.column(Frequency, false).values {
		r.Wavelength = append(r.Wavelength, quantity.Length(quantity.LightSpeed/f))
	}
}

// uncertainty adds a u(NAME) column. That of a frequency becomes one of the wavelength, c u(f) / f^2.
func (r *reader) uncertainty(c *column) {
	if c.Name != Frequency {
		r.setU(c.Name, c.values)
		return
	}
	f := r.column(Frequency, false).values
	u := make([]float64, len(f))
	for i, v := range c.values {
		u[i] = quantity.LightSpeed * v / (f[i] * f[i])
	}
	r.setU(Wavelength, u)
}

// temperatures fills in the temperatures, from the metadata line when all rows share one. A reference trace
// needs none: it is of the fixture.
func (r *reader) temperatures() error {
	if c := r.column(Temperature, false); c != nil {
		for _, v := range c.values {
			r.Temperature = append(r.Temperature, quantity.Temperature(v))
		}
		return r.contradicted(c.values)
	}
	const want = "a column temperature [degC], or a line such as # temperature: 23 degC"
	i := r.metaOf(Temperature)
	if i < 0 {
		if r.IsReference() {
			return nil
		}
		return r.refuse(0, 0, "no temperature", want)
	}
	v, err := r.metaTemperature(r.Meta[i])
	if err != nil {
		return err
	}
	r.Temperature = slices.Repeat([]quantity.Temperature{quantity.Temperature(v)}, r.Rows())
	return nil
}

// metaOf finds the metadata line of a key, -1 for none.
func (r *reader) metaOf(key string) int {
	return slices.IndexFunc(r.Meta, func(kv KeyValue) bool { return keyOf(kv.Key) == key })
}

func (r *reader) metaTemperature(kv KeyValue) (float64, error) {
	c := column{Column: Column{Name: Temperature}, kind: kinds[Temperature]}
	v, err := metaNumber(&c, kv.Value)
	if err != nil {
		return 0, r.refuseMeta(kv, quote(kv.Value), "a number and its unit, as in 23 degC")
	}
	return v, nil
}

// contradicted refuses a metadata line with a temperature that no row of the column is near: a setting that the chamber
// has not reached, or a head left over from another sweep. A line without a unit is left to the reader of the report.
func (r *reader) contradicted(values []float64) error {
	i := r.metaOf(Temperature)
	if i < 0 {
		return nil
	}
	v, err := r.metaTemperature(r.Meta[i])
	if err != nil || slices.ContainsFunc(values, func(t float64) bool { return math.Abs(t-v) <= longestDrift }) {
		return nil
	}
	return r.refuseMeta(r.Meta[i], quote(r.Meta[i].Value), fmt.Sprintf("a temperature within %d K of some row of the column temperature, or no such line", longestDrift))
}

// texts returns the column unit or lot; an empty field takes what the metadata say.
func (r *reader) texts(name, meta string) ([]string, error) {
	c := r.column(name, false)
	if c == nil {
		return nil, nil
	}
	for i, s := range c.texts {
		if s != "" {
			continue
		}
		if meta == "" {
			at := slices.IndexFunc(r.columns, func(c column) bool { return c.Name == name })
			return nil, r.refuse(r.Line[i], at+1, "an empty field", "the "+name+" of every row, or a line # "+name+": at the top")
		}
		c.texts[i] = meta
	}
	if meta != "" && !slices.Contains(c.texts, meta) {
		kv := r.Meta[r.metaOf(name)]
		return nil, r.refuseMeta(kv, quote(kv.Value), "the "+name+" of some row of the column "+name+", or no such line")
	}
	return c.texts, nil
}
