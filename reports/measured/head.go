package measured

import (
	"fmt"
	"regexp"
	"strings"

	"wedgework/reports/nearest"
)

// column is a column while its file is being read.
type column struct {
	Column
	kind   kind
	values []float64 // of a column with numbers, SI or dB
	texts  []string  // of the columns unit and lot
}

var uncertaintyOf = regexp.MustCompile(`^u ?\( ?(.*?) ?\)$`)

// normal brings a name into the form of the known ones: lower case, single spaces.
func normal(name string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(strings.ToLower(name), "_", " ")), " ")
}

// parseHead reads one head: "isolation [dB]", "u(isolation) [dB]", "repeat", or something unknown. The
// error says what was expected.
func parseHead(head string) (column, error) {
	c := column{Column: Column{Head: head}}
	name, unit, bracketed := head, "", false
	if open := strings.LastIndexByte(head, '['); open >= 0 && strings.HasSuffix(head, "]") {
		name, unit, bracketed = head[:open], strings.TrimSpace(head[open+1:len(head)-1]), true
	}
	name = normal(name)
	if name == "" {
		return c, fmt.Errorf("the name of a column")
	}
	if m := uncertaintyOf.FindStringSubmatch(name); m != nil {
		name, c.Uncertainty = m[1], true
	}
	k, known := kinds[name]
	if c.Uncertainty && len(k.units) == 0 {
		known = false
	}
	if !known {
		c.Uncertainty = false
		if !bracketed {
			return c, nearMiss(name)
		}
		return c, nil
	}
	c.Name, c.kind = name, k
	if len(k.units) == 0 {
		if bracketed {
			return c, fmt.Errorf("%s without a unit", name)
		}
		return c, nil
	}
	return c, c.setUnit(unit)
}

func (c *column) setUnit(unit string) error {
	example := c.Name
	if c.Uncertainty {
		example = "u(" + c.Name + ")"
	}
	if unit == "" {
		return fmt.Errorf("its unit in square brackets, as in %s [%s]", example, c.kind.units[0])
	}
	u, ok := lookUp(unit)
	if !ok {
		return fmt.Errorf("a known unit: %s is in %s", c.Name, c.kind.expected())
	}
	if err := c.kind.check(c.Name, u); err != nil {
		return fmt.Errorf("another unit: %w", err)
	}
	c.Unit = u
	return nil
}

// nearMiss refuses a head that is a known name with its unit written in another way, "isolation (dB)" or
// "wavelength_nm": taken for an unknown column it would be left out without a word.
func nearMiss(name string) error {
	for _, known := range order {
		k := kinds[known]
		rest, ok := strings.CutPrefix(name, known)
		if !ok || len(k.units) == 0 {
			continue
		}
		rest = strings.Trim(rest, " ()/,-.:;{}")
		if _, ok := lookUp(rest); ok {
			return fmt.Errorf("the unit in square brackets, as in %s [%s]", known, k.units[0])
		}
	}
	return nil
}

// head reads the heads of all columns and checks them against each other.
func (r *reader) head(fields []string, line int) error {
	if numbers(fields) {
		return r.refuse(line, 0, "numbers", "the heads of the columns, such as wavelength [nm], isolation [dB]")
	}
	if len(fields) == 1 {
		for _, sep := range []struct{ mark, name string }{{";", "semicolons"}, {"\t", "tabs"}} {
			if strings.Contains(fields[0], sep.mark) {
				return r.refuse(line, 0, "fields separated by "+sep.name, "commas")
			}
		}
	}
	seen := map[string]int{}
	for i, f := range fields {
		c, err := parseHead(strings.TrimSpace(f))
		if err != nil {
			return r.refuse(line, i+1, quote(c.Head), err.Error())
		}
		id := normal(c.Head)
		if c.Name != "" {
			id = fmt.Sprint(c.Name, c.Uncertainty)
		}
		if first, ok := seen[id]; ok {
			return r.refuse(line, i+1, quote(c.Head)+", a column there already is", fmt.Sprintf("it once, as in column %d", first))
		}
		seen[id] = i + 1
		r.columns = append(r.columns, c)
	}
	return r.checkHeads(line)
}

// checkHeads looks at what the columns are together.
func (r *reader) checkHeads(line int) error {
	has := func(name string) bool { return r.column(name, false) != nil }
	switch {
	case has(Wavelength) && has(Frequency):
		return r.refuse(line, 0, "a wavelength column and a frequency column", "one of them")
	case !has(Wavelength) && !has(Frequency):
		return r.refuse(line, 0, "no wavelength column", "wavelength [nm] or frequency [THz] among the heads")
	}
	readings := false
	for i, c := range r.columns {
		if c.Uncertainty && !has(c.Name) {
			return r.refuse(line, i+1, quote(c.Head), "a column "+c.Name+" that it belongs to")
		}
		readings = readings || new(Table).figure(c.Name) != nil
	}
	if !readings {
		return r.refuse(line, 0, "no column of readings", "isolation [dB], insertion loss [dB], PDL [dB], DGD [ps] or return loss [dB]")
	}
	return nil
}

func numbers(fields []string) bool {
	for _, f := range fields {
		if _, err := parseNumber(strings.TrimSpace(f)); err != nil {
			return false
		}
	}
	return true
}

// Nearest returns the known column name that an unknown head most likely means, "" when none is near.
func (c Column) Nearest() string {
	name, _, _ := strings.Cut(c.Head, "[")
	return nearest.To(normal(name), order)
}
