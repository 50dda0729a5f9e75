package material

import (
	"fmt"

	"wedgework/optics/quantity"
)

// Latch is what keeps a film magnetized without a magnet: a square hysteresis loop.
type Latch struct {
	// Coercivity is the external flux density, mu0 H, that reverses the film, T, against temperature in K: half the
	// width of the whole loop at each. One value alone is taken as that of every temperature.
	Coercivity *Curve
	Constant   float64 // instead of a curve, T
	Remanence  float64 // rotation without a field over that of the saturated film, above 0 up to 1
}

func (h *Latch) check() error {
	switch {
	case h == nil:
		return nil
	case h.Coercivity != nil && !h.Coercivity.each(func(b float64) bool { return b > 0 && b < 10 }),
		h.Coercivity == nil && !(h.Constant > 0 && h.Constant < 10):
		return fmt.Errorf("coercivity must lie between 0 and 10 T")
	case !(h.Remanence > 0 && h.Remanence <= 1):
		return fmt.Errorf("remanence %g must lie above 0 and up to 1, the rotation of the saturated film", h.Remanence)
	}
	return nil
}

// Latches reports whether the film stays magnetized without a magnet.
func (g *Garnet) Latches() bool { return g.Latch != nil }

// Coercivity returns the external flux density, in T, that reverses a latching film at a temperature in kelvin. It is
// an error for a film that does not latch, and outside the temperatures that it is stated for.
func (g *Garnet) Coercivity(t quantity.Temperature) (float64, error) {
	h := g.Latch
	switch {
	case h == nil:
		return 0, fmt.Errorf("garnet %q: no coercivity is stated: it does not latch", g.Name)
	case h.Coercivity == nil:
		return h.Constant, nil
	case !h.Coercivity.Holds(float64(t)):
		lo, hi := h.Coercivity.Range()
		return 0, fmt.Errorf("%s at %.4g degC: its coercivity is stated from %.4g to %.4g degC", g.Name, t.Celsius(),
			quantity.Temperature(lo).Celsius(), quantity.Temperature(hi).Celsius())
	}
	return h.Coercivity.At(float64(t)), nil
}

// describe returns a row for a summary.
func (h *Latch) describe() [2]string {
	text := fmt.Sprintf("%.4g mT at every temperature", h.Constant*1e3)
	if c := h.Coercivity; c != nil {
		lo, hi := c.Range()
		text = fmt.Sprintf("%.4g mT at %.4g °C to %.4g mT at %.4g °C, %d points", c.At(lo)*1e3,
			quantity.Temperature(lo).Celsius(), c.At(hi)*1e3, quantity.Temperature(hi).Celsius(), c.Points())
	}
	return [2]string{"latching: coercivity", fmt.Sprintf("%s; rotation without a field %.4g %% of the saturated", text,
		h.Remanence*100)}
}
