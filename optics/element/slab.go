package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Slab is what a polarizer is that has a thickness: a dichroic glass with two faces. The zero value is none.
type Slab struct {
	Thickness quantity.Length // along the normal of its front face, m, above 0
	Index     float64         // phase index, at every wavelength; 1 or more
	Coating   Coating         // of both faces
	Slant     Slant           // how it stands across the beam
	Aperture  quantity.Length // radius of the clear aperture, m; 0 when it is wide enough
}

// Dichroic is a medium that absorbs one polarization more than the other: the field along Axis, or along what of it is
// across the direction of the light, and the field across that. Such a medium passes its ordinary wave, as glass with
// elongated silver particles and stretched film do.
type Dichroic struct {
	Axis        r3.Vec  // unit vector of the absorbing axis
	Pass, Block float64 // factors on the amplitude across the axis and along it, from 0 to 1, from face to face
}

var slabFields = append([]field[Polarizer]{
	{"thickness", "mm", func(p *Polarizer) *float64 { return (*float64)(&p.Slab.Thickness) }},
	{"index", "", func(p *Polarizer) *float64 { return &p.Slab.Index }},
	{"reflectance", "percent", func(p *Polarizer) *float64 { return &p.Slab.Coating.Reflectance }},
}, slantFields(func(p *Polarizer) *Slant { return &p.Slab.Slant })...)

// check reports a slab that cannot be made.
func (s *Slab) check() error {
	switch {
	case s.Thickness == 0 && s.Index == 0 && s.Slant == (Slant{}) && s.Aperture == 0 && s.Coating.none():
		return nil
	case !(s.Thickness > 0):
		return fmt.Errorf("thickness %g mm must be positive for a polarizer with faces", float64(s.Thickness)*1e3)
	case !(s.Index >= 1 && s.Index < 5):
		return fmt.Errorf("index %g must be at least 1 and below 5", s.Index)
	}
	if err := s.Slant.check(); err != nil {
		return err
	}
	return s.Coating.Check()
}

// place lays out the faces of a polarizer that passes light along an azimuth with the factor pass on its amplitude and
// what is across it with block. Its axis turns with it when it is tilted.
func (s *Slab) place(azimuth, pass, block float64) (part Part) {
	front, back := part.faces(&s.Coating, s.Aperture)
	n := s.Slant.lay(front, back, float64(s.Thickness))
	sin, cos := math.Sincos(azimuth)
	part.medium(Medium{Index: s.Index, Group: s.Index, Dichroic: &Dichroic{
		Axis: ray.Turn(r3.Vec{X: -sin, Y: cos}, r3.Vec{Z: 1}, n), Pass: pass, Block: block}})
	part.Length = back.Z
	return part
}
