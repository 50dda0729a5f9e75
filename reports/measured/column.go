package measured

import (
	"fmt"
	"math"
	"strings"
)

// column is a column while its file is being read.
type column struct {
	Column
	kind   kind
	unit   string // as the head spells it
	blank  bool   // it has no head, and its fields must be empty
	values []float64
	finest float64  // the last digit of its numbers, in the unit of the file
	bounds []bool   // nil until a reading is a bound
	texts  []string // of the columns unit and lot
	names  map[string]string

	assumed          bool   // the direction of a loss
	marked, markedAt int    // fields with a mark for no reading, and the row of the first
	mark             string // that mark
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
		return c.takeName(field)
	}
	if mark == ',' && strings.Count(field, ",") == 1 && !strings.Contains(field, ".") {
		field = strings.Replace(field, ",", ".", 1)
	}
	v, err := c.parseReading(field)
	if err != nil {
		return err
	}
	if v.value != v.value {
		if c.required() {
			return fmt.Errorf("a %s in every row", c.Name)
		}
		if field != "" {
			c.untaken(field)
		}
	}
	if v.bound && c.bounds == nil {
		c.bounds = make([]bool, len(c.values), cap(c.values))
	}
	c.values = append(c.values, v.value)
	c.finest = min(c.finest, lastDigit(field))
	if c.bounds != nil {
		c.bounds = append(c.bounds, v.bound)
	}
	return nil
}

// untaken counts a field with a mark for a reading that was not taken.
func (c *column) untaken(field string) {
	if c.marked++; c.marked == 1 {
		c.mark, c.markedAt = strings.Clone(field), len(c.values)
	}
}

// takeName adds the unit or lot of a row, of which a file has not too many different ones.
func (c *column) takeName(field string) error {
	if notTaken[strings.ToLower(field)] { // no name: the metadata have it, or nothing has
		field = ""
	}
	name, ok := c.names[field]
	if !ok {
		if len(c.names) == mostNames {
			return fmt.Errorf("one of at most %d different names", mostNames)
		}
		if c.names == nil {
			c.names = map[string]string{}
		}
		name = strings.Clone(field)
		c.names[name] = name
	}
	c.texts = append(c.texts, name)
	return nil
}

// expect makes room for the fields of n rows.
func (c *column) expect(n int) {
	switch {
	case c.blank:
	case c.Name == "":
		c.Fields = make([]string, 0, n)
	case c.kind.text:
		c.texts = make([]string, 0, n)
	default:
		c.values = make([]float64, 0, n)
		c.finest = math.Inf(1)
	}
}

// required columns place a reading; without them it has no meaning.
func (c *column) required() bool {
	switch c.Name {
	case Wavelength, Frequency, Temperature, Repeat:
		return !c.Uncertainty
	}
	return false
}
