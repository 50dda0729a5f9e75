// Package material holds what is known of crystals and garnets: dispersion, its change with temperature,
// expansion, and where each number comes from.
//
// Built-in materials are embedded data files, one each, so that a record can carry the constants it was
// computed from. A number with no published source is not made up: asking for an index away from the
// temperature of the fit is then an error that says what to supply.
package material

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Crystal is a uniaxial crystal. It is immutable.
type Crystal struct {
	name         string
	o, e         dispersion
	dispersionBy string
	reference    quantity.Temperature // of the dispersion fits
	roomNote     string               // how the reference temperature is known, when it is not stated
	thermo       *thermoOptic
	expansion    *Expansion
	data         []byte // the embedded file, nil for a crystal of the user's
}

type thermoOptic struct {
	O      float64 `json:"o_per_kelvin"`
	E      float64 `json:"e_per_kelvin"`
	AtUM   float64 `json:"at_um"`
	Source string  `json:"source"`
}

// Expansion is the thermal expansion of a uniaxial crystal, in 1/K, across and along its optic axis.
type Expansion struct {
	A      float64 `json:"a_per_kelvin"`
	C      float64 `json:"c_per_kelvin"`
	Source string  `json:"source"`
}

// Indices are the indices of a crystal at one wavelength and temperature.
type Indices struct {
	O, E           float64 // phase
	GroupO, GroupE float64 // n - L dn/dL
}

// roomSpan is how far from its reference temperature, in kelvin, a crystal without a thermo-optic
// coefficient may be used: a laboratory's swing (a choice).
const roomSpan = 5

// Name returns the name the crystal was asked for by.
func (c *Crystal) Name() string { return c.name }

// Source returns the citation of the dispersion fit.
func (c *Crystal) Source() string { return c.dispersionBy }

// Data returns the embedded file the constants come from, or nil for a crystal of the user's.
func (c *Crystal) Data() []byte { return c.data }

// Range returns the vacuum wavelengths between which both fits hold.
func (c *Crystal) Range() (lo, hi quantity.Length) {
	return quantity.Length(max(c.o.Range[0], c.e.Range[0])) * quantity.Micrometre,
		quantity.Length(min(c.o.Range[1], c.e.Range[1])) * quantity.Micrometre
}

// At returns the indices at a vacuum wavelength and a temperature. Outside the range of the fit it
// returns a *RangeError; away from the fit's temperature, where the thermo-optic coefficient is not
// known, an error that says so.
func (c *Crystal) At(l quantity.Length, t quantity.Temperature) (Indices, error) {
	// A millionth of the range is forgiven, so that its ends are inside however they are written.
	lo, hi := c.Range()
	if slack := (hi - lo) * 1e-6; !(l >= lo-slack && l <= hi+slack) {
		return Indices{}, &RangeError{c.name, l, lo, hi}
	}
	um := float64(l) / float64(quantity.Micrometre)
	o, so := c.o.at(um)
	e, se := c.e.at(um)
	var do, de float64
	switch dt := float64(t - c.reference); {
	case c.thermo != nil:
		do, de = c.thermo.O*dt, c.thermo.E*dt
	case math.Abs(dt) > roomSpan:
		return Indices{}, fmt.Errorf("%s at %.4g degC: no published thermo-optic coefficient is known, so its "+
			"indices hold only within %d K of %.4g degC: give dno_dt= and dne_dt= to crystal()",
			c.name, t.Celsius(), roomSpan, c.reference.Celsius())
	}
	return Indices{
		O: o + do, E: e + de,
		GroupO: o + do - um*so, GroupE: e + de - um*se,
	}, nil
}

// Expansion returns the thermal expansion; known is false where no coefficient is known, and it is then
// zero.
func (c *Crystal) Expansion() (x Expansion, known bool) {
	if c.expansion == nil {
		return Expansion{}, false
	}
	return *c.expansion, true
}

