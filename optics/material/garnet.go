package material

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Garnet is an iron-garnet film: a saturated Faraday rotator. The slopes are those of a 45 deg film, as
// data sheets quote them; they describe the film as built, expansion included, and scale with its
// thickness. They are slopes of |rotation|: a negative one means less rotation.
type Garnet struct {
	Name   string // "Bi:RIG"
	Source string // where the values come from, and which of them were replaced

	Index float64 // phase index, also taken as the group index: no dispersion is known
	// specific rotation at At and Temperature, rad/m; its sign is that of the rotation along a field along +z
	Rotation   float64
	PerKelvin  float64 // rad/K of a 45 deg film
	PerMetre   float64 // rad per metre of wavelength of a 45 deg film
	Extinction float64 // power ratio Pmax/Pmin of light that was linear before it; +Inf for a perfect film
	Absorption float64 // power absorption coefficient, 1/m
	Saturation float64 // flux density that saturates it, T; 0 where it is not known

	At          quantity.Length      // vacuum wavelength of Rotation
	Temperature quantity.Temperature // temperature of Rotation

	// Others is the vacuum wavelength that slopes, index and absorption are stated at, where it is not At: those of a
	// data sheet beside a rotation measured elsewhere. 0 stands for At.
	Others quantity.Length

	// Spectrum is the specific rotation, rad/m, against vacuum wavelength, m, at Temperature, where it is stated at
	// several; Rotation is then that at At, and PerMetre is added to it. nil: a straight line by PerMetre.
	Spectrum *Curve
	Latch    *Latch  // what keeps the film magnetized without a magnet; nil: nothing does
	Warming  Warming // what light that it absorbs does to it
	data     []byte
}

// Reach is how far from the wavelength of its constants a film's slope is used as a straight line, and its index and
// absorption as constants, without a word: the bands of the trade about 1550 nm (a choice).
const Reach = 150 * quantity.Nanometre

// opaqueBelow is the vacuum wavelength below which iron garnets absorb strongly: their window is some 1.1 to 5 um
// (D. L. Wood and J. P. Remeika, Journal of Applied Physics 38, 1038, 1967, from memory).
const opaqueBelow = 1100 * quantity.Nanometre

// StatedAt returns the vacuum wavelength, in metres, that slopes, index and absorption are stated at.
func (g *Garnet) StatedAt() quantity.Length {
	if g.Others > 0 {
		return g.Others
	}
	return g.At
}

// Warning says in a sentence how far a vacuum wavelength in metres is from those that the film's constants are stated
// at; it is "" within Reach of them.
func (g *Garnet) Warning(l quantity.Length) string {
	if g.Spectrum != nil {
		return "" // Covers refuses what is outside it
	}
	at := g.StatedAt()
	off := math.Abs(float64(l - at))
	if off <= float64(Reach) {
		return ""
	}
	said := fmt.Sprintf("%s: %.6g nm is %.4g nm from the %.6g nm at which the film's constants are stated: its slope "+
		"is used as a straight line, its index and absorption as constants",
		g.Name, float64(l)/1e-9, off/1e-9, float64(at)/1e-9)
	if l < opaqueBelow {
		said += fmt.Sprintf(", although iron garnets absorb strongly below about %.4g nm", float64(opaqueBelow)/1e-9)
	}
	return said + " (a film for this wavelength has a data sheet of its own: rotation=, at=, per_kelvin=, per_nm= " +
		"and absorption= of garnet())"
}

// maxRotation, 1e5 deg/cm in rad/m, is beyond any garnet: it finds a slip of units.
const maxRotation = 1e7 * math.Pi / 180

// quoted is the rotation of the film that data sheets quote slopes for.
const quoted = math.Pi / 4

// Turn returns the rotation, in radians, of a saturated film whose rotation is angle at the vacuum wavelength at and
// the temperature ref, when it is used at l and t: angle (1 + (PerMetre (l - at) + PerKelvin (t - ref))/(45 deg)).
// The straight line holds over the bands of the trade; see Warning. A Spectrum S puts S(l)/S(at) in place of the 1, and
// both wavelengths must be within it: see Covers.
func (g *Garnet) Turn(angle quantity.Angle, at, l quantity.Length, ref, t quantity.Temperature) float64 {
	slope := g.PerMetre*float64(l-at) + g.PerKelvin*float64(t-ref)
	shape := 1.0
	if g.Spectrum != nil {
		shape = g.Spectrum.At(float64(l)) / g.Spectrum.At(float64(at))
	}
	return float64(angle) * (shape + slope/quoted)
}

