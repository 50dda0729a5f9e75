package material

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Glass is an isotropic medium: a glass or a cubic crystal. It is immutable, and may be used by several goroutines.
type Glass struct {
	medium
	n         dispersion
	thermo    *glassThermo
	expansion *glassExpansion
}

// Index is the index of a glass at one wavelength and temperature.
type Index struct {
	N     float64 // phase index
	Group float64 // group index n - L dn/dL
}

// Range returns the vacuum wavelengths, in metres, between which the fit holds.
func (g *Glass) Range() (lo, hi quantity.Length) { return rangeOf(&g.n) }

// Extrapolated returns the glass with leave to be used outside the range of its fit.
func (g *Glass) Extrapolated() *Glass {
	x := *g
	x.extrapolates = true
	return &x
}

// Warning says in a sentence by how much a vacuum wavelength in metres is outside the range of the fit. It is ""
// inside, and for a glass that refuses such wavelengths.
func (g *Glass) Warning(l quantity.Length) string { return g.warning(l, &g.n) }

// Differences compares the other published fits of the glass with the one in use, at a vacuum wavelength in metres or
// at the nearest one where both hold; it is nil where no other fit is known.
func (g *Glass) Differences(l quantity.Length) []Difference {
	return g.differences(l, func(string) *dispersion { return &g.n })
}

// At returns the index at a vacuum wavelength in metres and a temperature in kelvin. Outside the range of the fit it
// returns a *RangeError, unless the glass is Extrapolated; more than 5 K away from the fit's temperature, where no
// thermo-optic coefficient is known, an error that says so.
func (g *Glass) At(l quantity.Length, t quantity.Temperature) (Index, error) {
	if err := g.warm(t); err != nil {
		return Index{}, err
	}
	n, slope, err := g.indices(l, &g.n)
	if err != nil {
		return Index{}, err
	}
	if g.thermo != nil {
		n[0] += g.thermo.N * float64(t-g.reference)
	} else if err := g.heatless(t, "dn_dt="); err != nil {
		return Index{}, err
	}
	return Index{N: n[0], Group: n[0] - float64(l)/float64(quantity.Micrometre)*slope[0]}, nil
}

// Expansion returns the thermal expansion in 1/K; known is false where it is not known, and it is then zero.
func (g *Glass) Expansion() (alpha float64, known bool) {
	if g.expansion == nil {
		return 0, false
	}
	return g.expansion.Alpha, true
}

// GlassSpec describes a glass from measured or catalogue values: either the index N at one wavelength with a
// slope, or Coefficients.
type GlassSpec struct {
	Name           string               // not empty
	N              float64              // phase index, from 1 up to 10; 0 with coefficients
	Slope          float64              // dn/dL in 1/m
	At             quantity.Length      // vacuum wavelength of N, m; not needed with coefficients
	Lo, Hi         quantity.Length      // vacuum wavelengths between which the glass may be used, m, rising
	Temperature    quantity.Temperature // of N or the fit, K, above 0
	Thermo         float64              // dn/dT in 1/K, below 0.01 in size
	ThermoKnown    bool                 // tells a dn/dT of zero from none known
	Expansion      float64              // linear thermal expansion, 1/K, below 0.01 in size
	ExpansionKnown bool                 // tells an expansion of zero from none known
	Source         string               // where the values come from

	// Coefficients B1, C1, B2, C2 ... of n^2 - 1 = sum B L^2/(L^2 - C), L in micrometres, C in square
	// micrometres, as glass catalogues print them.
	Coefficients []float64
}

// NewGlass returns a glass from measured values. From N and Slope its index runs linearly through the stated
// point. The error says which value no glass has, or which is missing.
func NewGlass(s GlassSpec) (*Glass, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	const um = float64(quantity.Micrometre)
	g := &Glass{medium: medium{name: s.Name, dispersionBy: s.Source, reference: s.Temperature}}
	if s.Coefficients != nil {
		g.n = dispersion{Form: "sellmeier_c", Coefficients: append([]float64{0}, s.Coefficients...)}
	} else {
		g.n = dispersion{Form: "line", Coefficients: []float64{s.N - s.Slope*float64(s.At), s.Slope * um}}
	}
	g.n.Range = [2]float64{float64(s.Lo) / um, float64(s.Hi) / um}
	if err := g.n.check(); err != nil {
		return nil, fmt.Errorf("glass %q: %w", s.Name, err)
	}
	for _, end := range g.n.Range {
		if n, _ := g.n.at(end); !(n >= 1 && n < 10) {
			return nil, fmt.Errorf("glass %q: its values give an index of %.4g at %.6g nm, which must lie between 1 "+
				"and 10",
				s.Name, n, end*1e3)
		}
	}
	if g.n.resonates(g.n.Range[0], g.n.Range[1]) {
		return nil, fmt.Errorf("glass %q: a resonance of its coefficients lies within %.6g to %.6g nm", s.Name,
			float64(s.Lo)/1e-9, float64(s.Hi)/1e-9)
	}
	if s.ThermoKnown {
		g.thermo = &glassThermo{N: s.Thermo, Source: s.Source}
	}
	if s.ExpansionKnown {
		g.expansion = &glassExpansion{Alpha: s.Expansion, Source: s.Source}
	}
	return g, nil
}

