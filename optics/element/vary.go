package element

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Variable is an element of which some numbers are changed again and again, with no copy made each time: what trials
// lay out by the million. It belongs to one goroutine.
type Variable interface {
	// Set changes number i of those named to Vary: its SI value, a level in dB. What With checks, Check does
	// afterwards.
	Set(i int, value float64)
	Check() error

	// Lay is Place into the room of an earlier Part, and Tune that of the element.
	Lay(t quantity.Temperature, into *Part)
	Tune(l quantity.Length, t quantity.Temperature, media []Medium) error
}

// Vary returns an element as a Variable of the named numbers; false for one with a number that can only be changed by
// With.
func Vary(e Element, names []string) (Variable, bool) {
	switch e := e.(type) {
	case Wedge:
		return vary(e, names, wedgeFields, "cut", func(w *Wedge, cut float64) {
			w.Rise = math.Pi/2 - quantity.Angle(cut)
		})
	case Plate:
		return vary(e, names, plateFields, "", nil)
	case Gap:
		return vary(e, names, gapFields, "", nil)
	case Rotator:
		v, ok := vary(e, names, rotatorFields, "extinction", func(r *Rotator, dB float64) {
			r.Garnet.Extinction = quantity.Ratio(dB)
		})
		if ok && len(e.Magnets) == 0 && slices.Equal(names, []string{"angle"}) {
			v.check = (*Rotator).checkAngle // all else stays as it was checked
		}
		return v, ok
	}
	return nil, false
}

// laid is what an element must be for its numbers to be varied.
type laid[T any] interface {
	*T
	check() error
	lay(t quantity.Temperature, into *Part)
	tune(l quantity.Length, t quantity.Temperature, media []Medium) error
}

type variable[T any, P laid[T]] struct {
	e     T
	at    []*float64 // where the numbers are; nil for the one that is kept otherwise
	set   func(*T, float64)
	check func(*T) error // of what the numbers may change
}

// vary makes a Variable from an element's fields and one more number that is kept otherwise.
func vary[T any, P laid[T]](e T, names []string, fields []field[T], other string,
	set func(*T, float64)) (*variable[T, P], bool) {
	v := &variable[T, P]{e: e, set: set, check: func(e *T) error { return P(e).check() }}
	for _, name := range names {
		found := name == other && set != nil
		if found {
			v.at = append(v.at, nil)
		}
		for _, f := range fields {
			if f.name == name {
				found = true
				v.at = append(v.at, f.at(&v.e))
			}
		}
		if !found {
			return nil, false
		}
	}
	return v, true
}

func (v *variable[T, P]) Set(i int, value float64) {
	if at := v.at[i]; at != nil {
		*at = value
		return
	}
	v.set(&v.e, value)
}

func (v *variable[T, P]) Check() error { return v.check(&v.e) }

func (v *variable[T, P]) Lay(t quantity.Temperature, into *Part) { P(&v.e).lay(t, into) }

func (v *variable[T, P]) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return P(&v.e).tune(l, t, media)
}

// faces makes the part one of two square faces with a coating and an aperture, in the room that it has, and returns
// them. That room is of the same element, of which only numbers have changed.
func (p *Part) faces(c *Coating, aperture quantity.Length) (front, back *Face) {
	if len(p.Faces) != 2 {
		p.Faces = []Face{{Aperture: float64(aperture)}, {Aperture: float64(aperture)}}
		c.onto(&p.Faces[0], true)
		c.onto(&p.Faces[1], false)
	}
	front, back = &p.Faces[0], &p.Faces[1]
	front.Z, front.Normal, front.Reflectance = 0, r3.Vec{}, c.Reflectance
	back.Z, back.Normal, back.Reflectance = 0, r3.Vec{}, c.Reflectance
	return front, back
}

// medium sets the one medium of a part.
func (p *Part) medium(m Medium) { p.Media = append(p.Media[:0], m) }

// crystal makes the one medium of a part a crystal, that of before where there is one, and returns it.
func (p *Part) crystal() *ray.Uniaxial {
	if len(p.Media) != 1 || p.Media[0].Crystal == nil {
		p.medium(Medium{Crystal: &ray.Uniaxial{}})
	}
	return p.Media[0].Crystal
}