// Covers returns a *RangeError for a vacuum wavelength outside the film's Spectrum, where it has one.
func (g *Garnet) Covers(l quantity.Length) error {
	if g.Spectrum == nil || g.Spectrum.Holds(float64(l)) {
		return nil
	}
	lo, hi := g.Spectrum.Range()
	return &RangeError{g.Name, l, quantity.Length(lo), quantity.Length(hi), "rotation"}
}

// Thickness returns the thickness in metres of the film that rotates by angle, of either sign, at the vacuum
// wavelength at and the temperature ref: |angle| over the specific rotation there. It is an error where that is zero.
func (g *Garnet) Thickness(
	angle quantity.Angle, at quantity.Length, ref quantity.Temperature,
) (quantity.Length, error) {
	if err := g.Covers(at); err != nil {
		return 0, err
	}
	specific := math.Abs(g.Turn(quantity.Angle(g.Rotation), g.At, at, g.Temperature, ref))
	if !(specific > 0) {
		return 0, fmt.Errorf("garnet %q: its specific rotation is %g rad/m, so no thickness gives %.4g deg",
			g.Name, g.Rotation, float64(angle/quantity.Degree))
	}
	return quantity.Length(math.Abs(float64(angle)) / specific), nil
}

// Crossed returns the fraction of the power, from 0 to 1/2, that leaves the film turned a further 90 deg,
// incoherently with the rest: q = 1/(1 + extinction ratio), so that linear light leaves with Pmax/Pmin = (1 - q)/q.
func (g *Garnet) Crossed() float64 { return 1 / (1 + g.Extinction) }

// Check reports values that no film has: an index outside 1 to 10, a specific rotation of zero or beyond 1e5 deg/cm,
// slopes of a radian or more, a missing wavelength or temperature, an extinction ratio of 0 dB or less, a negative
// absorption or field.
func (g *Garnet) Check() error {
	switch {
	case !(g.Index >= 1 && g.Index < 10):
		return fmt.Errorf("garnet %q: index %g must lie between 1 and 10", g.Name, g.Index)
	case !(math.Abs(g.Rotation) > 0 && math.Abs(g.Rotation) < maxRotation):
		return fmt.Errorf("garnet %q: specific rotation %g deg/cm must not be zero and lie within ±1e5 deg/cm",
			g.Name, g.Rotation*float64(quantity.Millimetre)*10/float64(quantity.Degree))
	case !(math.Abs(g.PerKelvin) < 1 && math.Abs(g.PerMetre) < 1e9):
		return fmt.Errorf("garnet %q: slopes of %g rad/kelvin and %g rad/nm of a 45 deg film must be below 1", g.Name,
			g.PerKelvin, g.PerMetre*1e-9)
	case !(g.At > 0 && g.Temperature > 0):
		return fmt.Errorf("garnet %q: its rotation needs the wavelength and temperature it holds at, not %g nm and "+
			"%g kelvin",
			g.Name, float64(g.At)/1e-9, float64(g.Temperature))
	case !(g.Extinction > 1):
		return fmt.Errorf("garnet %q: extinction ratio %.4g dB must be positive", g.Name,
			quantity.Decibels(g.Extinction))
	case !(g.Absorption >= 0):
		return fmt.Errorf("garnet %q: absorption %g 1/m must not be negative", g.Name, g.Absorption)
	case !(g.Saturation >= 0):
		return fmt.Errorf("garnet %q: saturation %g T must not be negative", g.Name, g.Saturation)
	}
	for _, err := range []error{g.Warming.Check(), g.Latch.check(), g.checkSpectrum()} {
		if err != nil {
			return fmt.Errorf("garnet %q: %w", g.Name, err)
		}
	}
	return nil
}

