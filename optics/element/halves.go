package element

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Halves is two plates side by side between the same two faces, each in its own half of the aperture: the two half-wave
// plates of a circulator, one for each beam, or a half-wave plate beside glass. Light keeps to the half in which its
// chief ray enters; what of a beam lies across the border is lost.
type Halves struct {
	Name          string          // in parameter paths; "" until a stack gives one
	First, Second Element         // plates or retarders of the same thickness and tilt
	Towards       quantity.Angle  // azimuth of the direction from First to Second, across the border, rad
	Border        quantity.Length // distance of the border from the device's axis in that direction, m
	Roll          quantity.Angle  // of the whole part about z, rad: both halves and the border
}

var halvesFields = []field[Halves]{
	{"towards", "deg", func(h *Halves) *float64 { return (*float64)(&h.Towards) }},
	{"border", "mm", func(h *Halves) *float64 { return (*float64)(&h.Border) }},
	{"roll", "deg", func(h *Halves) *float64 { return (*float64)(&h.Roll) }},
}

// The parameters of the halves themselves, "first_axis" and the like.
const (
	firstPrefix  = "first_"
	secondPrefix = "second_"
)

// Kind returns "halves".
func (Halves) Kind() string { return "halves" }

// Label returns the name of the part.
func (h Halves) Label() string { return h.Name }

// Labelled returns a copy with another name.
func (h Halves) Labelled(label string) Element { h.Name = label; return h }

// Rolled returns a copy turned about z.
func (h Halves) Rolled(angle quantity.Angle) Element { h.Roll += angle; return h }

// Parameters lists towards, border and roll, and those of the two halves behind first_ and second_.
func (h Halves) Parameters() []Parameter {
	all := parameters(&h, halvesFields)
	for _, half := range []struct {
		prefix string
		of     Element
	}{{firstPrefix, h.First}, {secondPrefix, h.Second}} {
		if half.of == nil {
			continue
		}
		for _, p := range half.of.Parameters() {
			p.Path = half.prefix + p.Path
			all = append(all, p)
		}
	}
	return all
}

// With returns a copy with one parameter changed, checked.
func (h Halves) With(name string, v quantity.Quantity) (Element, error) {
	var err error
	switch {
	case strings.HasPrefix(name, firstPrefix):
		h.First, err = h.named(h.First, "first").With(strings.TrimPrefix(name, firstPrefix), v)
	case strings.HasPrefix(name, secondPrefix):
		h.Second, err = h.named(h.Second, "second").With(strings.TrimPrefix(name, secondPrefix), v)
	default:
		err = set(&h, halvesFields, h.Name, name, v)
	}
	if err != nil {
		return nil, err
	}
	return h, h.Check()
}

// named returns a half by the name that errors call it: its own, or else which of the two it is.
func (h Halves) named(e Element, which string) Element {
	if e.Label() != "" {
		return e
	}
	return e.Labelled("(" + which + " half)")
}

// Check reports what cannot be made: a half that is no plate, or one that the other does not fit.
func (h Halves) Check() error {
	for _, half := range []Element{h.First, h.Second} {
		switch half.(type) {
		case Plate, Retarder:
		case nil:
			return fmt.Errorf("halves %s: both halves must be given", h.Name)
		default:
			return fmt.Errorf("halves %s: a half must be a plate, a displacer or a retarder, not a %s", h.Name,
				half.Kind())
		}
	}
	for _, half := range []Element{h.named(h.First, "first"), h.named(h.Second, "second")} {
		if err := half.Check(); err != nil {
			return fmt.Errorf("halves %s: %w", h.Name, err)
		}
	}
	a, b := h.First.Place(fabricated), h.Second.Place(fabricated)
	if math.Abs(a.Length-b.Length) > 1e-9 { // a nanometre: the polish of one face
		return fmt.Errorf("halves %s: the halves are %.6f and %.6f mm thick; they must be of one thickness", h.Name,
			a.Length*1e3, b.Length*1e3)
	}
	if r3.Norm(r3.Sub(a.Faces[0].Normal, b.Faces[0].Normal)) > 1e-9 {
		return fmt.Errorf("halves %s: both halves must have the same tilt", h.Name)
	}
	return nil
}

// turned returns both halves with the roll of the whole part.
func (h Halves) turned() (first, second Element) {
	return h.First.Rolled(h.Roll), h.Second.Rolled(h.Roll)
}

// Place lays out the faces of the first half, and the second half's medium beside its own.
func (h Halves) Place(t quantity.Temperature) Part {
	first, second := h.turned()
	part, other := first.Place(t), second.Place(t)
	sin, cos := math.Sincos(float64(h.Towards + h.Roll))
	for i := range part.Media {
		part.Media[i].Beside = &Beside{Medium: other.Media[i], X: cos, Y: sin, Border: float64(h.Border)}
	}
	return part
}

// Tune sets the media of both halves at a vacuum wavelength in metres and a temperature in kelvin; its errors are
// theirs.
func (h Halves) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	if err := h.First.Tune(l, t, media); err != nil {
		return fmt.Errorf("%s: %w", h.Name, err)
	}
	for i := range media {
		other := []Medium{media[i].Beside.Medium}
		if err := h.Second.Tune(l, t, other); err != nil {
			return fmt.Errorf("%s: %w", h.Name, err)
		}
		media[i].Beside.Medium = other[0]
	}
	return nil
}
