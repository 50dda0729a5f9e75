// Package element describes the parts of a stack as they are drawn and bought: wedges, rotators, gaps,
// collimators. An element turns its drawing into faces and media; what rays do there is the business of
// package stack.
//
// Conventions: +z is forward; azimuths run from +x towards +y; a face has the unit normal (sin a cos f,
// sin a sin f, cos a) with angle a and azimuth f; a thickness is the distance of two faces along z.
// Dimensions are those at 20 degC (ISO 1). Elements are values: With returns a changed copy.
//
// Units are those of the types: lengths in metres, angles in radians, temperatures in kelvin, wavelengths in vacuum.
// Reflectances are shares of the power, extinction ratios power ratios, losses positive and in dB. A field that is not
// described otherwise may have any finite value.
package element

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/face"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Element is one part of a stack.
type Element interface {
	Kind() string  // "wedge", "rotator", "gap"
	Label() string // name in parameter paths; "" until the stack gives one
	Labelled(label string) Element
	Rolled(angle quantity.Angle) Element // turned rigidly about z

	// Parameters lists the adjustable numbers, each in the unit that it is usually stated in. With returns a copy in
	// which one of them is changed, and an error for a name that it does not have, a value of another dimension, or one
	// that Check does not let pass.
	Parameters() []Parameter
	With(parameter string, value quantity.Quantity) (Element, error)

	// Check reports a drawing that no shop could make.
	Check() error

	// Place lays out the faces at a temperature, of an element that Check lets pass. Tune then sets what depends on
	// wavelength too in the media that Place returned, and may be called any number of times; its errors are those of a
	// material outside its range, and of a magnet that heat has left no remanence.
	Place(t quantity.Temperature) Part
	Tune(l quantity.Length, t quantity.Temperature, media []Medium) error
}

// Cautious is an element that may have something to say about its use at a temperature in kelvin, in plain sentences;
// nil when it has not. Cautions asks any element.
type Cautious interface {
	Cautions(t quantity.Temperature) []string
}

// Fit is a dispersion fit: the vacuum wavelengths between which it holds, and a sentence that says by how much a
// wavelength is outside, where the engineer has given leave to extrapolate; it is "" inside and without leave. The data
// sheet of a film stands for one, and needs no leave.
type Fit interface {
	Name() string
	Range() (lo, hi quantity.Length) // m
	Warning(l quantity.Length) string
}

// FitOf returns the fit of what an element is made of, of two halves that of the first; nil for an element whose index
// no fit describes.
func FitOf(e Element) Fit {
	switch e := e.(type) {
	case Plate:
		if e.Glass != nil {
			return e.Glass
		}
	case Rod:
		return e.Material
	case Rotator:
		return material.Film{Garnet: e.Garnet}
	case Halves:
		return FitOf(e.First)
	}
	if c := CrystalOf(e); c != nil {
		return c
	}
	return nil
}

// Cautions returns what there is to say about an element at a vacuum wavelength in metres and a temperature in kelvin,
// in plain sentences: where what it is made of is used outside its data, and what the element says of itself.
func Cautions(e Element, l quantity.Length, t quantity.Temperature) []string {
	var all []string
	if c, ok := e.(Cautious); ok {
		all = c.Cautions(t)
	}
	if h, ok := e.(Halves); ok {
		all = append(all, Cautions(h.Second, l, t)...)
	}
	if fit := FitOf(e); fit != nil {
		if said := fit.Warning(l); said != "" && !slices.Contains(all, said) {
			all = append(all, said)
		}
	}
	return all
}

// Parameter is an adjustable number.
type Parameter struct {
	Path  string            // "apex" of an element by itself, "wedge1.apex" in a stack
	Value quantity.Quantity // in the unit that it is usually stated in

	// Omitted says that the part is drawn without it, as a film that stands square is without a tilt: it may have a
	// tolerance all the same, but a record of the drawing leaves it out.
	Omitted bool
}