// checkSpectrum reports rotations that change their sign or are beyond any garnet's, wavelengths that are none, and a
// wavelength of Rotation outside.
func (g *Garnet) checkSpectrum() error {
	if g.Spectrum == nil {
		return nil
	}
	lo, _ := g.Spectrum.Range()
	alike := func(r float64) bool { return r*g.Rotation > 0 && math.Abs(r) < maxRotation }
	switch {
	case !(lo > 0):
		return fmt.Errorf("a wavelength of its rotation, %g nm, must be positive", lo*1e9)
	case !g.Spectrum.each(alike):
		return fmt.Errorf("its specific rotations must all have one sign and lie within ±1e5 deg/cm")
	}
	return g.Covers(g.At)
}

// Above reports a temperature at or above the Curie temperature, where the film does not rotate at all.
func (g *Garnet) Above(t quantity.Temperature) error {
	if c := g.Warming.Curie; c > 0 && t >= c {
		return fmt.Errorf("%s at %.4g degC: above its Curie temperature of %.4g degC a film does not rotate",
			g.Name, t.Celsius(), c.Celsius())
	}
	return nil
}

// TooHot says in a sentence where the film is used above its maximum operating temperature; "" below.
func (g *Garnet) TooHot(t quantity.Temperature) string { return g.Warming.tooHot(g.Name, t) }

// garnetFile is the layout of an embedded garnet.
type garnetFile struct {
	Name         string  `json:"name"`
	Kind         string  `json:"kind"`
	Index        float64 `json:"index"`
	Rotation     float64 `json:"rotation_deg_per_cm"`
	AtNM         float64 `json:"at_nm"`
	Celsius      float64 `json:"at_celsius"`
	PerKelvin    float64 `json:"deg_per_kelvin_of_45_deg"`
	PerNM        float64 `json:"deg_per_nm_of_45_deg"`
	ExtinctionDB float64 `json:"extinction_dB"`
	LossDB       float64 `json:"loss_dB_of_45_deg"`
	SaturationMT float64 `json:"saturation_mT"`
	Source       string  `json:"source"`

	Warming *warmingFile `json:"warming"`
}

func readGarnet(data []byte) (Garnet, error) {
	var f garnetFile
	if err := strict(data, &f); err != nil {
		return Garnet{}, err
	}
	const deg = math.Pi / 180
	g, err := NewGarnet(GarnetSpec{
		Name: f.Name, Source: f.Source, Index: f.Index,
		Rotation: f.Rotation * deg * 100, PerKelvin: f.PerKelvin * deg, PerMetre: f.PerNM * deg * 1e9,
		Extinction: quantity.Ratio(f.ExtinctionDB), Loss: f.LossDB, Saturation: f.SaturationMT / 1e3,
		At: quantity.Length(f.AtNM) * quantity.Nanometre, Temperature: quantity.Celsius(f.Celsius),
	})
	g.data, g.Warming = data, f.Warming.warming()
	return g, errors.Join(err, g.Warming.Check())
}

// GarnetSpec describes a garnet film from measured or data sheet values, in the units of Garnet. Loss is that
// of a 45 deg film without its faces; FigureOfMerit is rotation over loss; give one of the two or neither,
// which is a film without absorption.
type GarnetSpec struct {
	Name, Source        string
	Index               float64              // phase index, from 1 up to 10
	Rotation            float64              // specific rotation, rad/m, with its sign along a field along +z
	PerKelvin, PerMetre float64              // rad/K and rad per metre of wavelength, of a 45 deg film
	Extinction          float64              // power ratio above 1; +Inf for a perfect film
	Loss                float64              // of a 45 deg film without its faces, dB
	FigureOfMerit       float64              // rotation over loss, rad/dB
	Saturation          float64              // flux density that saturates the film, T; 0 where it is not known
	At                  quantity.Length      // vacuum wavelength of all of these, m
	Temperature         quantity.Temperature // temperature of all of these, K
}

