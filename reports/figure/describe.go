package figure

import (
	"fmt"
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
	fmt.Fprintf(&b, "%s over %s.", c.Y.text(0), c.X.text(0))
	for _, s := range c.Series {
		if s.Label != "" || len(c.Series) == 1 {
			fmt.Fprintf(&b, " %s: %s.", document.Capital(name(s.Label)), c.extremes(s))
		}
	}
	for _, band := range c.Bands {
		if band.Label != "" {
			fmt.Fprintf(&b, " Band: %s.", band.Label)
		}
	}
	for _, l := range c.Limits {
		along := c.Y
		if l.Vertical {
			along = c.X
		}
		fmt.Fprintf(&b, " Limit: %s, at %s.", name(l.Label), along.value(l.At))
	}
	return b.String()
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
	at := func(i int) string { return c.Y.value(s.Y[i]) + " at " + c.X.value(s.X[i]) }
	switch {
	case n == 0:
		return "no points"
	case n == 1:
		return at(low)
	case low == high || s.Y[low] == s.Y[high]:
		return fmt.Sprintf("%d points, all at %s", n, c.Y.value(s.Y[low]))
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
