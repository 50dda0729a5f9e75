// Package material holds what is known of crystals, glasses, garnets and paramagnets: dispersion, its change
// with temperature, expansion, Faraday rotation, and where each number comes from.
//
// Built-in materials are embedded data files, one each, so that a record can carry the constants it was
// computed from. A number with no published source is not made up: asking for an index away from the
// temperature of the fit is then an error that says what to supply. Where published fits disagree, the others
// are kept beside the one in use and the card says by how much.
//
// Wavelengths are those in vacuum, in metres; temperatures are thermodynamic, in kelvin; indices are plain numbers. A
// material of the caller's own is made from a Spec, by the same forms: NewCrystal, NewGlass, NewGarnet, NewParamagnet.
//
// Optical activity, absorption outside garnets and paramagnets, stress and electric fields are left out.
package material

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Crystal is a uniaxial crystal. It is immutable, and may be used by several goroutines.
type Crystal struct {
	medium
	o, e      dispersion
	thermo    *thermoOptic
	expansion *Expansion
}

// Expansion is the linear thermal expansion of a uniaxial crystal near room temperature.
type Expansion struct {
	A      float64 `json:"a_per_kelvin"` // across the optic axis, 1/K
	C      float64 `json:"c_per_kelvin"` // along the optic axis, 1/K
	Source string  `json:"source"`       // where both are from
}

// Indices are the indices of a crystal at one wavelength and temperature.
type Indices struct {
	O, E           float64 // phase index of the ordinary wave, and principal one of the extraordinary wave
	GroupO, GroupE float64 // group indices n - L dn/dL of the same, from the derivative of the fit itself
}

// roomSpan is how far from its reference temperature, in kelvin, a crystal without a thermo-optic
// coefficient may be used: a laboratory's swing (a choice).
const roomSpan = 5

// Range returns the vacuum wavelengths, in metres, between which both fits hold.
func (c *Crystal) Range() (lo, hi quantity.Length) { return rangeOf(&c.o, &c.e) }

// Extrapolated returns the crystal with leave to be used outside the range of its fits.
func (c *Crystal) Extrapolated() *Crystal {
	x := *c
	x.extrapolates = true
	return &x
}

// Warning says in a sentence by how much a vacuum wavelength in metres is outside the range of the fits. It is ""
// inside, and for a crystal that refuses such wavelengths.
func (c *Crystal) Warning(l quantity.Length) string { return c.warning(l, &c.o, &c.e) }

// Differences compares the other published fits of the crystal with the one in use, at a vacuum wavelength in metres or
// at the nearest one where both hold; it is nil where no other fit is known.
func (c *Crystal) Differences(l quantity.Length) []Difference {
	return c.differences(l, func(ray string) *dispersion {
		if ray == "o" {
			return &c.o
		}
		return &c.e
	})
}

// At returns the indices at a vacuum wavelength in metres and a temperature in kelvin: the fit at its own
// temperature, and dn/dT times the difference, with one coefficient at every wavelength. Outside the range of the fit
// it returns a *RangeError, unless the crystal is Extrapolated; more than 5 K away from the fit's temperature, where
// no thermo-optic coefficient is known, an error that says so.
func (c *Crystal) At(l quantity.Length, t quantity.Temperature) (Indices, error) {
	if err := c.warm(t); err != nil {
		return Indices{}, err
	}
	n, slope, err := c.indices(l, &c.o, &c.e)
	if err != nil {
		return Indices{}, err
	}
	if c.thermo != nil {
		dn, dslope := c.thermo.shift(n, slope, float64(t-c.reference))
		for i := range n {
			n[i] += dn[i]
			slope[i] += dslope[i]
		}
	} else if err := c.heatless(t, "dno_dt= and dne_dt= to crystal()"); err != nil {
		return Indices{}, err
	}
	um := float64(l) / float64(quantity.Micrometre)
	return Indices{
		O: n[0], E: n[1],
		GroupO: n[0] - um*slope[0], GroupE: n[1] - um*slope[1],
	}, nil
}