// NewGarnet returns a garnet film from measured values. The absorption follows from the loss of a 45 deg film:
// alpha = loss ln(10)/(10 d), with d its thickness. The error says which value no film has, or which is missing.
func NewGarnet(s GarnetSpec) (Garnet, error) {
	g := Garnet{
		Name: s.Name, Source: s.Source, Index: s.Index, Rotation: s.Rotation, PerKelvin: s.PerKelvin,
		PerMetre:   s.PerMetre,
		Extinction: s.Extinction, Saturation: s.Saturation, At: s.At, Temperature: s.Temperature,
	}
	loss := s.Loss
	switch {
	case strings.TrimSpace(s.Name) == "":
		return Garnet{}, fmt.Errorf("a garnet needs a name")
	case s.Loss != 0 && s.FigureOfMerit != 0:
		return Garnet{}, fmt.Errorf("garnet %q: give the loss of a 45 deg film or the figure of merit, not both",
			s.Name)
	case !(s.Loss >= 0 && s.FigureOfMerit >= 0):
		return Garnet{}, fmt.Errorf("garnet %q: loss of %g dB and figure of merit of %g rad/dB must not be negative",
			s.Name,
			s.Loss, s.FigureOfMerit)
	case s.FigureOfMerit > 0:
		loss = quoted / s.FigureOfMerit
	}
	if err := g.Check(); err != nil {
		return Garnet{}, err
	}
	film, err := g.Thickness(quoted, g.At, g.Temperature)
	if err != nil {
		return Garnet{}, err
	}
	g.Absorption = -math.Log(quantity.Ratio(-loss)) / float64(film)
	return g, g.Check()
}

// NamedGarnet returns the built-in garnet of that name, ignoring case; an unknown name is an error that lists the
// known.
func NamedGarnet(name string) (Garnet, error) { return lookup("garnet", name, builtin().garnets) }

// GarnetNames lists the built-in garnets in alphabetical order.
func GarnetNames() []string { return names(builtin().garnets) }

// Data returns the embedded JSON file that the constants come from, nil for a garnet made by NewGarnet.
func (g *Garnet) Data() []byte { return g.data }

// Describe returns name and value rows for a summary, in reading order.
func (g *Garnet) Describe() [][2]string {
	const deg = math.Pi / 180
	rows := [][2]string{
		{"index", fmt.Sprintf("%.4g", g.Index)},
		{"specific rotation", fmt.Sprintf("%.4g deg/cm at %.6g nm, %.4g °C", g.Rotation/deg/100, float64(g.At)/1e-9,
			g.Temperature.Celsius())},
		{"slopes of a 45 deg film", fmt.Sprintf("%.3g deg/K, %.3g deg/nm", g.PerKelvin/deg, g.PerMetre/deg/1e9)},
		{"extinction ratio", fmt.Sprintf("%.4g dB", quantity.Decibels(g.Extinction))},
		{"absorption", fmt.Sprintf("%.3g /cm", g.Absorption/100)},
	}
	if g.Saturation > 0 {
		rows = append(rows, [2]string{"saturating flux density", fmt.Sprintf("%.4g mT", g.Saturation*1e3)})
	} else {
		rows = append(rows, [2]string{"saturating flux density", "not stated: taken as saturated"})
	}
	if g.Spectrum != nil {
		lo, hi := g.Spectrum.Range()
		rows = append(rows, [2]string{"rotation against wavelength", fmt.Sprintf("%.4g deg/cm at %.6g nm to %.4g deg/cm "+
			"at %.6g nm, a monotone cubic through %d points; not used outside; index and absorption are taken as constant",
			g.Spectrum.At(lo)/deg/100, lo*1e9, g.Spectrum.At(hi)/deg/100, hi*1e9, g.Spectrum.Points())})
	}
	if g.Latch != nil {
		rows = append(rows, g.Latch.describe())
	}
	rows = append(rows, g.Warming.describe()...)
	return append(rows, [2]string{"source", g.Source})
}

// Film is a garnet where a dispersion fit is asked for: its data sheet serves for one.
type Film struct{ Garnet }

// Name returns the garnet's name.
func (f Film) Name() string { return f.Garnet.Name }

// Range returns the vacuum wavelengths, in metres, between which the garnet is used without a word: its Spectrum, or
// Reach on either side of what its constants are stated at.
func (f Film) Range() (lo, hi quantity.Length) {
	if s := f.Spectrum; s != nil {
		from, to := s.Range()
		return quantity.Length(from), quantity.Length(to)
	}
	return f.StatedAt() - Reach, f.StatedAt() + Reach
}

// Warning is Garnet.Warning.
func (f Film) Warning(l quantity.Length) string { return f.Garnet.Warning(l) }
