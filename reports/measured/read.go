package measured

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// reader holds a file while it is being read.
type reader struct {
	*Table
	ctx     context.Context
	part    Part
	grid    *grid
	columns []column
	row     int    // the row of the heads
	unit    string // of every row, from the metadata
	lot     string

	notes, noted int // metadata lines and remarks so far, and their bytes
}

// Read reads a file of readings: a text in any dialect, or a workbook of one sheet that holds anything. An
// error is a *Refusal.
func Read(f File) (*Table, error) { return ReadPart(context.Background(), f, Part{}) }

// ReadPart reads a part of a file. It takes at most eight times the memory of the file and 1 GiB in all, or refuses it,
// and returns when the context ends.
func ReadPart(ctx context.Context, f File, part Part) (*Table, error) {
	type outcome struct {
		t     *Table
		err   error
		panic any
	}
	done := make(chan outcome, 1)
	go func() {
		var o outcome
		defer func() {
			o.panic = recover()
			done <- o
		}()
		o.t, o.err = readPart(ctx, f, part)
	}()
	select {
	case o := <-done:
		if o.panic != nil {
			panic(o.panic)
		}
		return o.t, o.err
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

func readPart(ctx context.Context, f File, part Part) (*Table, error) {
	g, err := gridOf(ctx, f, part.Sheet)
	if err != nil {
		return nil, err
	}
	r := &reader{Table: &Table{File: f, Sheet: g.sheet}, ctx: ctx, part: part, grid: g}
	if g.warning != "" {
		r.warn("%s", g.warning)
	}
	data, err := r.top()
	if err != nil {
		return nil, err
	}
	for _, step := range []func() error{
		r.checkMeta,
		func() error { return r.records(data) },
		r.fill, r.condition, r.identify, r.lossless, r.number, r.derive,
	} {
		err := step()
		if err == nil {
			err = ctx.Err() // nobody waits for what is left
		}
		if err != nil {
			return nil, err
		}
	}
	return r.Table, nil
}

func (r *reader) warn(format string, args ...any) {
	r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...))
}

// records reads the rows of data, which begin where a walk stands.
func (r *reader) records(from walk) error {
	if err := r.shown(from); err != nil {
		return err
	}
	n, err := r.count(from)
	if err == nil {
		err = r.fits(n)
	}
	if err != nil {
		return err
	}
	mark, err := r.decimalMark(from)
	if err != nil {
		return err
	}
	r.Line = make([]int, 0, n)
	for i := range r.columns {
		r.columns[i].expect(n)
	}
	end := &tail{}
	w := r.grid.rowsFrom(r.ctx, from)
	for w.next() {
		if err := w.cut(); err != nil {
			return err
		}
		if text, ok := w.below(len(r.columns)); ok {
			if err := r.remark(w.row, text); err != nil {
				return err
			}
			continue
		}
		if err := r.record(w.row, mark); err != nil {
			return err
		}
		end.see(w.row, r.columns)
	}
	if w.err != nil {
		return w.err
	}
	if r.Rows() == 0 {
		return r.refuse(r.row, 0, "nothing after the heads of the columns", "rows of readings")
	}
	return r.whole(end)
}

// count counts the rows that are not blank.
func (r *reader) count(from walk) (int, error) {
	n := 0
	w := r.grid.rowsFrom(r.ctx, from)
	for w.next() {
		n++
	}
	return n, w.err
}

// remark takes a comment among or below the readings. One with numbers in it may be a reading that somebody took out.
func (r *reader) remark(row gridRow, text string) error {
	if err := r.late(row.line, text); err != nil {
		return err
	}
	if n := 0; strings.IndexFunc(text, isDigit) >= 0 {
		for _, f := range strings.FieldsFunc(text, func(c rune) bool {
			return c == r.grid.sep || c == ' ' || slices.Contains(separators, c)
		}) {
			if numbers([]string{f}) {
				n++
			}
		}
		if n > 1 {
			r.unused(row.line, fmt.Sprintf("the comment %s, which holds %d numbers", quote(text), n))
		}
	}
	return r.comment(row, text, true)
}

func isDigit(c rune) bool { return c >= '0' && c <= '9' }

