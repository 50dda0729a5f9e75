package stack

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// Trace is the chief ray of one path, from lens face to lens face.
type Trace struct {
	Path
	Points []r3.Vec // where the ray turns, in metres; the first on the lens face it leaves, the last on the other
	Rays   []byte   // the kind of ray from each point to the next: 'o', 'e', or ' ' outside crystals

	// Reduced is the distance of each point from the first in free space that diffracts as much, in metres. Where it is
	// Ahead the beam has its waist, of radius Waist.
	Reduced      []float64
	Waist, Ahead float64

	wavelength float64
}

// Radius returns the 1/e^2 intensity radius of the beam where the reduced distance is as stated, in metres. Like
// the overlap integrals it takes the beam as round.
func (t Trace) Radius(reduced float64) float64 {
	return t.Waist * math.Hypot(1, (reduced-t.Ahead)/beam.RayleighRange(t.Waist, t.wavelength))
}

// Angle returns the angle between the path's chief ray and the receiver's axis.
func (p Path) Angle() quantity.Angle { return quantity.Angle(math.Hypot(p.Tilt.X, p.Tilt.Y)) }

// Traces returns the chief rays of all paths of one direction without ghosts, in the order of Paths. The wavelength or
// temperature may lie outside what a material is known for, which is an error.
func (s *Stack) Traces(d Direction, l quantity.Length, t quantity.Temperature) ([]Trace, error) {
	if err := s.through(); err != nil {
		return nil, err
	}
	var all []Trace
	err := s.WithGhosts(GhostsNone).traced(d, l, t, func(q *tracer) {
		n := len(q.faces)
		// Paths branch depth first: what a path has behind it is what was recorded last at each face behind it.
		now := Trace{Points: make([]r3.Vec, n+2), Rays: make([]byte, n+1), Reduced: make([]float64, n+2),
			Waist: q.waist, Ahead: q.ahead, wavelength: float64(l)}
		now.Points[0], now.Rays[n] = q.from.r, ' '
		q.seen = func(a *state, i int, in *element.Medium) {
			k := i
			if d == Backward {
				k = n - 1 - i
			}
			now.Points[k+1], now.Reduced[k+1], now.Rays[k] = a.r, a.space, ' '
			if in.Crystal != nil {
				now.Rays[k] = a.kind
			}
		}
		q.chiefly(func(a *state) {
			t := now
			t.Path = q.path(a)
			t.Points, t.Rays, t.Reduced = slices.Clone(now.Points), slices.Clone(now.Rays), slices.Clone(now.Reduced)
			t.Points[n+1], t.Reduced[n+1] = a.r, a.space
			all = append(all, t)
		})
	})
	if err != nil {
		return nil, err
	}
	paths := make([]Path, len(all))
	for i := range all {
		paths[i] = all[i].Path
	}
	for i, p := range fromFirst(paths) {
		all[i].Path = p
	}
	return all, nil
}

// Outline is a stack as it stands between its collimators at a wavelength and temperature. Lengths are in metres, z
// counts from the first part.
type Outline struct {
	Parts                []Outlined
	Launching, Receiving float64 // z of the lens faces
	Pose                 Pose    // of the receiving collimator
	Focal                float64 // of the lenses; 0 when only the waist is stated
}

// Outlined is a part that has faces.
type Outlined struct {
	Label, Kind string
	Material    string  // "" for a polarizing sheet
	Faces       []Plane // in the order of +z; one for a sheet
	Axis        r3.Vec  // unit vector of the optic axis; zero where there is no crystal
	Pass        r3.Vec  // unit vector that a polarizing sheet passes; zero for other parts
	Rotation    float64 // Faraday rotation, rad, +x towards +y for either direction of light

	Magnets magnet.Assembly // around the part; their Position is z of their centre
	Field   float64         // flux density along +z that the part stands in, at its centre, T
}

// Plane is a face through (0, 0, Z) with its unit normal.
type Plane struct {
	Z        float64
	Normal   r3.Vec
	Aperture float64 // radius of the clear aperture; 0 when none is stated
}

// Height returns z where the face meets the line (x, y).
func (p Plane) Height(x, y float64) float64 {
	return p.Z - (p.Normal.X*x+p.Normal.Y*y)/p.Normal.Z
}

// Taper returns the angle between the first and the last face, and the azimuth towards which the part grows thicker,
// both in radians. Parallel faces have no azimuth: it is zero.
func (o Outlined) Taper() (angle, azimuth float64) {
	a, b := o.Faces[0].Normal, o.Faces[len(o.Faces)-1].Normal
	// Thickness is the height of the last face less that of the first.
	x, y := a.X/a.Z-b.X/b.Z, a.Y/a.Z-b.Y/b.Z
	if math.Hypot(x, y) < 1e-9 { // two plane faces ground to a nanoradian are parallel
		return 0, 0
	}
	return math.Asin(min(1, r3.Norm(r3.Cross(a, b)))), math.Atan2(y, x)
}

// Outline returns how the stack stands.
func (s *Stack) Outline(l quantity.Length, t quantity.Temperature) (Outline, error) {
	if err := conditions(l, t); err != nil {
		return Outline{}, err
	}
	o := Outline{Launching: s.zIn, Receiving: s.zOut, Pose: s.poseAt(t), Focal: float64(s.spec.Beam.Focal)}
	z := 0.0
	for _, e := range s.spec.Elements {
		part := e.Place(t)
		if len(part.Faces) > 0 {
			if err := e.Tune(l, t, part.Media); err != nil {
				return Outline{}, err
			}
			o.Parts = append(o.Parts, outlined(e, part, z, t))
		}
		z += part.Length
	}
	return o, nil
}

func outlined(e element.Element, part element.Part, z float64, t quantity.Temperature) Outlined {
	o := Outlined{Label: e.Label(), Kind: e.Kind(), Field: element.FieldAt(e, t)}
	for _, f := range part.Faces {
		o.Faces = append(o.Faces, Plane{z + f.Z, f.Normal, f.Aperture})
		if f.Sheet != nil {
			o.Pass = f.Sheet.Axis
		}
	}
	for _, m := range part.Media {
		if m.Crystal != nil {
			o.Axis = m.Crystal.Axis
		}
		o.Rotation += m.Rotation
		if m.Dichroic != nil {
			o.Pass = r3.Unit(r3.Cross(m.Dichroic.Axis, part.Faces[0].Normal))
		}
	}
	var rings magnet.Assembly
	switch e := e.(type) {
	case element.Rotator:
		o.Material, rings = e.Garnet.Name, e.Magnets
	case element.Rod:
		o.Material, rings = e.Material.Name(), e.Magnets
	case element.Plate:
		if e.Glass != nil {
			o.Material = e.Glass.Name()
		} else {
			o.Material = e.Crystal.Name()
		}
	default:
		if c := element.CrystalOf(e); c != nil {
			o.Material = c.Name()
		}
	}
	if len(rings) > 0 { // stated from the part's centre
		o.Magnets = rings.Moved(quantity.Length(z + part.Length/2))
	}
	return o
}