// Expansion returns the thermal expansion in 1/K; known is false where no coefficient is known, and it is then zero.
func (c *Crystal) Expansion() (x Expansion, known bool) {
	if c.expansion == nil {
		return Expansion{}, false
	}
	return *c.expansion, true
}

// Retarder returns the thickness in metres of a plate, its axis in the face, that delays one ray against the other by a
// phase in radians, whole waves included, at the vacuum wavelength l in metres: phase/(2 pi) l/|ne - no|.
func (x Indices) Retarder(phase quantity.Angle, l quantity.Length) quantity.Length {
	return quantity.Length(float64(phase)/(2*math.Pi)*float64(l)) / quantity.Length(math.Abs(x.E-x.O))
}

// WalkOff returns the angle in radians, 0 or more, between the extraordinary ray and its wave normal, when the wave
// normal stands at theta to the optic axis: tan(rho) = |ne^2 - no^2| tan(theta) / (ne^2 + no^2 tan^2(theta)) (M. Born
// and E. Wolf, Principles of Optics, 15.2). It is greatest where tan(theta) = ne/no.
func (x Indices) WalkOff(theta quantity.Angle) quantity.Angle {
	s, c := math.Sincos(float64(theta))
	o2, e2 := x.O*x.O, x.E*x.E
	return quantity.Angle(math.Atan2(math.Abs((e2-o2)*s*c), e2*c*c+o2*s*s))
}

// CrystalSpec describes a crystal from measured or vendor values: either the indices at one wavelength with their
// slopes, without which they are taken as constant over the range, or the coefficients of a fit of each.
type CrystalSpec struct {
	Name           string               // not empty
	O, E           float64              // phase indices, from 1 up to 10 and not equal; 0 with coefficients
	SlopeO, SlopeE float64              // dn/dL in 1/m, negative in the normal case
	At             quantity.Length      // vacuum wavelength of the indices, m; not needed with coefficients
	Lo, Hi         quantity.Length      // vacuum wavelengths between which the crystal may be used, m, rising
	Temperature    quantity.Temperature // of the indices or the fit, K, above 0
	ThermoO        float64              // dn/dT of the ordinary index, 1/K
	ThermoE        float64              // dn/dT of the extraordinary index, 1/K
	ThermoKnown    bool                 // tells coefficients of zero from none known
	Expansion      *Expansion           // nil: not known, and taken as zero
	Source         string               // where the values come from

	// CoefficientsO and CoefficientsE are A, B, C, D of n^2 = A + B/(L^2 - C) - D L^2, L in micrometres, as crystal
	// data sheets print them; D is optional.
	CoefficientsO, CoefficientsE []float64
}

// NewCrystal returns a crystal from measured values. From indices and slopes it runs linearly through the stated
// points, as n(L) = n + slope (L - At), which is what one measured value and a slope can support. The error says
// which value no crystal has: an index outside 1 to 10 at either end of the range, a resonance of the coefficients
// within it, no birefringence, or a missing wavelength or temperature.
func NewCrystal(s CrystalSpec) (*Crystal, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	const um = float64(quantity.Micrometre)
	r := [2]float64{float64(s.Lo) / um, float64(s.Hi) / um}
	fit := func(n, slope float64, coefficients []float64) dispersion {
		if len(coefficients) == 3 {
			coefficients = []float64{coefficients[0], coefficients[1], coefficients[2], 0}
		}
		if len(coefficients) > 0 {
			return dispersion{Form: "laurent", Coefficients: coefficients, Range: r}
		}
		return dispersion{Form: "line", Coefficients: []float64{n - slope*float64(s.At), slope * um}, Range: r}
	}
	c := &Crystal{
		medium: medium{name: s.Name, dispersionBy: s.Source, reference: s.Temperature},
		o:      fit(s.O, s.SlopeO, s.CoefficientsO), e: fit(s.E, s.SlopeE, s.CoefficientsE), expansion: s.Expansion,
	}
	if s.CoefficientsO == nil && s.SlopeO == 0 && s.SlopeE == 0 {
		c.caution = "no slope over wavelength is given: the group indices are taken as the indices, so that a group " +
			"delay computed from them is wrong by the dispersion, some per cent"
	}
	for i, d := range []*dispersion{&c.o, &c.e} {
		if err := d.check(); err != nil {
			return nil, fmt.Errorf("crystal %q: n%s: %w", s.Name, "oe"[i:i+1], err)
		}
		if d.resonates(r[0], r[1]) {
			return nil, fmt.Errorf("crystal %q: a resonance of the coefficients of n%s lies within %.6g to %.6g nm",
				s.Name,
				"oe"[i:i+1], r[0]*1e3, r[1]*1e3)
		}
		for _, end := range r {
			if n, _ := d.at(end); !(n >= 1 && n < 10) {
				return nil, fmt.Errorf("crystal %q: its values give n%s = %.4g at %.6g nm, which must lie between 1 "+
					"and 10", s.Name,
					"oe"[i:i+1], n, end*1e3)
			}
		}
	}
	if s.ThermoKnown {
		c.thermo = &thermoOptic{O: s.ThermoO, E: s.ThermoE, Source: s.Source}
	}
	return c, nil
}

