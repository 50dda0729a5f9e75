package material

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Paramagnet is a transparent paramagnet, a Glass whose polarization turns in a magnetic field by the
// integral of Verdet times Bz dz. It is immutable, and may be used by several goroutines.
type Paramagnet struct {
	Glass
	law        VerdetLaw
	lawBy      string
	absorption float64
	extinction float64
	lossBy     string
	warming    Warming
}

// VerdetLaw is V(L, T) = Constant (At^2 - Resonance^2)/(L^2 - Resonance^2) Temperature/T: one transition of the
// rare-earth ion, whose moments follow Curie's law (J. H. Van Vleck and M. H. Hebb, Physical Review 46, 17, 1934,
// from memory). It leaves out the diamagnetic rotation, and fails at a few kelvin, where the moments saturate.
type VerdetLaw struct {
	Constant    float64              // rad/(T m) at At and Temperature; negative for a terbium paramagnet
	Resonance   quantity.Length      // vacuum wavelength of the transition, m; 0 for a law of 1/L^2
	At          quantity.Length      // vacuum wavelength of Constant, m, above Resonance
	Temperature quantity.Temperature // of Constant, K
}

func (v *VerdetLaw) at(l quantity.Length, t quantity.Temperature) float64 {
	pole := float64(v.Resonance) * float64(v.Resonance)
	return v.Constant * (float64(v.At)*float64(v.At) - pole) / (float64(l)*float64(l) - pole) * float64(v.Temperature/t)
}

// Check reports a law that no paramagnet has: a constant of zero or beyond 1e5 rad/(T m), stated at or below the
// resonance, or without a temperature.
func (v *VerdetLaw) Check() error {
	switch {
	case !(math.Abs(v.Constant) > 0 && math.Abs(v.Constant) < 1e5):
		return fmt.Errorf("verdet constant %g rad/(T m) must not be zero and lie within ±1e5", v.Constant)
	case !(v.Resonance >= 0 && v.At > v.Resonance):
		return fmt.Errorf("verdet constant at %.6g nm must be stated above its resonance at %.6g nm",
			float64(v.At)/1e-9,
			float64(v.Resonance)/1e-9)
	case !(v.Temperature > 0):
		return fmt.Errorf("verdet constant needs the temperature it holds at, above 0 kelvin, not %g kelvin",
			float64(v.Temperature))
	}
	return nil
}

// Verdet returns the Verdet constant in rad/(T m) at a vacuum wavelength in metres and a temperature in kelvin, by
// its VerdetLaw: positive where a field along +z turns +x towards +y. Outside the range of the dispersion fit it
// returns a *RangeError, unless the paramagnet is Extrapolated; at and below its resonance it is always an error.
func (p *Paramagnet) Verdet(l quantity.Length, t quantity.Temperature) (float64, error) {
	if _, _, err := p.indices(l, &p.n); err != nil {
		return 0, err
	}
	if !(l > p.law.Resonance && t > 0) {
		return 0, fmt.Errorf("%s at %.6g nm, %.4g degC: its Verdet law holds above its resonance at %.6g nm and "+
			"above 0 kelvin",
			p.name, float64(l)/1e-9, t.Celsius(), float64(p.law.Resonance)/1e-9)
	}
	return p.law.at(l, t), nil
}

// Law returns the Verdet law.
func (p *Paramagnet) Law() VerdetLaw { return p.law }

// Absorption returns the power absorption coefficient in 1/m.
func (p *Paramagnet) Absorption() float64 { return p.absorption }

// Extinction returns the power ratio Pmax/Pmin of light that was linear before the rod; +Inf for a perfect one.
func (p *Paramagnet) Extinction() float64 { return p.extinction }

// Crossed returns the fraction of the power, from 0 to 1/2, that leaves turned a further 90 deg, incoherently with
// the rest: 1/(1 + Extinction).
func (p *Paramagnet) Crossed() float64 { return 1 / (1 + p.extinction) }

// Warming returns what decides how warm absorbed light makes it. Its absorption is a band only where none is stated;
// its dn/dT is that of the index.
func (p *Paramagnet) Warming() Warming {
	w := p.warming
	if !w.Absorption.Known() {
		w.Absorption = Exactly(p.absorption)
	}
	if !w.Index.Known() && p.thermo != nil {
		w.Index = Exactly(p.thermo.N)
	}
	return w
}

// WithWarming returns the paramagnet with other thermal constants.
func (p *Paramagnet) WithWarming(w Warming) (*Paramagnet, error) {
	x := *p
	x.warming = w
	return &x, x.check()
}

// TooHot says in a sentence where it is used above its maximum operating temperature; "" below.
func (p *Paramagnet) TooHot(t quantity.Temperature) string { return p.warming.tooHot(p.name, t) }

// Extrapolated returns the paramagnet with leave to be used outside the range of its dispersion fit.
func (p *Paramagnet) Extrapolated() *Paramagnet {
	x := *p
	x.extrapolates = true
	return &x
}

// WithLaw returns the paramagnet with another Verdet law, from a source of the caller's; the law is checked.
func (p *Paramagnet) WithLaw(v VerdetLaw, source string) (*Paramagnet, error) {
	x := *p
	x.law, x.lawBy = v, source
	return &x, x.check()
}

