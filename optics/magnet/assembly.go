package magnet

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Assembly is several rings on one axis: their fields add up, for none of them changes the magnetization of another. A
// pole piece of iron stands in it as a ring magnetized to saturation (material "Fe"): the most that it can add. An
// assembly of no ring has no field.
type Assembly []Ring

// Check reports a ring that cannot be made, and two that occupy the same place.
func (a Assembly) Check() error {
	for i := range a {
		if err := a[i].Check(); err != nil {
			return a.named(i, err)
		}
		for j := range i {
			if a[i].overlaps(&a[j]) {
				return fmt.Errorf("magnets %d and %d occupy the same place: set their position", j+1, i+1)
			}
		}
	}
	return nil
}

// named says which ring of several an error is about.
func (a Assembly) named(i int, err error) error {
	if len(a) > 1 {
		return fmt.Errorf("ring %d of %d: %w", i+1, len(a), err)
	}
	return err
}

// overlaps reports whether two rings share more than a face: a nanometre is rounding of positions.
func (r *Ring) overlaps(o *Ring) bool {
	const touch = 1e-9
	gap := float64(r.Position - o.Position)
	if gap < 0 {
		gap = -gap
	}
	return gap < float64(r.Length+o.Length)/2-touch &&
		float64(r.Inner) < float64(o.Outer)-touch && float64(o.Inner) < float64(r.Outer)-touch
}

// Moved returns the rings moved along z, in metres.
func (a Assembly) Moved(by quantity.Length) Assembly {
	moved := make(Assembly, len(a))
	for i, r := range a {
		r.Position += by
		moved[i] = r
	}
	return moved
}

// OnAxis is Ring.OnAxis, of all rings together.
func (a Assembly) OnAxis(z quantity.Length, t quantity.Temperature) (sum float64, err error) {
	for i := range a {
		b, err := a[i].OnAxis(z, t)
		if err != nil {
			return 0, a.named(i, err)
		}
		sum += b
	}
	return sum, nil
}

// Polar is Ring.Polar, of all rings together.
func (a Assembly) Polar(rho, z quantity.Length, t quantity.Temperature) (radial, axial float64, err error) {
	for i := range a {
		r, b, err := a[i].Polar(rho, z, t)
		if err != nil {
			return 0, 0, a.named(i, err)
		}
		radial, axial = radial+r, axial+b
	}
	return radial, axial, nil
}

// Integral is Ring.Integral, of all rings together.
func (a Assembly) Integral(from, to r3.Vec, t quantity.Temperature) (sum float64, err error) {
	for i := range a {
		b, err := a[i].Integral(from, to, t)
		if err != nil {
			return 0, a.named(i, err)
		}
		sum += b
	}
	return sum, nil
}

// Margin is Ring.Margin, of all rings together: Bz of their sum is harmonic outside them all.
func (a Assembly) Margin(f Film, t quantity.Temperature) (Margin, error) {
	axial, err := a.axial(f, t)
	if err != nil {
		return Margin{}, err
	}
	return margin(f, axial), nil
}

// axial returns Bz in T as a function of place, of an assembly that a film does not reach into.
func (a Assembly) axial(f Film, t quantity.Temperature) (func(rho, z float64) float64, error) {
	remanences := make([]float64, len(a))
	for i := range a {
		if err := a[i].checkFilm(f); err != nil {
			return nil, a.named(i, err)
		}
		br, err := a[i].RemanenceAt(t)
		if err != nil {
			return nil, a.named(i, err)
		}
		remanences[i] = br
	}
	return func(rho, z float64) (sum float64) {
		for i := range a {
			_, b := a[i].unit(rho, z-float64(a[i].Position))
			sum += remanences[i] * b
		}
		return sum
	}, nil
}

// TooHot says in sentences which rings are used above the temperature up to which their material keeps what it has.
func (a Assembly) TooHot(t quantity.Temperature) []string {
	var all []string
	for i := range a {
		r := &a[i]
		if r.Greatest == 0 || t <= r.Greatest {
			continue
		}
		which := "the magnet"
		if len(a) > 1 {
			which = fmt.Sprintf("ring %d of the magnet", i+1)
		}
		all = append(all, fmt.Sprintf("%s is used at %.4g °C, above the maximum operating temperature of its "+
			"material, %.4g °C: it may lose part of its remanence for good, and the loss is not included", which,
			t.Celsius(), r.Greatest.Celsius()))
	}
	return all
}