func (s *CrystalSpec) check() error {
	fitted := s.CoefficientsO != nil || s.CoefficientsE != nil
	switch {
	case strings.TrimSpace(s.Name) == "":
		return fmt.Errorf("a crystal needs a name")
	case fitted && (s.O != 0 || s.E != 0):
		return fmt.Errorf("crystal %q: give indices or coefficients, not both", s.Name)
	case fitted && (len(s.CoefficientsO) < 3 || len(s.CoefficientsO) > 4 || len(s.CoefficientsE) < 3 ||
		len(s.CoefficientsE) > 4):
		return fmt.Errorf("crystal %q: %d and %d coefficients are not A, B, C and D of each ray", s.Name,
			len(s.CoefficientsO), len(s.CoefficientsE))
	case !fitted && !(s.O >= 1 && s.O < 10 && s.E >= 1 && s.E < 10):
		return fmt.Errorf("crystal %q: no = %g and ne = %g must be indices between 1 and 10", s.Name, s.O, s.E)
	case !fitted && s.O == s.E:
		return fmt.Errorf("crystal %q: no and ne are both %g, so it is not birefringent", s.Name, s.O)
	case !(s.Lo > 0 && s.Hi > s.Lo):
		return fmt.Errorf("crystal %q: wavelength range %g to %g m is not a range", s.Name, s.Lo, s.Hi)
	case !fitted && !(s.At > 0):
		return fmt.Errorf("crystal %q: its indices need the wavelength that they hold at, not %g nm", s.Name,
			float64(s.At)/1e-9)
	case !(s.Temperature > 0):
		return fmt.Errorf("crystal %q: its indices need the temperature that they hold at, above 0 kelvin, not %g "+
			"kelvin",
			s.Name, float64(s.Temperature))
	}
	return nil
}

// Describe returns name and value rows for a summary, in reading order: ranges, sources, and what is not known.
func (c *Crystal) Describe() [][2]string {
	rows := c.origin(&c.o, &c.e)
	if t := c.thermo; t != nil {
		var n [2]float64
		if t.AtUM > 0 {
			n[0], _ = c.o.at(t.AtUM)
			n[1], _ = c.e.at(t.AtUM)
		}
		rows = append(rows, [2]string{"dn/dT", t.text(n)})
	} else {
		rows = append(rows, [2]string{"dn/dT",
			fmt.Sprintf("not known: usable within %d K of the fit's temperature unless dno_dt= and dne_dt= are given",
				roomSpan)})
	}
	if x := c.expansion; x != nil {
		rows = append(rows, [2]string{"expansion", fmt.Sprintf("a %.3g, c %.3g in 1e-6/K; %s", x.A*1e6, x.C*1e6,
			x.Source)})
	} else {
		rows = append(rows, [2]string{"expansion", "not known: taken as zero"})
	}
	return append(rows, c.remarks(c.Differences(compared))...)
}

// WithThermoOptic returns the crystal with thermo-optic coefficients, dn/dT in 1/K, of the user's in place of the
// published ones or of none.
func (c *Crystal) WithThermoOptic(o, e float64, source string) *Crystal {
	d := *c
	d.thermo = &thermoOptic{O: o, E: e, Source: source}
	return &d
}
