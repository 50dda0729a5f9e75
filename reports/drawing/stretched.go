package drawing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
)

// stretched is the view of one direction with the transverse scale stretched.
type stretched struct {
	side
	light bundle
	times float64   // transverse scale over that along z
	tall  vg.Length // of the view
}

// The height of a stretched view at least, and how much of it the rays take at most.
const (
	viewTall vg.Length = 108
	filled   float64   = 0.88
)

func (d *Drawing) stretched(b bundle) stretched {
	v := d.stretchedTo(b, viewTall)
	lines := vg.Length(0)
	for _, a := range v.gather() {
		lines += a.room()
	}
	if lines > viewTall+2*overhang {
		v = d.stretchedTo(b, lines-2*overhang)
	}
	return v
}

// overhang is how far the texts beside the arrivals may stand out of the view.
const overhang vg.Length = 6

func (d *Drawing) stretchedTo(b bundle, tall vg.Length) stretched {
	v := stretched{side: side{d: d, z: d.axis(sideMargin, sheetWidth-sideMargin)}, light: b, tall: tall}
	lo, hi := d.reach(b)
	// Where next to nothing moves, a quarter of the beam is enough to stretch for.
	room := max(hi-lo, d.beamRadius()/4, 1e-6)
	v.times = whole(float64(tall) * filled / room / v.z.scale)
	v.scale = v.times * v.z.scale
	v.below = tall/2 - vg.Length((lo+hi)/2*v.scale)
	v.above = tall - v.below
	return v
}

// whole returns the greatest number of one easy digit that is not above x; at most a thousand.
func whole(x float64) float64 {
	x = min(x, 1000)
	decade := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{8, 6, 5, 4, 3, 2, 1.5} {
		if m*decade <= x*(1+1e-12) {
			return m * decade
		}
	}
	return decade
}

func (v stretched) size() vg.Length { return titleHigh + v.tall + 6 }

func (v stretched) draw(s *sheet, y vg.Length) {
	v.sheet = s
	v.middle = y - titleHigh - v.above
	name, from := "Forward", "left"
	if v.light.direction == stack.Backward {
		name, from = "Backward", "right"
	}
	v.title(name, at(0, y-6), left)
	note := fmt.Sprintf("light from the %s; transverse scale %g times that along z", from, v.times)
	if len(v.light.drawn) == 0 {
		note += fmt.Sprintf("; no path carries more than −%d dB", faintest)
	}
	v.write(note, at(48, y-6), left)

	v.parts(func(stack.Outlined) float64 { return math.Inf(1) })
	v.lenses(v.middle+(v.above-v.below)/2, v.tall/2-4)
	v.axes()
	v.rays(v.light, 1)
	v.arrows(v.light)
	v.angles()
	v.arrivals()
	v.kinds(v.light)
}

// off is an angle that is worth dimensioning: a tenth of the divergence of a narrow beam (a choice).
const off = 0.02 / degrees

// angles dimensions how far the strong paths leave from the axis of the collimator they travel to.
func (v stretched) angles() {
	var done []stack.Trace
	for _, t := range v.light.main() {
		if float64(t.Angle()) < off || len(done) == 2 || dimensioned(done, t) {
			continue
		}
		done = append(done, t)
		n := len(t.Points) - 1
		stretch := v.z.visible(v.end(t, n-1), v.end(t, n))
		if len(stretch) == 0 {
			continue
		}
		p, q := v.point(stretch[0][0]), v.point(stretch[0][1])
		along := float64(way(v.light.direction))
		forward := 0.0
		if along < 0 {
			forward = math.Pi
		}
		_, slope := v.d.centre(v.light.direction)
		axis := forward + along*math.Atan(slope*v.times)
		bend := math.Remainder(direction(p, q)-axis, 2*math.Pi)
		r := min(62, vg.Length(math.Abs(float64(q.X-p.X)))*0.6)
		if float64(r)*math.Abs(bend) < 3 {
			continue // too flat to be seen; the number stands beside the arrival
		}
		v.ray(grey, hair, []vg.Length{3, 2}, p, polar(p, r+10, axis))
		v.dimension(arc(p, r, axis, axis+bend)...)
		for i, pts := 1, arc(p, r, axis, axis+bend); i < len(pts); i++ {
			v.lines = append(v.lines, [2]vg.Point{pts[i-1], pts[i]})
		}
		text := v.angle(t)
		a := left
		if along < 0 {
			a = right
		}
		var places []place
		for _, share := range []float64{0.5, 0.35, 0.65, 0.2} {
			for _, more := range []vg.Length{4, 9, 16} {
				places = append(places, place{polar(p, r+more, axis+bend*share), a})
			}
		}
		outside := vg.Length(math.Copysign(1, float64(q.Y-p.Y)))
		for _, lift := range []vg.Length{8, 12, 17, 23} {
			for _, back := range []vg.Length{1, 0.75, 0.5} {
				m := polar(p, r*back, axis+bend)
				places = append(places, place{at(m.X, m.Y+outside*lift), centre}, place{at(m.X, m.Y-outside*lift),
					centre})
			}
		}
		v.find(text, vg.Rectangle{Min: at(0, v.middle-v.below-4), Max: at(sheetWidth, v.middle+v.above+4)}, places)
	}
}

// dimensioned reports whether a trace like t has its dimension already: as far off axis, the same way to a tenth.
func dimensioned(done []stack.Trace, t stack.Trace) bool {
	for _, o := range done {
		if d := o.Tilt.Sub(t.Tilt); math.Hypot(d.X, d.Y) < 0.1*float64(t.Angle()) {
			return true
		}
	}
	return false
}

// angle writes a path's angle to the axis; where the view shows less of it, that too.
func (v stretched) angle(t stack.Trace) string {
	whole := float64(t.Angle())
	part := math.Abs(v.along(t.Tilt.X, t.Tilt.Y))
	return ofWhole(part*degrees, whole*degrees, hundredths, "°")
}

func (v stretched) along(x, y float64) float64 { return v.d.along(r3.Vec{X: x, Y: y}) }
