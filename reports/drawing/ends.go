package drawing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// Ends draws the parts of a stack in the order that forward light meets them, seen from the receiving end: x to the right
// and y up, forward light coming towards the eye, since the frame is right-handed. It shows optic axes, rotations, the polarity of magnets, and the mark by which an assembler turns a wedge the right way.
func Ends(s *stack.Stack, t quantity.Temperature) document.Figure {
	var d figure.Dials
	for _, b := range s.Slabs(t) {
		d.Views = append(d.Views, end(b))
	}
	return d.Figure("The parts end on, seen from the receiving end: x to the right, y up, forward light coming towards the eye. The mark of a wedge is the azimuth of its slanted face's normal.")
}

const degrees = 180 / math.Pi

func azimuth(v r3.Vec) float64 { return math.Round(math.Atan2(v.Y, v.X)*degrees*100)/100 + 0 }

func end(b stack.Slab) figure.Dial {
	v := figure.Dial{Title: b.Label}
	if across := (r3.Vec{X: b.Axis.X, Y: b.Axis.Y}); r3.Norm(across) > 1e-6 {
		a := azimuth(across)
		v.Hands = append(v.Hands, figure.Hand{Label: fmt.Sprintf("%g°", a), Azimuth: a, Axis: true, Color: figure.Blue, Line: figure.Solid})
		v.Note = "optic axis"
		if rise := math.Asin(math.Abs(b.Axis.Z)) * degrees; rise > 0.01 {
			v.Note += fmt.Sprintf(", %.4g° out of the plane", rise)
		}
	}
	for _, f := range b.Faces {
		if lean := (r3.Vec{X: f.Normal.X, Y: f.Normal.Y}); r3.Norm(lean) > 1e-3 {
			v.Hands = append(v.Hands, figure.Hand{Label: "mark", Azimuth: azimuth(lean), Color: figure.Vermillion, Line: figure.Dashed})
			break
		}
	}
	if b.Pass != (r3.Vec{}) {
		a := azimuth(b.Pass)
		v.Hands = append(v.Hands, figure.Hand{Label: fmt.Sprintf("%g°", a), Azimuth: a, Axis: true, Color: figure.Green, Line: figure.LongDashed})
		v.Note = "passes"
	}
	if b.Rotation != 0 {
		turn := math.Round(b.Rotation*degrees*100) / 100
		v.Hands = append(v.Hands,
			figure.Hand{Label: "in", Azimuth: 0, Color: figure.Grey, Line: figure.Dotted},
			figure.Hand{Label: fmt.Sprintf("%+g°", turn), Azimuth: turn, Color: figure.Purple, Line: figure.Solid})
		v.Note = "turns light along x, both ways"
		if b.Field != 0 {
			pole := "+z"
			if b.Field < 0 {
				pole = "−z"
			}
			v.Note = fmt.Sprintf("field %.3g mT along %s", math.Abs(b.Field)*1e3, pole)
		}
	}
	return v
}
