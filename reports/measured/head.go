package measured

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/nearest"
)

var uncertaintyOf = regexp.MustCompile(`(?i)^u ?\( ?(.*?) ?\)(.*)$`)

// expanded tells whether a head has the capital U of an expanded uncertainty (JCGM 100:2008, annex J) in other than
// capital letters throughout.
func expanded(head string) bool {
	c := parseHead(head)
	return c.Uncertainty && strings.HasPrefix(strings.TrimSpace(head), "U") && head != strings.ToUpper(head)
}

// brackets are the pairs that may stand around a unit.
var brackets = []string{"[]", "()", "{}", "<>"}

// parseHead reads one head: "isolation [dB]", "u(isolation) (dB)", "Wavelength / nm", "repeat", or something
// unknown, whose Name is empty. The unit is not looked up yet.
func parseHead(head string) column {
	c := column{Column: Column{Head: head}}
	name := strings.TrimSpace(narrow(head))
	if m := uncertaintyOf.FindStringSubmatch(name); m != nil {
		c.Uncertainty = true
		if name = m[1]; strings.TrimSpace(m[2]) != "" {
			name += " " + strings.TrimSpace(m[2])
		}
	}
	name, c.unit = splitUnit(name)
	c.Name = called(name, c.unit)
	c.kind = kinds[c.Name]
	if c.Uncertainty && (len(c.kind.units) == 0 || c.kind.raw && !c.kind.power) {
		c.Name, c.kind = "", kind{}
	}
	if c.Name == "" {
		c.Uncertainty, c.unit = false, ""
	}
	return c
}

// splitUnit parts a head into name and unit. A bracket always holds a unit; what stands after a slash, a
// comma, a colon, the word "in" or a space is one only when the rest is a known name and it a known unit.
func splitUnit(head string) (name, unit string) {
	for _, b := range brackets {
		if open := strings.LastIndexByte(head, b[0]); open > 0 && strings.HasSuffix(head, b[1:]) {
			if inner := strings.TrimSpace(head[open+1 : len(head)-1]); nameOf(head) == "" {
				return strings.TrimSpace(head[:open]), inner
			}
		}
	}
	if nameOf(head) != "" {
		return head, ""
	}
	for _, mark := range []string{"/", ",", ":", " in ", " ", "_"} {
		at := strings.LastIndex(head, mark)
		if at <= 0 {
			continue
		}
		name, unit := strings.TrimSpace(head[:at]), bare(head[at+len(mark):])
		if _, ok := lookUp(unit); ok && called(name, unit) != "" {
			return name, unit
		}
	}
	return head, ""
}

// called is nameOf with the help of a unit, which settles what a letter alone leaves open: a T in degrees is a
// temperature, and without a unit it may be a transmission.
func called(name, unit string) string {
	if normal(name) == "t" {
		if u, ok := lookUp(unit); ok && u.Dimension() == quantity.OfTemperature {
			return Temperature
		}
	}
	return nameOf(name)
}

// bare takes the brackets off a unit, where it has any.
func bare(unit string) string {
	unit = strings.TrimSpace(unit)
	for _, b := range brackets {
		if strings.HasPrefix(unit, b[:1]) && strings.HasSuffix(unit, b[1:]) {
			return strings.TrimSpace(unit[1 : len(unit)-1])
		}
	}
	return unit
}

// settle looks the unit of a known column up; the error says what was expected.
func (c *column) settle() error {
	switch {
	case c.Name == "":
		return nil
	case len(c.kind.units) > 0:
		return c.setUnit(c.unit)
	case c.unit == "" || c.kind.plain && (c.unit == "1" || c.unit == "-"):
		return nil
	}
	return fmt.Errorf("%s without a unit", c.Name)
}

func (c *column) setUnit(unit string) error {
	example := c.Name
	if c.Uncertainty {
		example = "u(" + c.Name + ")"
	}
	usual := c.kind.units[0]
	if c.Uncertainty && c.kind.power {
		usual = "dB"
	}
	if unit == "" {
		return fmt.Errorf("its unit in square brackets, as in %s [%s]", example, usual)
	}
	u, ok := lookUp(unit)
	if !ok {
		return fmt.Errorf("a known unit: %s is in %s", c.Name, c.kind.expected())
	}
	if c.Uncertainty && c.kind.power {
		if u != quantity.MustNamed("dB") {
			return fmt.Errorf("the uncertainty of a power in dB, as in %s [dB]", example)
		}
	} else if err := c.kind.check(c.Name, u); err != nil {
		return fmt.Errorf("another unit: %w", err)
	}
	c.Unit = u
	return nil
}

