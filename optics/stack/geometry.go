package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// Trace is the chief ray of one path, from lens face to lens face.
type Trace struct {
	Path
	Points []r3.Vec // where the ray turns, in metres; the first on the lens face it leaves, the last on the other
	Rays   []byte   // the kind of ray from each point to the next: 'o', 'e', or ' ' outside crystals
}

// Traces returns the chief rays of all paths of one direction that carry more than least of the power launched, in the
// order of Paths.
func (s *Stack) Traces(d Direction, l quantity.Length, t quantity.Temperature, least float64) ([]Trace, error) {
	bare := s.WithGhosts(GhostsNone)
	paths, err := bare.Paths(d, l, t)
	if err != nil {
		return nil, err
	}
	c := bare.lay(t)
	if err := c.tune(l); err != nil {
		return nil, err
	}
	var all []Trace
	for _, p := range paths {
		if -p.Sent < quantity.Decibels(least) {
			continue
		}
		tr := Trace{Path: p}
		shot := bare.shoot(c, d, l, bare.poseAt(t), nil)
		if p.Label != unsplit {
			shot.only = []byte(p.Label)
		}
		tr.Points = append(tr.Points, shot.from.r)
		shot.seen = func(q *path, i int) {
			tr.Points = append(tr.Points, q.r)
			kind := byte(' ')
			if m := c.medium(i, -q.step); m.Crystal != nil {
				kind = q.ray
			}
			tr.Rays = append(tr.Rays, kind)
		}
		shot.tracer.visit = func(q *path) {
			tr.Points, tr.Rays = append(tr.Points, q.r), append(tr.Rays, ' ')
		}
		shot.along(shot.chief())
		all = append(all, tr)
	}
	return all, nil
}

// Slab is a part as it stands: its name, kind and faces.
type Slab struct {
	Label, Kind string
	Faces       []Plane
	Axis        r3.Vec  // unit vector of the optic axis; zero where there is no crystal
	Rotation    float64 // Faraday rotation at the wavelength of alignment, rad
	Field       float64 // flux density of the part's magnet at its centre, T; zero without a magnet
	Pass        r3.Vec  // unit vector that a polarizing sheet passes; zero for other parts
}

// Plane is a face through (0, 0, Z), in metres, with its normal.
type Plane struct {
	Z      float64
	Normal r3.Vec
}

// Height returns z where the face meets the line (x, y).
func (p Plane) Height(x, y float64) float64 {
	return p.Z - (p.Normal.X*x+p.Normal.Y*y)/p.Normal.Z
}

// Slabs returns the parts that have faces, as they stand at a temperature.
func (s *Stack) Slabs(t quantity.Temperature) []Slab {
	var all []Slab
	z := 0.0
	for _, e := range s.spec.Elements {
		part := e.Place(t)
		if len(part.Faces) > 0 {
			slab := Slab{Label: e.Label(), Kind: e.Kind()}
			for _, m := range part.Media {
				if m.Crystal != nil {
					slab.Axis = m.Crystal.Axis
				}
			}
			if slab.Axis == (r3.Vec{}) && e.Tune(s.spec.AlignAt, t, part.Media) == nil && len(part.Media) > 0 {
				slab.Rotation = part.Media[0].Rotation
			}
			slab.Field = element.FieldAt(e, t)
			if sheet := part.Faces[0].Sheet; sheet != nil {
				slab.Pass = sheet.Axis
			}
			for _, f := range part.Faces {
				slab.Faces = append(slab.Faces, Plane{z + f.Z, f.Normal})
			}
			all = append(all, slab)
		}
		z += part.Length
	}
	return all
}

// Lenses returns z of the lens faces of the launching and the receiving collimator, in metres.
func (s *Stack) Lenses() (launching, receiving float64) { return s.zIn, s.zOut }

// Angle returns the angle between the path's chief ray and the receiver's axis.
func (p Path) Angle() quantity.Angle { return quantity.Angle(math.Hypot(p.Tilt.X, p.Tilt.Y)) }