// WalkOff returns the angle between the extraordinary ray and its wave normal, when the wave normal
// stands at theta to the optic axis: tan(rho) = |ne^2 - no^2| tan(theta) / (ne^2 + no^2 tan^2(theta)).
func (x Indices) WalkOff(theta quantity.Angle) quantity.Angle {
	s, c := math.Sincos(float64(theta))
	o2, e2 := x.O*x.O, x.E*x.E
	return quantity.Angle(math.Atan2(math.Abs((e2-o2)*s*c), e2*c*c+o2*s*s))
}

// CrystalSpec describes a crystal from measured or vendor values. The indices are those at one
// wavelength; without slopes they are taken as constant over the range.
type CrystalSpec struct {
	Name           string
	O, E           float64
	SlopeO, SlopeE float64              // dn/dL, in 1/m
	At             quantity.Length      // where the indices hold
	Lo, Hi         quantity.Length      // where the crystal may be used
	Temperature    quantity.Temperature // at which the indices hold
	ThermoO        float64              // dn/dT in 1/K
	ThermoE        float64
	ThermoKnown    bool
	Expansion      *Expansion
	Source         string
}

// NewCrystal returns a crystal from measured values. Its index runs linearly through the stated point,
// as n(L) = n + slope (L - At), which is what one measured value and a slope can support.
func NewCrystal(s CrystalSpec) (*Crystal, error) {
	switch {
	case strings.TrimSpace(s.Name) == "":
		return nil, fmt.Errorf("a crystal needs a name")
	case !(s.O >= 1 && s.O < 10 && s.E >= 1 && s.E < 10):
		return nil, fmt.Errorf("crystal %q: no = %g and ne = %g must be indices between 1 and 10", s.Name, s.O, s.E)
	case s.O == s.E:
		return nil, fmt.Errorf("crystal %q: no and ne are both %g, so it is not birefringent", s.Name, s.O)
	case !(s.Lo > 0 && s.Hi > s.Lo):
		return nil, fmt.Errorf("crystal %q: wavelength range %g to %g m is not a range", s.Name, s.Lo, s.Hi)
	}
	line := func(n, slope float64) dispersion {
		perUM := slope * float64(quantity.Micrometre)
		at := float64(s.At) / float64(quantity.Micrometre)
		return dispersion{Form: "line", Coefficients: []float64{n - perUM*at, perUM}}
	}
	c := &Crystal{
		name: s.Name, o: line(s.O, s.SlopeO), e: line(s.E, s.SlopeE),
		dispersionBy: s.Source, reference: s.Temperature, expansion: s.Expansion,
	}
	r := [2]float64{float64(s.Lo) / float64(quantity.Micrometre), float64(s.Hi) / float64(quantity.Micrometre)}
	c.o.Range, c.e.Range = r, r
	if s.ThermoKnown {
		c.thermo = &thermoOptic{O: s.ThermoO, E: s.ThermoE, Source: s.Source}
	}
	return c, nil
}

// Describe returns name and value rows for a card: ranges, sources, and what is not known.
func (c *Crystal) Describe() [][2]string {
	lo, hi := c.Range()
	rows := [][2]string{
		{"dispersion", c.dispersionBy},
		{"wavelength range", fmt.Sprintf("%.4g to %.4g nm", float64(lo)/1e-9, float64(hi)/1e-9)},
		{"fit holds at", fmt.Sprintf("%.4g °C%s", c.reference.Celsius(), c.roomNote)},
	}
	if t := c.thermo; t != nil {
		where := ""
		if t.AtUM > 0 {
			where = fmt.Sprintf(", measured at %.4g µm and used at every wavelength", t.AtUM)
		}
		rows = append(rows, [2]string{"dn/dT", fmt.Sprintf("o %.3g, e %.3g in 1e-6/K%s; %s", t.O*1e6, t.E*1e6, where, t.Source)})
	} else {
		rows = append(rows, [2]string{"dn/dT", fmt.Sprintf("not known: usable within %d K of the fit's temperature unless dno_dt= and dne_dt= are given", roomSpan)})
	}
	if x := c.expansion; x != nil {
		rows = append(rows, [2]string{"expansion", fmt.Sprintf("a %.3g, c %.3g in 1e-6/K; %s", x.A*1e6, x.C*1e6, x.Source)})
	} else {
		rows = append(rows, [2]string{"expansion", "not known: taken as zero"})
	}
	return rows
}
