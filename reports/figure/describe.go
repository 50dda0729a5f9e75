package figure

import (
	"fmt"
	"math"
	"strings"

	"wedgework/reports/document"
)

// Describe says in words what the chart shows: the axes, and for every series its least and greatest value and where
// they lie. Lines without a label only help the eye, and are left out.
func (c Chart) Describe() string {
	var b strings.Builder
	if c.Title != "" {
		fmt.Fprintf(&b, "%s: ", c.Title)
	}
	if c.Grid != nil {
		b.WriteString(c.describeGrid())
	} else {
		fmt.Fprintf(&b, "%s over %s.", c.Y.text(0), c.X.text(0))
	}
	if c.Bar && c.Grid == nil {
		fmt.Fprintf(&b, " Colours: %s from %s to %s.", c.Tones.text(0), c.Tones.value(c.Tones.Min),
			c.Tones.value(c.Tones.Max))
	}
	for i, s := range c.Series {
		if s.Color >= firstTone && c.Bar && i > 0 && i+1 < len(c.Series) && c.Series[i+1].Color >= firstTone {
			continue // of many curves, the first and the last
		}
		if s.Label != "" || len(c.Series) == 1 {
			label := name(s.Label)
			if s.Right {
				label += ", " + c.Right.text(0) + " on the right axis"
			}
			fmt.Fprintf(&b, " %s: %s.", document.Capital(label), c.extremes(s))
		}
	}
	for _, band := range c.Bands {
		if band.Label != "" {
			fmt.Fprintf(&b, " Band: %s.", band.Label)
		}
	}
	for _, l := range c.Limits {
		along := c.Y
		if l.Right {
			along = c.Right
		}
		if l.Vertical {
			along = c.X
		}
		fmt.Fprintf(&b, " Limit: %s, at %s.", name(l.Label), along.value(l.At))
	}
	for _, n := range c.Notes {
		fmt.Fprintf(&b, " Note: %s, at %s.", n.Text, c.place(n.X, n.Y))
	}
	return b.String()
}

// place words a point, or the coordinate that is a number.
func (c Chart) place(x, y float64) string {
	switch {
	case math.IsNaN(x):
		return c.Y.value(y)
	case math.IsNaN(y):
		return c.X.value(x)
	}
	return c.X.value(x) + " and " + c.Y.value(y)
}

// describeGrid says what a grid shows: its least and greatest value with their places, and its lines.
func (c Chart) describeGrid() string {
	g := c.Grid
	low, high := [2]int{-1, -1}, [2]int{-1, -1}
	for j, row := range g.Z {
		for i, v := range row {
			if math.IsNaN(v) {
				continue
			}
			if low[0] < 0 || v < g.Z[low[0]][low[1]] {
				low = [2]int{j, i}
			}
			if high[0] < 0 || v > g.Z[high[0]][high[1]] {
				high = [2]int{j, i}
			}
		}
	}
	text := fmt.Sprintf("%s over %s and %s", c.Tones.text(0), c.X.text(0), c.Y.text(0))
	if low[0] < 0 {
		return text + ": no values."
	}
	at := func(k [2]int) string {
		return c.Tones.value(g.Z[k[0]][k[1]]) + " at " + c.place(g.X[k[1]], g.Y[k[0]])
	}
	text += fmt.Sprintf(": %d by %d points, minimum %s, maximum %s.", len(g.X), len(g.Y), at(low), at(high))
	if len(g.Levels) > 0 {
		var levels []string
		for _, v := range g.Levels {
			levels = append(levels, c.Tones.value(v))
		}
		text += " Contour lines: " + strings.Join(levels, ", ") + "."
	}
	for _, b := range g.Borders {
		text += fmt.Sprintf(" Limit: %s, at %s.", name(b.Label), c.Tones.value(b.At))
	}
	return text
}

// extremes says where a series is least and greatest. Of two values both are said, and of one that one.
func (c Chart) extremes(s Series) string {
	low, high, n := -1, -1, 0
	for i := range min(len(s.X), len(s.Y)) {
		if s.X[i] != s.X[i] || s.Y[i] != s.Y[i] {
			continue
		}
		n++
		if low < 0 || s.Y[i] < s.Y[low] {
			low = i
		}
		if high < 0 || s.Y[i] > s.Y[high] {
			high = i
		}
	}
	y := c.Y
	if s.Right {
		y = c.Right
	}
	at := func(i int) string { return y.value(s.Y[i]) + " at " + c.X.value(s.X[i]) }
	switch {
	case n == 0:
		return "no points"
	case n == 1:
		return at(low)
	case low == high || s.Y[low] == s.Y[high]:
		return fmt.Sprintf("%d points, all at %s", n, y.value(s.Y[low]))
	}
	return fmt.Sprintf("%d points, minimum %s, maximum %s", n, at(low), at(high))
}

// value writes a number on an axis, with its unit.
func (a Axis) value(v float64) string {
	s := strings.Replace(fmt.Sprintf("%.6g", v), "-", "\u2212", 1)
	switch unit := trimRight(a.Unit); {
	case unit == "":
		return s
	case unit == "°":
		return s + unit
	default:
		return s + " " + unit
	}
}

// Describe says in words what each panel shows.
func (p Panels) Describe() string {
	var parts []string
	for _, c := range p.Charts {
		if !c.blank() {
			parts = append(parts, c.Describe())
		}
	}
	return strings.Join(parts, " ")
}

func name(label string) string {
	if label == "" {
		return "curve"
	}
	return label
}