// head reads the heads of all columns, with their units in the row below where a file has them there, and
// checks them against each other. It tells whether it used that row.
func (r *reader) head(row gridRow, below []string) (used bool, err error) {
	fields := row.cells
	for len(fields) > 0 && fields[len(fields)-1] == "" {
		fields = fields[:len(fields)-1] // a separator at the end of every line
	}
	if len(fields) > mostColumns {
		return false, r.refuseHead(row.line, mostColumns+1, "a column", fmt.Sprintf("at most %d", mostColumns))
	}
	for _, f := range fields {
		c := parseHead(f)
		c.blank = f == ""
		r.columns = append(r.columns, c)
	}
	r.undirected()
	used = r.takeUnits(below)
	seen := map[string]int{}
	for i := range r.columns {
		c := &r.columns[i]
		if c.blank {
			continue
		}
		if expanded(c.Head) {
			return false, r.refuseHead(row.line, i+1, quote(c.Head)+", an expanded uncertainty by its capital U",
				"the standard uncertainty, as in u("+c.Name+"): the expanded one over its coverage factor")
		}
		if err := c.settle(); err != nil {
			return false, r.refuseHead(row.line, i+1, quote(c.Head), err.Error())
		}
		id := normal(c.Head)
		if c.Name != "" {
			id = fmt.Sprint(c.Name, c.Uncertainty)
		}
		if first, ok := seen[id]; ok {
			return false, r.refuseHead(row.line, i+1, quote(c.Head)+", a column there already is",
				fmt.Sprintf("it once, as in column %s", r.label(first)))
		}
		seen[id] = i + 1
	}
	return used, r.checkHeads(row.line)
}

// undirected gives losses without a direction the one that "# direction:" states, else forward: a loss backward taken
// for one forward breaks every limit, and none is passed wrongly. Beside a column of that name they stay unknown.
func (r *reader) undirected() {
	to := InsertionLoss
	d, stated := r.Value(directionKey)
	if stated && normal(d) == backward {
		to = Isolation
	}
	taken := r.column(to, false) != nil
	for i := range r.columns {
		switch c := &r.columns[i]; {
		case c.Name != attenuation:
		case taken:
			c.Name, c.kind, c.Uncertainty, c.unit = "", kind{}, false, ""
		default:
			c.Name, c.kind = to, kinds[to]
			if c.assumed = !stated; c.assumed && !c.Uncertainty {
				r.warn("column %q of %s does not say a direction: taken as %s", c.Head, r.File.Name, to)
			}
		}
	}
}

// refuseHead refuses a head: its place does not name it again.
func (r *reader) refuseHead(line, column int, found, want string) error {
	return r.grid.refuse(line, column, found, want)
}

// label names a column as a refusal does: its number, in a workbook its letters.
func (r *reader) label(column int) string {
	if r.grid.sheet != "" {
		return letters(column)
	}
	return fmt.Sprint(column)
}

// takeUnits takes a row that holds nothing but units, under heads that have none.
func (r *reader) takeUnits(cells []string) bool {
	if !onlyUnits(cells) {
		return false
	}
	for i, cell := range cells {
		if cell = bare(cell); cell != "" && cell != "-" && (i >= len(r.columns) || r.columns[i].unit != "") {
			return false
		}
	}
	for i, cell := range cells {
		if i < len(r.columns) && r.columns[i].Name != "" && r.columns[i].unit == "" {
			r.columns[i].unit = strings.TrimPrefix(bare(cell), "-")
		}
	}
	return true
}

// checkHeads looks at what the columns are together.
func (r *reader) checkHeads(line int) error {
	has := func(name string) bool { return r.column(name, false) != nil }
	switch {
	case has(Wavelength) && has(Frequency):
		return r.refuse(line, 0, "a wavelength column and a frequency column", "one of them")
	case !has(Wavelength) && !has(Frequency):
		found := "no wavelength column"
		for _, c := range r.columns {
			if near := c.Nearest(); c.Name == "" && !c.blank && (near == Wavelength || near == Frequency) {
				found += ", only " + quote(c.Head)
			}
		}
		return r.refuse(line, 0, found, "wavelength [nm] or frequency [THz] among the heads")
	}
	readings, raw := false, false
	for i, c := range r.columns {
		if c.Uncertainty && !has(c.Name) {
			return r.refuse(line, i+1, quote(c.Head), "a column "+c.Name+" that it belongs to")
		}
		readings = readings || slices.Contains(figures, c.Name)
		raw = raw || c.kind.raw
	}
	if !readings && !raw {
		return r.refuse(line, 0, "no column of readings",
			"isolation [dB], insertion loss [dB], PDL [dB], DGD [ps], return loss [dB] or extinction ratio [dB], powers "+
				"such as power forward [dBm], or Jones matrices")
	}
	return nil
}

// Nearest returns the known column name that an unknown head most likely means, "" when none is near.
func (c Column) Nearest() string {
	name, _, _ := strings.Cut(c.Head, "[")
	return nearest.To(normal(name), order)
}
