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

// ranges returns the ranges of both axes: as stated, or over all that is drawn with a margin above and
// below, so that no curve runs along the frame.
func (c Chart) ranges() (x, y span, err error) {
	x, y = emptySpan(), emptySpan()
	for _, s := range c.Series {
		for i := range s.X {
			if math.IsNaN(s.X[i]) || math.IsNaN(s.Y[i]) {
				continue
			}
			x.add(s.X[i])
			y.add(s.Y[i])
			if len(s.Err) > 0 {
				if low := s.Y[i] - s.Err[i]; !c.Y.Log || low > 0 {
					y.add(low)
				}
				y.add(s.Y[i] + s.Err[i])
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
	if x.empty() || y.empty() {
		return x, y, errors.New("nothing to draw: no series or band has a point that is a number")
	}
	for _, l := range c.Limits {
		if l.Vertical {
			x.add(l.At)
		} else {
			y.add(l.At)
		}
	}
	// Markers on the frame would be cut or reach into the next panel; a curve may start there.
	margin := 0.0
	for _, s := range new(chooser).series(c.Series) {
		if s.Marker != NoMarker {
			margin = 0.015
		}
	}
	return c.X.bounds(x, margin), c.Y.bounds(y, 0.08), nil
}

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
