package gauge

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// mostConditions is how many conditions a study crosses (a choice: more than three are not run in practice).
const mostConditions = 3

// mostLevels is how many parts, or levels of a condition, a study has at most (a choice: a study has ten).
const mostLevels = 1000

// table holds balanced readings about their grand mean: cells by the levels of the factors, connections in cells,
// readings in connections.
type table struct {
	levels               [][]string // of the part and of each condition, in the order of appearance
	cells                map[string]*cell
	connections, repeats int
	mean                 float64
	n                    int
}

type cell struct {
	at     []int // level of each factor
	values map[string][]float64
	order  []string
}

func (c *cell) mean() float64 {
	sum, n := 0.0, 0
	for _, name := range c.order {
		for _, v := range c.values[name] {
			sum, n = sum+v, n+1
		}
	}
	return sum / float64(n)
}

func tabulate(readings []Reading, d Design) (*table, error) {
	switch {
	case len(d.Conditions) > mostConditions:
		return nil, fmt.Errorf("%d conditions: a study crosses at most %d", len(d.Conditions), mostConditions)
	case len(readings) == 0:
		return nil, errors.New("there are no readings")
	case !(d.Pool >= 0 && d.Pool <= 1):
		return nil, fmt.Errorf("the significance for pooling is %g; expected 0 to 1", d.Pool)
	}
	t := &table{levels: make([][]string, 1+len(d.Conditions)), cells: map[string]*cell{}, n: len(readings)}
	for i, r := range readings {
		if len(r.Conditions) != len(d.Conditions) {
			return nil, fmt.Errorf("reading %d has %d conditions, expected %d", i+1, len(r.Conditions),
				len(d.Conditions))
		}
		if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
			return nil, fmt.Errorf("reading %d (part %s) is not a finite number", i+1, r.Part)
		}
		if err := t.enter(r, d); err != nil {
			return nil, err
		}
		t.mean += r.Value / float64(len(readings))
	}
	return t, t.check(d)
}

// enter puts a reading into its cell.
func (t *table) enter(r Reading, d Design) error {
	names := append([]string{r.Part}, r.Conditions...)
	at := make([]int, len(names))
	for i, name := range names {
		if at[i] = slices.Index(t.levels[i], name); at[i] < 0 {
			at[i] = len(t.levels[i])
			if len(t.levels[i]) == mostLevels {
				return fmt.Errorf("there are more than %d parts, or levels of a condition", mostLevels)
			}
			t.levels[i] = append(t.levels[i], name)
		}
	}
	key := fmt.Sprint(at)
	c := t.cells[key]
	if c == nil {
		c = &cell{at: at, values: map[string][]float64{}}
		t.cells[key] = c
	}
	connection := ""
	if d.Reconnected {
		connection = r.Connection
	}
	if c.values[connection] == nil {
		c.order = append(c.order, connection)
	}
	c.values[connection] = append(c.values[connection], r.Value)
	return nil
}

// check sees to the balance.
func (t *table) check(d Design) error {
	cells := 1
	for i, l := range t.levels {
		name := "part"
		if i > 0 {
			name = d.Conditions[i-1]
		}
		if len(l) < 2 {
			return fmt.Errorf("there is one %s only, %s: its variance cannot be estimated; two or more are needed",
				name,
				strings.Join(l, ""))
		}
		cells *= len(l)
	}
	for _, c := range t.ordered() {
		if t.connections == 0 {
			t.connections = len(c.order)
		}
		if len(c.order) != t.connections {
			return unbalanced(t.where(c, d), len(c.order), t.connections, "connections")
		}
		for _, name := range c.order {
			if t.repeats == 0 {
				t.repeats = len(c.values[name])
			}
			if n := len(c.values[name]); n != t.repeats {
				return unbalanced(t.where(c, d), n, t.repeats, "readings")
			}
		}
	}
	switch {
	case len(t.cells) != cells:
		return fmt.Errorf("%d of %d combinations of parts and conditions were measured; the study must have all",
			len(t.cells), cells)
	case t.connections*t.repeats < 2:
		return errors.New("every combination was read once: repeatability needs two readings or more of each")
	}
	for _, c := range t.cells {
		for _, vs := range c.values {
			for i := range vs {
				vs[i] -= t.mean
			}
		}
	}
	return nil
}

// where names a cell.
func (t *table) where(c *cell, d Design) string {
	s := "part " + t.levels[0][c.at[0]]
	for i, name := range d.Conditions {
		s += ", " + name + " " + t.levels[i+1][c.at[i+1]]
	}
	return s
}

// ordered lists the cells by their levels, so that sums do not depend on the order of a map.
func (t *table) ordered() []*cell {
	all := make([]*cell, 0, len(t.cells))
	for _, c := range t.cells {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b *cell) int { return slices.Compare(a.at, b.at) })
	return all
}

// readings is how many there are at each combination of levels of a set of factors.
func (t *table) readings(set uint) float64 {
	n := float64(t.n)
	for i, l := range t.levels {
		if set&(1<<i) != 0 {
			n /= float64(len(l))
		}
	}
	return n
}

// between is the sum of squares of the means at the levels of a set of factors, each times the number of its readings.
func (t *table) between(set uint) float64 {
	sums, counts := map[string]float64{}, map[string]int{}
	var keys []string
	for _, c := range t.ordered() {
		key := ""
		for i, l := range c.at {
			if set&(1<<i) != 0 {
				key += fmt.Sprint(l, " ")
			}
		}
		if counts[key] == 0 {
			keys = append(keys, key)
		}
		sums[key] += c.mean()
		counts[key]++
	}
	total, n := 0.0, t.readings(set)
	for _, key := range keys {
		m := sums[key] / float64(counts[key])
		total += n * m * m
	}
	return total
}

// within are the sums of squares of connections about their cell and of readings about their connection.
func (t *table) within() (connections, repeats float64) {
	for _, c := range t.ordered() {
		about := c.mean()
		for _, name := range c.order {
			vs := c.values[name]
			m := 0.0
			for _, v := range vs {
				m += v / float64(len(vs))
			}
			connections += float64(len(vs)) * (m - about) * (m - about)
			for _, v := range vs {
				repeats += (v - m) * (v - m)
			}
		}
	}
	return connections, repeats
}
