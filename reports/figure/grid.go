package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Grid is a quantity over both axes of a chart: Z[j][i] belongs to X[i] and Y[j], which rise or fall. NaN is a gap.
// Between its points colours and lines are interpolated in straight lines.
type Grid struct {
	X, Y []float64
	Z    [][]float64

	Map    bool      // colours; the bar of the chart says which
	Levels []float64 // values whose lines are drawn, each with its value written on it

	// Borders are lines at limits, drawn heavier and hatched on their forbidden side; only Label, At and Forbid count.
	Borders []Limit
}

// check says what is wrong with the numbers.
func (g *Grid) check(x, y Axis) error {
	if len(g.X) < 2 || len(g.Y) < 2 {
		return fmt.Errorf("the grid has %d by %d points, expected at least two along each axis", len(g.X), len(g.Y))
	}
	if len(g.Z) != len(g.Y) {
		return fmt.Errorf("the grid has %d rows for %d values of y, expected as many", len(g.Z), len(g.Y))
	}
	for j, row := range g.Z {
		if len(row) != len(g.X) {
			return fmt.Errorf("row %d of the grid has %d values for %d of x, expected as many", j+1, len(row), len(g.X))
		}
		for i, v := range row {
			if math.IsInf(v, 0) {
				return fmt.Errorf("row %d of the grid, point %d: found %g, expected a number, or NaN for a gap", j+1,
					i+1, v)
			}
		}
	}
	for _, a := range []struct {
		name   string
		values []float64
		log    bool
	}{{"x", g.X, x.Log}, {"y", g.Y, y.Log}} {
		for i, v := range a.values {
			if math.IsNaN(v) || math.IsInf(v, 0) || a.log && v <= 0 {
				return fmt.Errorf("the grid, point %d: %s is %g, expected a number, above zero on a logarithmic "+
					"axis", i+1,
					a.name, v)
			}
			if i > 1 && (v > a.values[i-1]) != (a.values[1] > a.values[0]) || i > 0 && v == a.values[i-1] {
				return fmt.Errorf("the grid, point %d: %s is %g after %g, expected values that only rise or only "+
					"fall", i+1,
					a.name, v, a.values[i-1])
			}
		}
	}
	return nil
}

// values is the range of what is there.
func (g *Grid) values() span {
	z := emptySpan()
	for _, row := range g.Z {
		for _, v := range row {
			z.add(v)
		}
	}
	return z
}

// at is the value between the points, NaN outside and beside a gap.
func (g *Grid) at(x, y float64) float64 {
	i, f := bracket(g.X, x)
	j, e := bracket(g.Y, y)
	if i < 0 || j < 0 {
		return math.NaN()
	}
	a := g.Z[j][i] + f*(g.Z[j][i+1]-g.Z[j][i])
	b := g.Z[j+1][i] + f*(g.Z[j+1][i+1]-g.Z[j+1][i])
	return a + e*(b-a)
}

// bracket is the interval of an axis that holds a value, -1 for none, and how far within it the value lies, 0 to 1.
func bracket(axis []float64, v float64) (i int, part float64) {
	n := len(axis)
	i = sort.Search(n, func(k int) bool {
		if axis[n-1] > axis[0] {
			return axis[k] > v
		}
		return axis[k] < v
	}) - 1
	if i == n-1 && v == axis[n-1] {
		i--
	}
	if i < 0 || i >= n-1 {
		return -1, 0
	}
	return i, (v - axis[i]) / (axis[i+1] - axis[i])
}

// share is where a value lies between the ends of a scale.
func (s span) share(v float64) float64 {
	if s.hi == s.lo {
		return 0.5
	}
	return (v - s.lo) / (s.hi - s.lo)
}

// Pixels of a map to a point of the drawing, and at most along a side (a choice: finer than 150 to the inch shows
// nothing more of colours that run into each other).
const (
	pixelsPerPoint = 2
	mostPixels     = 1200
)

// gridMap draws the colours of a grid, as a picture: areas of one colour beside each other would show seams.
type gridMap struct{ prepared }

func (m gridMap) Plot(c draw.Canvas, _ *plot.Plot) {
	size := c.Size()
	w, h := pixels(size.X), pixels(size.Y)
	img := image.NewPaletted(image.Rect(0, 0, w, h), mapPalette)
	along := func(s span, log bool, share float64) float64 {
		if log {
			return math.Pow(10, math.Log10(s.lo)+share*math.Log10(s.hi/s.lo))
		}
		return s.lo + share*(s.hi-s.lo)
	}
	for py := range h {
		y := along(m.y, m.Y.Log, 1-(float64(py)+0.5)/float64(h))
		for px := range w {
			v := m.Grid.at(along(m.x, m.X.Log, (float64(px)+0.5)/float64(w)), y)
			if !math.IsNaN(v) {
				img.Pix[py*img.Stride+px] = 1 + uint8(Tone(m.z.share(v))-firstTone)
			}
		}
	}
	c.DrawImage(c.Rectangle, img)
}

func pixels(l vg.Length) int { return min(max(int(l*pixelsPerPoint), 1), mostPixels) }

// mapPalette is white, for a gap, and the scale.
var mapPalette = func() color.Palette {
	p := color.Palette{white}
	for _, c := range scale {
		p = append(p, c)
	}
	return p
}()
