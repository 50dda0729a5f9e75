package figure

import (
	"errors"
	"math"
)

// span is a range that grows over the numbers put to it.
type span struct{ lo, hi float64 }

func emptySpan() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) add(v float64) {
	if !math.IsNaN(v) {
		s.lo, s.hi = math.Min(s.lo, v), math.Max(s.hi, v)
	}
}

func (s span) empty() bool { return s.lo > s.hi }

// extent is the ranges of the axes: at the bottom, at the left, at the right and of the colours. The last two are empty
// where nothing belongs to them.
type extent struct{ x, y, right, z span }

// ranges returns the ranges of the axes: as stated, or over all that is drawn with a margin above and
// below, so that no curve runs along the frame.
func (c Chart) ranges() (extent, error) {
	x, y, right := emptySpan(), emptySpan(), emptySpan()
	for _, s := range c.Series {
		of, log := &y, c.logsOf(s.Right).y
		if s.Right {
			of = &right
		}
		for i := range s.X {
			if math.IsNaN(s.X[i]) || math.IsNaN(s.Y[i]) {
				continue
			}
			x.add(s.X[i])
			of.add(s.Y[i])
			if len(s.Err) > 0 {
				if low := s.Y[i] - s.Err[i]; !log || low > 0 {
					of.add(low)
				}
				of.add(s.Y[i] + s.Err[i])
			}
		}
	}
	for _, b := range c.Bands {
		for i := range b.X {
			x.add(b.X[i])
			y.add(b.Low[i])
			y.add(b.High[i])
		}
	}
	z := emptySpan()
	if c.Grid != nil {
		z = c.Grid.values()
	}
	if z.empty() && (x.empty() || y.empty() && right.empty()) {
		return extent{}, errors.New("nothing to draw: no series or band has a point that is a number")
	}
	if y.empty() && c.Grid == nil {
		return extent{}, errors.New("nothing to draw on the left axis: all series are on the right one")
	}
	for _, l := range c.Limits {
		switch {
		case l.Vertical:
			x.add(l.At)
		case l.Right:
			right.add(l.At)
		default:
			y.add(l.At)
		}
	}
	for _, n := range c.Notes {
		x.add(n.X)
		y.add(n.Y)
	}
	// Markers on the frame would be cut or reach into the next panel; a curve may start there.
	margin := 0.0
	for _, s := range new(chooser).series(c.Series) {
		if s.Marker != NoMarker {
			margin = 0.015
		}
	}
	aside := 0.08
	if c.Grid != nil { // which fills its frame
		margin, aside = 0, 0
		for _, v := range c.Grid.X {
			x.add(v)
		}
		for _, v := range c.Grid.Y {
			y.add(v)
		}
	}
	e := extent{x: c.X.bounds(x, margin), y: c.Y.bounds(y, aside), right: right, z: z}
	if !right.empty() {
		e.right = c.Right.bounds(right, 0.08)
	}
	if c.Tones.Min != 0 || c.Tones.Max != 0 || !z.empty() {
		e.z = c.Tones.bounds(z, 0)
	}
	return e, nil
}

// bar reports whether a bar of colours stands beside the panel.
func (c Chart) bar() bool { return c.Bar || c.Grid != nil && c.Grid.Map }

// hairsbreadth is the share of their size by which values differ that are the same but for rounding. No axis is
// stretched to show that: its ticks could not be told apart, nor counted.
const hairsbreadth = 1e-12

// bounds returns the range of an axis that shows s with a margin as a share of its length.
func (a Axis) bounds(s span, margin float64) span {
	if a.Min != 0 || a.Max != 0 {
		return span{a.Min, a.Max}
	}
	if a.Log {
		lo, hi := math.Log10(s.lo), math.Log10(s.hi)
		if lo == hi {
			lo, hi = lo-0.5, hi+0.5
		}
		pad := margin * (hi - lo)
		return span{math.Pow(10, lo-pad), math.Pow(10, hi+pad)}
	}
	// one value: show it in the middle of a range of its own size
	if s.hi-s.lo <= hairsbreadth*math.Max(math.Abs(s.lo), math.Abs(s.hi)) {
		half := math.Max(math.Abs(s.lo)/10, 0.5)
		return span{s.lo - half, s.hi + half}
	}
	pad := margin * (s.hi - s.lo)
	return span{s.lo - pad, s.hi + pad}
}
