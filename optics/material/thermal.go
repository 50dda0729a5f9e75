package material

import (
	"errors"
	"fmt"
)

// thermoOptic is how the indices of a crystal change with temperature, from one measurement used at every
// wavelength.
type thermoOptic struct {
	O      float64 `json:"o_per_kelvin"`
	E      float64 `json:"e_per_kelvin"`
	AtUM   float64 `json:"at_um"`
	Source string  `json:"source"`
	// Retardance is the relative drift of the retardance of a plate with its axis in the face, its expansion
	// included: what a retarder's maker measures. Where it is known, it and not E says how ne changes.
	Retardance *float64 `json:"retardance_relative_per_kelvin"`

	relative float64 // (1/(ne-no)) d(ne-no)/dT in 1/K: Retardance less the expansion across the axis
}

// settle works out relative.
func (h *thermoOptic) settle(x *Expansion) error {
	switch {
	case h == nil || h.Retardance == nil:
		return nil
	case h.E != 0:
		return errors.New("e_per_kelvin and retardance_relative_per_kelvin say the same: give one")
	case x == nil:
		return errors.New("retardance_relative_per_kelvin includes an expansion that is not given")
	}
	h.relative = *h.Retardance - x.A
	return nil
}

// shift returns the change of both indices over dt kelvin, n being those at the fit's temperature, and in the
// same way of both slopes.
func (h *thermoOptic) shift(n, slope [2]float64, dt float64) (dn, dslope [2]float64) {
	if h.Retardance == nil {
		return [2]float64{h.O * dt, h.E * dt}, dslope
	}
	k := h.relative * dt
	return [2]float64{h.O * dt, h.O*dt + k*(n[1]-n[0])}, [2]float64{0, k * (slope[1] - slope[0])}
}

// text describes the coefficients for a card, n being the indices at AtUM.
func (h *thermoOptic) text(n [2]float64) string {
	dn, _ := h.shift(n, [2]float64{}, 1)
	at := ""
	switch {
	case h.Retardance != nil:
		at = fmt.Sprintf(" at %.4g µm; ne - no changes by %.3g of itself in 1e-6/K at every wavelength, so that the "+
			"retardance of a plate with its axis in the face drifts by "+
			"%.4g", h.AtUM, h.relative*1e6, *h.Retardance*1e6)
	case h.AtUM > 0:
		at = fmt.Sprintf(", measured at %.4g µm and used at every wavelength", h.AtUM)
	}
	return fmt.Sprintf("o %.3g, e %.3g in 1e-6/K%s; %s", dn[0]*1e6, dn[1]*1e6, at, h.Source)
}

// glassThermo is the same for a glass.
type glassThermo struct {
	N      float64 `json:"n_per_kelvin"`
	AtUM   float64 `json:"at_um"`
	Source string  `json:"source"`
}

// glassExpansion is the thermal expansion of a glass or cubic crystal, in 1/K.
type glassExpansion struct {
	Alpha  float64 `json:"per_kelvin"`
	Source string  `json:"source"`
}