// Part is an element laid out along z from its own origin. There is one medium between each two faces;
// an element without faces only takes up room.
type Part struct {
	Faces  []Face   // in the order of +z
	Media  []Medium // Media[i] lies between Faces[i] and Faces[i+1]
	Length float64  // m along z at the temperature of Place, to where the next element starts
}

// Face is a plane face through (0, 0, Z).
type Face struct {
	Z           float64 // m from the element's own origin
	Normal      r3.Vec  // unit vector with positive z
	Reflectance float64 // share of the power reflected, of both polarizations, from 0 up to 1
	Sheet       *Sheet  // nil unless the face is a polarizing sheet
	Aperture    float64 // radius of the clear aperture, m; 0 for a face wide enough

	// Mirror is a face that lets nothing through: what it does not reflect it absorbs.
	Mirror bool

	// Exact faces reflect and transmit as their media and Layers say; Reflectance does not count. Layers are
	// in the order of +z, Reversed in the other.
	Exact            bool
	Layers, Reversed []face.Layer
}

// Reflects reports whether the face sends anything back.
func (f *Face) Reflects() bool { return f.Exact || f.Reflectance > 0 }

// Medium is what lies between two faces.
type Medium struct {
	Crystal  *ray.Uniaxial // nil for an isotropic medium; its indices then count in place of the two below
	Index    float64       // phase index of an isotropic medium
	Group    float64       // its group index
	Rotation float64       // Faraday rotation, rad, +x towards +y for either direction of travel

	// Span is the way along z, in metres, over which light is turned by Rotation: it is turned in proportion to its
	// own. 0 turns all light by Rotation, as a film does whose faces are square to z. Media are magnetized along z.
	Span     float64
	Dichroic *Dichroic // nil unless the medium absorbs one polarization more than the other

	// Crossed is the fraction of the power, from 0 to 1/2, that leaves turned a further 90 deg, incoherently with the
	// rest.
	Crossed    float64
	Absorption float64 // power absorption, 1/m

	Drive float64 // integral of Bz dz that turns a paramagnet, T m: set by Place for Tune; NaN without a remanence

	Beside *Beside // what lies next to it between the same faces; nil for a part that is the same all over
}

// Beside is the other half of a part that is made of two side by side: their border is a plane along z.
type Beside struct {
	Medium Medium
	X, Y   float64 // unit vector across the border, from the first half into this one
	Border float64 // m: this half is where X x + Y y is greater
}

// Depth returns how deep in this half the line (x, y) lies, in metres; it is negative in the other one.
func (b *Beside) Depth(x, y float64) float64 { return b.X*x + b.Y*y - b.Border }

// CrystalOf returns the crystal that an element is cut from, whose indices are all that its Tune sets; nil when it
// is something else.
func CrystalOf(e Element) *material.Crystal {
	switch e := e.(type) {
	case Wedge:
		return e.Crystal
	case Plate:
		return e.Crystal // nil for a plate of glass
	case Retarder:
		return e.Crystal
	}
	return nil
}

// Air is the medium of gaps; its index, 1.00027 at 1550 nm (B. Edlen, Metrologia 2, 71, 1966, from memory), is taken
// as 1.
var Air = Medium{Index: 1, Group: 1}

// fabricated is the temperature of stated dimensions (ISO 1).
var fabricated = quantity.Celsius(20)

// Coating is the treatment of an element's faces. Unless they are bare or carry stated layers, all that is known
// is the power reflectance of each, for both polarizations; what is not reflected is transmitted, s and p
// kept.
type Coating struct {
	Reflectance float64      // share of the power that each face reflects, from 0 up to 1; 0 for perfect faces
	Bare        bool         // no coating: Fresnel's coefficients of the media
	Layers      []face.Layer // thin films from the outside to the part, on both faces
}

// none reports whether nothing was said of the faces.
func (c *Coating) none() bool { return c.Reflectance == 0 && !c.Bare && len(c.Layers) == 0 }

