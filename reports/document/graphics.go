package document

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// graphics is what a canvas of ours is set to. Points of a drawing, y up, become points of the finished figure, y down.
type graphics struct {
	w, h vg.Length
	pen
	stack []pen
}

// pen is what Push keeps.
type pen struct {
	m      [6]float64 // from the user's points to the figure's
	color  color.NRGBA
	width  vg.Length
	dash   []vg.Length
	offset vg.Length
}

func newGraphics(f Figure) graphics {
	w, h := f.Size()
	return graphics{w: w, h: h, pen: pen{m: [6]float64{1, 0, 0, -1, 0, float64(h)}}}
}

func (g *graphics) Size() (w, h vg.Length)   { return g.w, g.h }
func (g *graphics) SetLineWidth(w vg.Length) { g.width = w }
func (g *graphics) Push()                    { g.stack = append(g.stack, g.pen) }
func (g *graphics) Scale(x, y float64)       { g.transform([6]float64{x, 0, 0, y, 0, 0}) }
func (g *graphics) Translate(p vg.Point) {
	g.transform([6]float64{1, 0, 0, 1, float64(p.X), float64(p.Y)})
}

func (g *graphics) Pop() {
	g.pen, g.stack = g.stack[len(g.stack)-1], g.stack[:len(g.stack)-1]
}

func (g *graphics) Rotate(radians float64) {
	s, k := math.Sincos(radians)
	g.transform([6]float64{k, s, -s, k, 0, 0})
}

func (g *graphics) transform(t [6]float64) {
	m := g.m
	g.m = [6]float64{
		m[0]*t[0] + m[2]*t[1], m[1]*t[0] + m[3]*t[1], m[0]*t[2] + m[2]*t[3], m[1]*t[2] + m[3]*t[3],
		m[0]*t[4] + m[2]*t[5] + m[4], m[1]*t[4] + m[3]*t[5] + m[5],
	}
}

func (g *graphics) SetLineDash(pattern []vg.Length, offset vg.Length) {
	g.dash, g.offset = pattern, offset
}

func (g *graphics) SetColor(clr color.Color) {
	if clr == nil {
		clr = color.Black
	}
	g.color = color.NRGBAModel.Convert(clr).(color.NRGBA)
}

// scale is by how much lengths are drawn larger.
func (g *graphics) scale() float64 { return math.Sqrt(math.Abs(g.m[0]*g.m[3] - g.m[1]*g.m[2])) }

// at is where a point lies in the figure.
func (g *graphics) at(p vg.Point) (x, y float64) {
	px, py := float64(p.X), float64(p.Y)
	return g.m[0]*px + g.m[2]*py + g.m[4], g.m[1]*px + g.m[3]*py + g.m[5]
}

// turned returns the cosine and the sine, upwards, of the angle that text is turned by; upright says that it is not.
func (g *graphics) turned() (along, across float64, upright bool) {
	k := g.scale()
	along, across = g.m[0]/k, -g.m[1]/k
	return along, across, math.Abs(across) <= 1e-6 && along >= 0
}

// settled is the nearest whole number. Processors differ in the last bit of a float: what lies half way between two
// but for that goes up on all of them.
func settled(v float64) int64 { return int64(math.Floor(v + 0.5 + 1e-6)) }