// WithLosses returns the paramagnet with another power absorption coefficient, in 1/m and not negative, and another
// extinction ratio, a power ratio above 1, from a source of the caller's.
func (p *Paramagnet) WithLosses(absorption, extinction float64, source string) (*Paramagnet, error) {
	x := *p
	if absorption != p.absorption {
		x.warming.Absorption = Band{} // of samples in general, not of this one
	}
	x.absorption, x.extinction, x.lossBy = absorption, extinction, source
	return &x, x.check()
}

// ParamagnetSpec describes a paramagnet from measured values.
type ParamagnetSpec struct {
	GlassSpec            // its index
	Verdet     VerdetLaw // its Faraday rotation
	Absorption float64   // power absorption coefficient, 1/m
	Extinction float64   // power ratio Pmax/Pmin of light that was linear before, above 1; +Inf for a perfect one
}

// NewParamagnet returns a paramagnet from measured values. Its range must lie above the resonance of its law.
func NewParamagnet(s ParamagnetSpec) (*Paramagnet, error) {
	g, err := NewGlass(s.GlassSpec)
	if err != nil {
		return nil, err
	}
	p := &Paramagnet{Glass: *g, law: s.Verdet, lawBy: s.Source, absorption: s.Absorption, extinction: s.Extinction,
		lossBy: s.Source}
	return p, p.check()
}

func (p *Paramagnet) check() error {
	if err := p.law.Check(); err != nil {
		return fmt.Errorf("paramagnet %q: %w", p.name, err)
	}
	lo, _ := p.Range()
	switch {
	case !(lo > p.law.Resonance):
		return fmt.Errorf("paramagnet %q: its range begins at %.6g nm, not above its resonance at %.6g nm", p.name,
			float64(lo)/1e-9, float64(p.law.Resonance)/1e-9)
	case !(p.absorption >= 0):
		return fmt.Errorf("paramagnet %q: absorption %g 1/m must not be negative", p.name, p.absorption)
	case !(p.extinction > 1):
		return fmt.Errorf("paramagnet %q: extinction ratio %.4g dB must be positive", p.name,
			quantity.Decibels(p.extinction))
	}
	if err := p.warming.Check(); err != nil {
		return fmt.Errorf("paramagnet %q: %w", p.name, err)
	}
	return nil
}

// Describe returns name and value rows for a summary, in reading order.
func (p *Paramagnet) Describe() [][2]string {
	v := &p.law
	rows := [][2]string{
		{"Verdet constant", fmt.Sprintf("%.4g rad/(T m) at %.6g nm, %.4g °C; %s", v.Constant, float64(v.At)/1e-9,
			v.Temperature.Celsius(), p.lawBy)},
		{"Verdet law", fmt.Sprintf("as 1/(L^2 - L0^2) with L0 = %.4g nm, and as 1/T", float64(v.Resonance)/1e-9)},
		{"absorption", fmt.Sprintf("%.3g /cm; %s", p.absorption/100, p.lossBy)},
		{"extinction ratio", p.extinctionText()},
	}
	heat := p.warming
	heat.Index = Band{} // which the index states
	rows = append(rows, heat.describe()...)
	return append(rows, p.Glass.Describe()...)
}

func (p *Paramagnet) extinctionText() string {
	if math.IsInf(p.extinction, 1) {
		return "not stated: taken as perfect"
	}
	return fmt.Sprintf("%.4g dB; %s", quantity.Decibels(p.extinction), p.lossBy)
}

// paramagnetFile is the layout of an embedded paramagnet.
type paramagnetFile struct {
	glassFile
	Verdet       float64 `json:"verdet_rad_per_tesla_metre"`
	VerdetNM     float64 `json:"verdet_at_nm"`
	VerdetT      float64 `json:"verdet_at_celsius"`
	Resonance    float64 `json:"resonance_nm"`
	VerdetSource string  `json:"verdet_source"`
	PerCM        float64 `json:"absorption_per_cm"`
	ExtinctionDB float64 `json:"extinction_dB"`
	LossSource   string  `json:"loss_source"`

	Warming *warmingFile `json:"warming"`
}

func readParamagnet(data []byte) (*Paramagnet, error) {
	var f paramagnetFile
	if err := strict(data, &f); err != nil {
		return nil, err
	}
	g, err := f.glass(data)
	if err != nil {
		return nil, err
	}
	p := &Paramagnet{
		Glass: *g,
		law: VerdetLaw{
			Constant: f.Verdet, Resonance: quantity.Length(f.Resonance) * quantity.Nanometre,
			At: quantity.Length(f.VerdetNM) * quantity.Nanometre, Temperature: quantity.Celsius(f.VerdetT),
		},
		lawBy: f.VerdetSource, absorption: f.PerCM * 100, extinction: quantity.Ratio(f.ExtinctionDB),
		lossBy: f.LossSource, warming: f.Warming.warming(),
	}
	return p, p.check()
}

// NamedParamagnet returns the built-in paramagnet of that name, ignoring case; an unknown name is an error that lists
// the known.
func NamedParamagnet(name string) (*Paramagnet, error) {
	return lookup("paramagnet", name, builtin().paramagnets)
}

// ParamagnetNames lists the built-in paramagnets in alphabetical order.
func ParamagnetNames() []string { return names(builtin().paramagnets) }
