package figure

import (
	"fmt"
	"strings"
)

// Describe says in words what the chart shows: the axes, and for every series how many points it has and
// between which values they lie.
func (c Chart) Describe() string {
	var b strings.Builder
	if c.Title != "" {
		fmt.Fprintf(&b, "%s: ", c.Title)
	}
	fmt.Fprintf(&b, "%s over %s.", c.Y.text(0), c.X.text(0))
	for _, s := range c.Series {
		xs, ys := emptySpan(), emptySpan()
		n := 0
		for i := range min(len(s.X), len(s.Y)) {
			if s.X[i] == s.X[i] && s.Y[i] == s.Y[i] {
				xs.add(s.X[i])
				ys.add(s.Y[i])
				n++
			}
		}
		if n == 0 {
			fmt.Fprintf(&b, " %s: no points.", name(s.Label))
			continue
		}
		fmt.Fprintf(&b, " %s: %d points, x %.6g to %.6g, y %.4g to %.4g.", name(s.Label), n, xs.lo, xs.hi, ys.lo, ys.hi)
	}
	for _, band := range c.Bands {
		fmt.Fprintf(&b, " Band: %s.", name(band.Label))
	}
	for _, l := range c.Limits {
		fmt.Fprintf(&b, " Limit: %s at %.6g.", name(l.Label), l.At)
	}
	return b.String()
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
		return "unnamed"
	}
	return label
}
