package magnet

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Film is the volume of a garnet film that light passes through: from From to To along z, out to Radius from
// the magnet's axis. A beam that wanders takes its offset into the radius.
type Film struct {
	Radius     quantity.Length // from the magnet's axis, m, 0 or more
	From, To   quantity.Length // along z in the device's frame, m, rising
	Saturation float64         // flux density that saturates the film, T, above 0
}

// Margin is how far a magnet saturates a film.
type Margin struct {
	Least  float64         // least |Bz| in the film, T; zero where Bz changes sign within it
	Rho, Z quantity.Length // where it is least, m; on the film's surface
	Ratio  float64         // Least over the saturating flux density: above 1 the film is saturated throughout
	Signed float64         // Bz there, T
}

// Margin returns the least |Bz| over the film at a temperature in kelvin, over the flux density that saturates it. It
// is an error where the film reaches into the magnet, is no volume, or heat has left no remanence.
//
// Bz is harmonic outside the magnet's currents, so it is least and greatest on the surface of the film, and only that
// is searched, to 1e-9 of the field. The field of the film itself is left out, as it is from the saturating field
// that data sheets state.
func (r *Ring) Margin(f Film, t quantity.Temperature) (Margin, error) {
	if err := r.checkFilm(f); err != nil {
		return Margin{}, err
	}
	br, err := r.RemanenceAt(t)
	if err != nil {
		return Margin{}, err
	}
	return margin(f, func(rho, z float64) float64 {
		_, b := r.unit(rho, z-float64(r.Position))
		return br * b
	}), nil
}

// margin searches the film for the least |Bz|, of a field that is harmonic in it.
func margin(f Film, axial func(rho, z float64) float64) Margin {
	low, high := extremes(f, axial)
	weakest := low
	if math.Abs(high.b) < math.Abs(low.b) {
		weakest = high
	}
	m := Margin{Rho: quantity.Length(weakest.rho), Z: quantity.Length(weakest.z)}
	if low.b < 0 && high.b > 0 {
		return m // a surface of zero field runs through the film
	}
	m.Signed = weakest.b
	m.Least = math.Abs(m.Signed)
	m.Ratio = m.Least / f.Saturation
	return m
}

// Span returns the least and the greatest Bz, in T, that an assembly has in a film at a temperature in kelvin; both are
// on its surface. Its errors are those of Margin.
func (a Assembly) Span(f Film, t quantity.Temperature) (low, high float64, err error) {
	axial, err := a.axial(f, t)
	if err != nil || len(a) == 0 {
		return 0, 0, err
	}
	l, h := extremes(f, axial)
	return l.b, h.b, nil
}

func (r *Ring) checkFilm(f Film) error {
	const mm = float64(quantity.Millimetre)
	half := r.Length / 2
	switch {
	case !(f.Radius >= 0 && f.To >= f.From):
		return fmt.Errorf("film of radius %g mm from z = %g to %g mm is not a volume", float64(f.Radius)/mm,
			float64(f.From)/mm, float64(f.To)/mm)
	case !(f.Saturation > 0):
		return fmt.Errorf("film: its saturating flux density of %g T must be positive", f.Saturation)
	case f.Radius >= r.Inner && f.To >= r.Position-half && f.From <= r.Position+half:
		return fmt.Errorf("film of radius %g mm reaches into the magnet, whose bore has a radius of %g mm",
			float64(f.Radius)/mm, float64(r.Inner)/mm)
	}
	return nil
}

// spot is a point and Bz there, in T.
type spot struct{ rho, z, b float64 }

// sampled is the number of steps each side of the film is searched in before its extremes are refined: a
// ring's Bz has few, and wide ones (a choice).
const sampled = 32

func extremes(f Film, axial func(rho, z float64) float64) (low, high spot) {
	at := func(rho, z float64) spot { return spot{rho, z, axial(rho, z)} }
	radius, from, to := float64(f.Radius), float64(f.From), float64(f.To)
	low.b, high.b = math.Inf(1), math.Inf(-1)
	// The two faces from the axis outwards, and the mantle between them.
	for _, side := range [3]func(u float64) spot{
		func(u float64) spot { return at(u*radius, from) },
		func(u float64) spot { return at(u*radius, to) },
		func(u float64) spot { return at(radius, from+u*(to-from)) },
	} {
		if s := least(side, 1); s.b < low.b {
			low = s
		}
		if s := least(side, -1); s.b > high.b {
			high = s
		}
	}
	return low, high
}

// least returns the point of a side, u from 0 to 1, where sign times Bz is least: the best of the samples,
// refined by golden sections between its neighbours.
func least(side func(u float64) spot, sign float64) spot {
	best, where := side(0), 0.0
	for i := 1; i <= sampled; i++ {
		u := float64(i) / sampled
		if s := side(u); sign*s.b < sign*best.b {
			best, where = s, u
		}
	}
	lo, hi := max(where-1.0/sampled, 0), min(where+1.0/sampled, 1)
	for hi-lo > 1e-6 {
		const section = 0.6180339887498949
		u, v := hi-section*(hi-lo), lo+section*(hi-lo)
		a, b := side(u), side(v)
		nearer := b
		if sign*a.b < sign*b.b {
			hi, nearer = v, a
		} else {
			lo = u
		}
		if sign*nearer.b < sign*best.b {
			best = nearer
		}
	}
	return best
}