// decimalMark looks at all the numbers of the file, where there is anything to find out.
func (r *reader) decimalMark(from walk) (byte, error) {
	if g := r.grid; g.sheet == "" {
		rest := g.text[from.at:]
		if !strings.Contains(rest, ",") || g.sep == ',' && !strings.Contains(rest, `"`) {
			return '.', nil // a comma can only be in a number when it does not part fields, or in quotes
		}
	}
	var d decimals
	w := r.grid.rowsFrom(r.ctx, from)
	for !d.settled() && w.next() {
		if err := w.cut(); err != nil {
			return 0, err
		}
		if _, ok := w.below(len(r.columns)); ok {
			continue
		}
		for i, f := range w.row.cells {
			if i < len(r.columns) && r.columns[i].Name != "" && !r.columns[i].kind.text {
				d.see(place{f, w.row.line, i + 1})
			}
		}
	}
	if w.err != nil {
		return 0, w.err
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
	if r.grid.sheet != "" && len(cells) < len(r.columns) { // a workbook stores no empty cells at the end of a row
		cells = append(slices.Clone(cells), make([]string, len(r.columns)-len(cells))...)
	}
	if err := r.misfit(row, cells); err != nil {
		return err
	}
	r.Line = append(r.Line, row.line)
	for i := range r.columns {
		if err := r.columns[i].take(cells[i], mark); err != nil {
			want := err.Error()
			if _, marked := commentOf(cells[i]); i == 0 && marked && !beyond[strings.ToLower(cells[i])] {
				want += fmt.Sprintf(", or a comment of fewer than %d fields and without quotes", len(r.columns))
			}
			return r.refuse(row.line, i+1, quote(cells[i]), want)
		}
	}
	return nil
}

// misfit refuses a row that has not as many fields as there are columns.
func (r *reader) misfit(row gridRow, cells []string) error {
	n := len(r.columns)
	asHead := func() string { return fmt.Sprintf("%d as in the head on %s", n, placeOf(r.Sheet, r.row, 0)) }
	switch {
	case r.again(cells):
		return r.refuse(row.line, 0, "the heads of the columns again",
			"one table in a file: sweeps under each other need columns such as temperature [degC] or repeat, or "+
				"files of their own")
	case len(cells) == n:
		return nil
	case len(cells) == 1:
		return r.refuse(row.line, 0, quote(cells[0])+" alone on its line", strings.Replace(asHead(), " as",
			" fields as", 1)+", or a comment that begins with #")
	case r.grid.sheet != "" && len(cells) > n:
		return r.refuse(row.line, len(cells), quote(cells[len(cells)-1]), "nothing, for there is no head above it")
	case len(cells) > n:
		return r.refuse(row.line, 0, fmt.Sprintf("%d fields", len(cells)),
			asHead()+" (a decimal comma makes two fields of one number where commas separate fields)")
	}
	return r.refuse(row.line, 0, fmt.Sprintf("%d fields", len(cells)), asHead())
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

// refuse makes the error of a place, with the head of its column.
func (r *reader) refuse(line, column int, found, want string) *Refusal {
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
		if !c.kind.text && !c.Uncertainty && c.finest > 0 && !math.IsInf(c.finest, 1) {
			if r.last == nil {
				r.last = map[string]float64{}
			}
			r.last[c.Name] = quantity.Attach(c.finest, c.Unit).SI() - quantity.Attach(0, c.Unit).SI()
		}
		switch {
		case c.Name == "":
			r.Unknown = append(r.Unknown, c.Head)
		case c.Uncertainty:
			r.uncertainty(c)
		case slices.Contains(figures, c.Name):
			r.setFigure(c.Name, c.values)
		case c.kind.raw:
			r.setRaw(c.Name, c.values)
		}
		if c.bounds != nil {
			r.setBound(c.Name, c.bounds)
		}
		if c.marked > 0 {
			fields := "1 field"
			if c.marked > 1 {
				fields = fmt.Sprintf("%d fields", c.marked)
			}
			r.unused(r.Line[c.markedAt], fmt.Sprintf("%s of %s, such as %s", fields, c.Head, quote(c.mark)))
		}
	}
	r.axis()
	if err := r.temperatures(); err != nil {
		return err
	}
	if c := r.column(Repeat, false); c != nil {
		r.Repeat = make([]int, 0, r.Rows())
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
	r.Wavelength = make([]quantity.Length, 0, r.Rows())
	if c := r.column(Wavelength, false); c != nil {
		for _, v := range c.values {
			r.Wavelength = append(r.Wavelength, quantity.Length(v))
		}
		c.values = nil // of ten million rows, 80 MB
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
		r.Temperature = make([]quantity.Temperature, 0, r.Rows())
		for _, v := range c.values {
			r.Temperature = append(r.Temperature, quantity.Temperature(v))
		}
		values := c.values
		c.values = nil
		return r.contradicted(values)
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
	v, err := temperatureOf(kv.Value)
	if err != nil {
		return 0, r.refuseMeta(kv, quote(kv.Value), "a number and its unit, as in 23 degC")
	}
	return v, nil
}

// temperatureOf reads "23 degC".
func temperatureOf(text string) (float64, error) {
	c := column{Column: Column{Name: Temperature}, kind: kinds[Temperature]}
	return metaNumber(&c, text)
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
	return r.refuseMeta(r.Meta[i], quote(r.Meta[i].Value),
		fmt.Sprintf("a temperature within %d K of some row of the column temperature, or no such line", longestDrift))
}

// texts returns the column unit, lot or condition; an empty field takes what the metadata say.
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
			return nil, r.refuse(r.Line[i], at+1, "an empty field",
				"the "+name+" of every row, or a line # "+name+": at the top")
		}
		c.texts[i] = meta
	}
	if at, as := lookalike(c.texts); at >= 0 {
		column := slices.IndexFunc(r.columns, func(c column) bool { return c.Name == name })
		return nil, r.refuse(r.Line[at], column+1, quote(c.texts[at]), "the "+name+" as it is written elsewhere, "+
			quote(as)+", or another that differs in more than case, leading zeros, spaces or look-alike letters")
	}
	if meta != "" && !slices.Contains(c.texts, meta) {
		kv := r.Meta[r.metaOf(name)]
		return nil, r.refuseMeta(kv, quote(kv.Value),
			"the "+name+" of some row of the column "+name+", or no such line")
	}
	return c.texts, nil
}