// Check reports a coating that cannot be: a reflectance outside 0 to 1, one beside bare faces or layers, from which it
// follows, or a layer that does not pass its own Check.
func (c Coating) Check() error {
	if !(c.Reflectance >= 0 && c.Reflectance < 1) {
		return fmt.Errorf("reflectance %g of the coating must be at least 0 and below 1", c.Reflectance)
	}
	if c.Reflectance > 0 && (c.Bare || len(c.Layers) > 0) {
		return fmt.Errorf("the reflectance of a bare face or of stated layers follows from them: %g cannot be set",
			c.Reflectance)
	}
	for i, l := range c.Layers {
		if err := l.Check(); err != nil {
			return fmt.Errorf("coating layer %d: %w", i+1, err)
		}
	}
	return nil
}

// onto treats a face with the coating; front says that light along +z meets its outside first.
func (c *Coating) onto(f *Face, front bool) {
	f.Reflectance, f.Exact = c.Reflectance, c.Bare || len(c.Layers) > 0
	if len(c.Layers) == 0 {
		return
	}
	f.Layers, f.Reversed = c.Layers, slices.Clone(c.Layers)
	slices.Reverse(f.Reversed)
	if !front {
		f.Layers, f.Reversed = f.Reversed, f.Layers
	}
}

// field is one adjustable number of an element of type T, told by how to read and write it in SI.
type field[T any] struct {
	name string
	unit string // as cells spell it, "mm", "1/kelvin" or "deg/nm"; "" for a plain number
	at   func(*T) *float64
}

func (f field[T]) shown() quantity.Unit {
	if f.unit == "" {
		return quantity.Unit{}
	}
	if over, under, quotient := strings.Cut(f.unit, "/"); quotient {
		one := quantity.Quantity{Value: 1}
		if over != "1" {
			one.Unit = quantity.MustNamed(over)
		}
		q, err := quantity.Div(one, quantity.Of(1, under))
		if err != nil {
			panic("element: " + err.Error()) // a unit written in this package's source
		}
		return q.Unit
	}
	return quantity.MustNamed(f.unit)
}

func parameters[T any](e *T, fields []field[T]) []Parameter {
	ps := make([]Parameter, len(fields))
	for i, f := range fields {
		ps[i] = Parameter{Path: f.name, Value: quantity.FromSI(*f.at(e), f.shown())}
	}
	return ps
}

// set changes one number of e, which must be the caller's own copy.
func set[T any](e *T, fields []field[T], label, name string, v quantity.Quantity) error {
	i := slices.IndexFunc(fields, func(f field[T]) bool { return f.name == name })
	if i < 0 {
		var known []string
		for _, f := range fields {
			known = append(known, f.name)
		}
		return fmt.Errorf("%s has no parameter %q: it has %s", label, name, strings.Join(known, ", "))
	}
	f := fields[i]
	want := f.shown()
	if v.Dimension() != want.Dimension() || v.Absolute() {
		return fmt.Errorf("%s.%s must be given as %s, such as %s, not %s",
			label, name, quantity.Article(want.Dimension().String()), quantity.FromSI(*f.at(e), want), v)
	}
	*f.at(e) = v.SI()
	return nil
}

// unit returns v at unit size. The vectors here are neither huge nor tiny, so that it can do without the guard against
// overflow that takes most of the time of r3.Unit.
func unit(v r3.Vec) r3.Vec { return r3.Scale(1/math.Sqrt(r3.Norm2(v)), v) }

// normal returns the unit normal at an angle to +z, with the given azimuth.
func normal(angle, azimuth float64) r3.Vec {
	sa, ca := math.Sincos(angle)
	if azimuth == 0 {
		return r3.Vec{X: sa, Z: ca}
	}
	sf, cf := math.Sincos(azimuth)
	return r3.Vec{X: sa * cf, Y: sa * sf, Z: ca}
}
