package measured

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"wedgework/optics/quantity"
)

// reader holds a file while it is being read.
type reader struct {
	*Table
	columns []column
	unit    string // of every row, from the metadata
	lot     string
}

// Read reads the canonical sweep. An error is a *Refusal.
func Read(f File) (*Table, error) {
	if err := checkText(f); err != nil {
		return nil, err
	}
	r := &reader{Table: &Table{File: f}}
	text := bytes.TrimPrefix(f.Data, bom)
	r.comments(text)
	if err := r.checkMeta(); err != nil {
		return nil, err
	}
	r.unit, _ = r.Value(UnitName)
	r.lot, _ = r.Value(LotName)
	if err := r.records(text); err != nil {
		return nil, err
	}
	if err := r.fill(); err != nil {
		return nil, err
	}
	if err := r.checkRows(); err != nil {
		return nil, err
	}
	return r.Table, nil
}

// records reads head and rows.
func (r *reader) records(text []byte) error {
	in := csv.NewReader(bytes.NewReader(text))
	in.Comment = '#'
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	in.ReuseRecord = true
	head := 0
	for {
		fields, err := in.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return r.quoting(err)
		}
		line, _ := in.FieldPos(0)
		for i, f := range fields {
			if strings.Contains(f, "\n") {
				return r.refuse(line, i+1, "a quoted field that runs over the end of its line", "the closing quote on the same line")
			}
		}
		switch {
		case head == 0:
			if err := r.head(slices.Clone(fields), line); err != nil {
				return err
			}
			head = line
		default:
			if err := r.row(fields, line, head); err != nil {
				return err
			}
		}
	}
	if head == 0 {
		return r.refuse(0, 0, "comment lines only", "a head of columns and rows of readings")
	}
	if r.Rows() == 0 {
		return r.refuse(head, 0, "nothing after the heads of the columns", "rows of readings")
	}
	return nil
}

func (r *reader) quoting(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	found := "a quote inside a field that is not quoted"
	if errors.Is(p.Err, csv.ErrQuote) {
		found = "a quoted field that does not end where its quote ends"
	}
	return r.refuse(p.StartLine, 0, found, "quotes around whole fields, doubled within them")
}

// row reads one row of readings.
func (r *reader) row(fields []string, line, head int) error {
	if len(fields) != len(r.columns) {
		want := fmt.Sprintf("%d as in the head on line %d", len(r.columns), head)
		if len(fields) > len(r.columns) {
			want += " (a decimal comma makes two fields of one number: write a point)"
		}
		return r.refuse(line, 0, fmt.Sprintf("%d fields", len(fields)), want)
	}
	r.Line = append(r.Line, line)
	for i := range r.columns {
		c := &r.columns[i]
		field := strings.TrimSpace(fields[i])
		if err := c.take(field); err != nil {
			return r.refuse(line, i+1, quote(field), err.Error())
		}
	}
	return nil
}

// take adds a field to the column; the error says what was expected.
func (c *column) take(field string) error {
	switch {
	case c.Name == "":
		c.Fields = append(c.Fields, strings.Clone(field))
		return nil
	case c.kind.text:
		c.texts = append(c.texts, strings.Clone(field))
		return nil
	case field == "":
		if c.required() {
			return fmt.Errorf("a %s in every row", c.Name)
		}
		c.values = append(c.values, missing)
		return nil
	}
	v, err := parseNumber(field)
	if err != nil {
		return err
	}
	if v, err = c.si(v); err != nil {
		return err
	}
	c.values = append(c.values, v)
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

// refuse makes the error; a column counts from 1.
func (r *reader) refuse(line, column int, found, want string) error {
	e := &Refusal{File: r.File.Name, Line: line, Column: column, Found: found, Want: want}
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
		r.Columns = append(r.Columns, c.Column)
		switch p := r.figure(c.Name); {
		case c.Name == "":
			r.Unknown = append(r.Unknown, c.Head)
		case c.Uncertainty:
			r.uncertainty(c)
		case p != nil:
			*p = c.values
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
	if r.U == nil {
		r.U = map[string][]float64{}
	}
	if c.Name != Frequency {
		r.U[c.Name] = c.values
		return
	}
	f := r.column(Frequency, false).values
	u := make([]float64, len(f))
	for i, v := range c.values {
		u[i] = quantity.LightSpeed * v / (f[i] * f[i])
	}
	r.U[Wavelength] = u
}

// temperatures fills in the temperatures, from the metadata line when all rows share one.
func (r *reader) temperatures() error {
	if c := r.column(Temperature, false); c != nil {
		for _, v := range c.values {
			r.Temperature = append(r.Temperature, quantity.Temperature(v))
		}
		return nil
	}
	const want = "a column temperature [degC], or a line such as # temperature: 23 degC"
	i := slices.IndexFunc(r.Meta, func(kv KeyValue) bool { return normal(kv.Key) == Temperature })
	if i < 0 {
		return r.refuse(0, 0, "no temperature", want)
	}
	kv := r.Meta[i]
	number, unit, _ := strings.Cut(kv.Value, " ")
	c := column{Column: Column{Name: Temperature}, kind: kinds[Temperature]}
	err := c.setUnit(strings.TrimSpace(unit))
	if err == nil {
		err = c.take(number)
	}
	if err != nil {
		return &Refusal{File: r.File.Name, Line: kv.Line, Head: "# " + kv.Key, Found: quote(kv.Value), Want: "a number and its unit, as in 23 degC"}
	}
	r.Temperature = slices.Repeat([]quantity.Temperature{quantity.Temperature(c.values[0])}, r.Rows())
	return nil
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
	return c.texts, nil
}

// checkRows refuses a reading that another row gives as well.
func (r *reader) checkRows() error {
	type key struct {
		unit, lot, figure string
		l, t              float64
		repeat            int
	}
	seen := map[key]int{}
	for i, line := range r.Line {
		k := key{l: float64(r.Wavelength[i]), t: float64(r.Temperature[i])}
		if r.Units != nil {
			k.unit = r.Units[i]
		}
		if r.Lots != nil {
			k.lot = r.Lots[i]
		}
		if r.Repeat != nil {
			k.repeat = r.Repeat[i]
		}
		for _, name := range order {
			v := r.Figure(name)
			if v == nil || v[i] != v[i] {
				continue
			}
			k.figure = name
			if first, ok := seen[k]; ok {
				return r.refuse(line, 0, "another reading of "+name+" at the wavelength and temperature of line "+strconv.Itoa(first),
					"one, or a column repeat that numbers the sweeps")
			}
			seen[k] = line
		}
	}
	return nil
}
