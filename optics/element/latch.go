package element

import (
	"fmt"
	"math"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// latched reports whether the film keeps its magnetization by itself: it latches, and has no magnet of its own.
func (r *Rotator) latched() bool { return r.Garnet.Latches() && len(r.Magnets) == 0 }

// latch returns the share of the saturated film's rotation that a latched film has: its remanence; and with the other
// sign where the magnets of other parts are sure to reverse it, at its centre. What comes from outside the device may
// have either sign: Cautions speaks of it.
func (r *Rotator) latch(t quantity.Temperature) (float64, error) {
	share := r.Garnet.Latch.Remanence
	if len(r.Neighbours) == 0 {
		return share, nil
	}
	b, err := r.Neighbours.OnAxis(0, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: neighbouring magnets: %w", r.Name, err)
	}
	hold, err := r.Garnet.Coercivity(t + r.Heat.Rise)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if -r.magnetized()*b > hold {
		share = -share
	}
	return share, nil
}

// magnetized is the sign along z of the magnetization that gives the film its angle: +1 or -1.
func (r *Rotator) magnetized() float64 {
	return math.Copysign(1, r.Garnet.Rotation) * math.Copysign(1, float64(r.Angle))
}

// against returns the greatest flux density that opposes the magnetization of a latched film, in T: of the magnets of
// other parts over the footprint and through the thickness, and of fields from outside the device at their worst.
func (r *Rotator) against(t quantity.Temperature) (float64, error) {
	d, err := r.thickness()
	if err != nil {
		return 0, err
	}
	low, high, err := r.Neighbours.Span(magnet.Film{Radius: r.footprint(), From: -d / 2, To: d / 2, Saturation: 1}, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: neighbouring magnets: %w", r.Name, err)
	}
	if r.magnetized() > 0 {
		high = -low
	}
	return max(high, 0) + math.Abs(r.Stray), nil
}

func (r *Rotator) latchMargin(t quantity.Temperature) (magnet.Margin, error) {
	hold, err := r.Garnet.Coercivity(t + r.Heat.Rise)
	if err != nil {
		return magnet.Margin{}, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	b, err := r.against(t)
	if err != nil {
		return magnet.Margin{}, err
	}
	if b == 0 {
		return magnet.Margin{}, fmt.Errorf("rotator %s: no field acts on the latched film: state stray=, or look at it "+
			"in a stack with magnets", r.Name)
	}
	return magnet.Margin{Least: hold, Ratio: hold / b}, nil
}

// unlatched says where a field can reverse a latched film, and where it is not known whether it stays latched.
func (r *Rotator) unlatched(t quantity.Temperature) []string {
	if !r.latched() {
		return nil
	}
	hold, err := r.Garnet.Coercivity(t + r.Heat.Rise)
	if err != nil {
		return []string{err.Error() + ": whether the film stays latched there is not known"}
	}
	switch b, err := r.against(t); {
	case err != nil:
		return []string{err.Error()}
	case b >= hold:
		return []string{fmt.Sprintf("%s may be reversed at %.4g °C: a flux density of %.4g mT acts against its "+
			"magnetization, and its coercivity is %.4g mT", r.called(), t.Celsius(), b*1e3, hold*1e3)}
	}
	return nil
}
