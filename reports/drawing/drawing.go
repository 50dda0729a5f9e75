// Package drawing shows a stack: the chief rays of both directions among the parts, in the plane in which they part, and
// the parts end on.
package drawing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// faint is the share of the launched power below which a path is left out: -30 dB (a choice, stated in the caption).
const faint = 1e-3

// Rays draws the chief rays of a stack at a wavelength and temperature, one panel a direction.
func Rays(s *stack.Stack, l quantity.Length, t quantity.Temperature) (document.Figure, error) {
	var p figure.Panels
	p.ShareX = true
	u := plane(s, t)
	caption := fmt.Sprintf("Chief rays at %.6g nm, %.4g °C, in the plane of azimuth %g° through the axis; the transverse scale is stretched. Paths that carry less than a thousandth of the power are left out.",
		float64(l/quantity.Nanometre), t.Celsius(), math.Round(math.Atan2(u.Y, u.X)*18000/math.Pi)/100+0)
	for _, d := range []stack.Direction{stack.Forward, stack.Backward} {
		traces, err := s.Traces(d, l, t, faint)
		if err != nil {
			return document.Figure{}, err
		}
		p.Charts = append(p.Charts, panel(s, t, d, u, traces))
		caption += " " + words(d, traces)
	}
	f := p.Figure(caption)
	f.Height = 120 * vg.Millimeter
	return f, nil
}

// plane returns the transverse unit vector along which the faces lean, the first that does deciding; +x when none does.
func plane(s *stack.Stack, t quantity.Temperature) r3.Vec {
	for _, b := range s.Slabs(t) {
		for _, f := range b.Faces {
			if n := (r3.Vec{X: f.Normal.X, Y: f.Normal.Y}); r3.Norm(n) > 1e-6 {
				return r3.Unit(n)
			}
		}
	}
	return r3.Vec{X: 1}
}

const (
	millimetres = 1e3
	micrometres = 1e6
)

func panel(s *stack.Stack, t quantity.Temperature, d stack.Direction, u r3.Vec, traces []stack.Trace) figure.Chart {
	direction := "forward, light from the left"
	if d == stack.Backward {
		direction = "backward, light from the right"
	}
	c := figure.Chart{Title: direction,
		X: figure.Axis{Label: "z", Unit: "mm"}, Y: figure.Axis{Label: "transverse", Unit: "µm"}}
	reach := 50e-6
	for _, tr := range traces {
		for _, q := range tr.Points {
			reach = max(reach, 1.15*math.Abs(r3.Dot(q, u)))
		}
	}
	c.Y.Min, c.Y.Max = -reach*micrometres, reach*micrometres
	parts(&c, s, t, u, reach)
	for _, kind := range []struct {
		ray   byte
		label string
		color figure.Color
		line  figure.Line
	}{
		{' ', "ray outside crystals", figure.Black, figure.Solid},
		{'o', "ordinary ray", figure.Blue, figure.Dashed},
		{'e', "extraordinary ray", figure.Vermillion, figure.DashDotted},
	} {
		var x, y []float64
		for _, tr := range traces {
			for i, ray := range tr.Rays {
				if ray != kind.ray {
					continue
				}
				a, b := tr.Points[i], tr.Points[i+1]
				x = append(x, a.Z*millimetres, b.Z*millimetres, math.NaN())
				y = append(y, r3.Dot(a, u)*micrometres, r3.Dot(b, u)*micrometres, math.NaN())
			}
		}
		if len(x) > 0 {
			c.Series = append(c.Series, figure.Series{Label: kind.label, X: x, Y: y, Color: kind.color, Line: kind.line, Marker: figure.NoMarker})
		}
	}
	return c
}

// parts draws the faces and the lens faces.
func parts(c *figure.Chart, s *stack.Stack, t quantity.Temperature, u r3.Vec, reach float64) {
	line := func(label string, color figure.Color, z func(float64) float64) {
		c.Series = append(c.Series, figure.Series{Label: label, Color: color, Line: figure.Solid, Marker: figure.NoMarker,
			X: []float64{z(-reach) * millimetres, z(reach) * millimetres}, Y: []float64{-reach * micrometres, reach * micrometres}})
	}
	label := "face of a part"
	for _, b := range s.Slabs(t) {
		for _, f := range b.Faces {
			line(label, figure.Grey, func(x float64) float64 { return f.Height(x*u.X, x*u.Y) })
			label = ""
		}
	}
	in, out := s.Lenses()
	line("lens face", figure.Green, func(float64) float64 { return in })
	line("", figure.Green, func(float64) float64 { return out })
}

// words says what a reader would take from a panel: the angle and the offset of each path at the far fibre.
func words(d stack.Direction, traces []stack.Trace) string {
	to := "receiving"
	if d == stack.Backward {
		to = "launching"
	}
	if len(traces) == 0 {
		return fmt.Sprintf("No %s path carries as much.", d)
	}
	s := fmt.Sprintf("%s, at the %s lens, from the axis of its collimator:", map[stack.Direction]string{stack.Forward: "Forward", stack.Backward: "Backward"}[d], to)
	for i, tr := range traces {
		sep := ","
		if i == 0 {
			sep = ""
		}
		s += fmt.Sprintf("%s %s %.3f° and %.1f µm", sep, tr.Label, float64(tr.Angle()/quantity.Degree), math.Hypot(tr.Offset.X, tr.Offset.Y)*micrometres)
	}
	return s + "."
}