func (s *GlassSpec) check() error {
	switch {
	case strings.TrimSpace(s.Name) == "":
		return fmt.Errorf("a glass needs a name")
	case s.Coefficients != nil && s.N != 0:
		return fmt.Errorf("glass %q: give an index or coefficients, not both", s.Name)
	case s.Coefficients != nil && (len(s.Coefficients) < 2 || len(s.Coefficients)%2 != 0):
		return fmt.Errorf("glass %q: %d coefficients are not pairs of B and C", s.Name, len(s.Coefficients))
	case s.Coefficients == nil && !(s.N >= 1 && s.N < 10):
		return fmt.Errorf("glass %q: index %g must lie between 1 and 10", s.Name, s.N)
	case !(s.Lo > 0 && s.Hi > s.Lo && !math.IsInf(float64(s.Hi), 0)):
		return fmt.Errorf("glass %q: wavelength range %g to %g m is not a range", s.Name, float64(s.Lo), float64(s.Hi))
	case s.Coefficients == nil && !(s.At > 0):
		return fmt.Errorf("glass %q: its index needs the wavelength that it holds at, not %g nm", s.Name,
			float64(s.At)/1e-9)
	case !(s.Temperature > 0):
		return fmt.Errorf("glass %q: its index needs the temperature it holds at, above 0 kelvin, not %g kelvin",
			s.Name,
			float64(s.Temperature))
	case !(math.Abs(s.Thermo) < 0.01 && math.Abs(s.Expansion) < 0.01):
		return fmt.Errorf("glass %q: dn/dT of %g and expansion of %g 1/kelvin must be below 0.01 1/kelvin", s.Name,
			s.Thermo,
			s.Expansion)
	}
	return nil
}

// Describe returns name and value rows for a summary, in reading order: ranges, sources, and what is not known.
func (g *Glass) Describe() [][2]string {
	rows := g.origin(&g.n)
	if t := g.thermo; t != nil {
		where := ""
		if t.AtUM > 0 {
			where = fmt.Sprintf(", for %.4g µm and used at every wavelength", t.AtUM)
		}
		rows = append(rows, [2]string{"dn/dT", fmt.Sprintf("%.3g in 1e-6/K%s; %s", t.N*1e6, where, t.Source)})
	} else {
		rows = append(rows, [2]string{"dn/dT",
			fmt.Sprintf("not known: usable within %d K of the fit's temperature unless dn_dt= is given", roomSpan)})
	}
	if x := g.expansion; x != nil {
		rows = append(rows, [2]string{"expansion", fmt.Sprintf("%.3g in 1e-6/K; %s", x.Alpha*1e6, x.Source)})
	} else {
		rows = append(rows, [2]string{"expansion", "not known: taken as zero"})
	}
	return append(rows, g.remarks(g.Differences(compared))...)
}

// glassFile is the layout of an embedded glass.
type glassFile struct {
	Name        string          `json:"name"`
	Kind        string          `json:"kind"`
	Index       dispersion      `json:"index"`
	Source      string          `json:"dispersion_source"`
	Reference   float64         `json:"reference_celsius"`
	RoomNote    string          `json:"reference_note"`
	Thermo      *glassThermo    `json:"thermo_optic"`
	Expansion   *glassExpansion `json:"expansion"`
	Others      []otherFit      `json:"other_fits"`
	Caution     string          `json:"caution"`
	NotModelled string          `json:"not_modelled"`
}

func readGlass(data []byte) (*Glass, error) {
	var f glassFile
	if err := strict(data, &f); err != nil {
		return nil, err
	}
	return f.glass(data)
}

func (f *glassFile) glass(data []byte) (*Glass, error) {
	if err := f.Index.check(); err != nil {
		return nil, err
	}
	if err := checkOthers(f.Others); err != nil {
		return nil, err
	}
	return &Glass{
		medium: medium{
			name: f.Name, dispersionBy: f.Source, reference: quantity.Celsius(f.Reference), roomNote: f.RoomNote,
			caution: f.Caution, notModelled: f.NotModelled, others: f.Others, data: data,
		},
		n: f.Index, thermo: f.Thermo, expansion: f.Expansion,
	}, nil
}

// NamedGlass returns the built-in glass of that name, ignoring case; an unknown name is an error that lists the known.
func NamedGlass(name string) (*Glass, error) { return lookup("glass", name, builtin().glasses) }

// GlassNames lists the built-in glasses in alphabetical order.
func GlassNames() []string { return names(builtin().glasses) }
