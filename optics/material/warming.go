package material

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Band is what is known of a constant: it lies between two values. The zero Band is not known.
type Band struct{ Least, Most float64 }

// Exactly is the band of a constant that is stated.
func Exactly(x float64) Band { return Band{x, x} }

// Known reports whether anything is known of the constant.
func (b Band) Known() bool { return b != Band{} }

// check reports a band that is none, or reaches below zero.
func (b Band) check(what string) error {
	if !(b.Least >= 0 && b.Most >= b.Least && !math.IsInf(b.Most, 0)) {
		return fmt.Errorf("%s from %g to %g must not be negative", what, b.Least, b.Most)
	}
	return nil
}

// Warming is what decides how warm a Faraday material becomes that absorbs light, and what comes of it. The zero value
// knows nothing.
type Warming struct {
	Conductivity  Band                 // thermal conductivity, W/(m K)
	Absorption    Band                 // power absorption, 1/m, where it is known to vary from sample to sample
	Birefringence Band                 // of the thermo-optic constant Q of thermal stress the magnitude, 1/K
	Shear         Band                 // 2 p44/(p11 - p12) of the photoelastic constants, the magnitude
	Index         Band                 // dn/dT, 1/K
	Greatest      quantity.Temperature // up to which it may be used, K; 0 where none is stated
	Curie         quantity.Temperature // at which a film's rotation is gone, K; 0 where it is not known
	Source        string
}

// Check reports bands that no material has and temperatures that are none.
func (w *Warming) Check() error {
	for _, b := range []struct {
		what string
		band Band
	}{{"thermal conductivity", w.Conductivity}, {"absorption", w.Absorption},
		{"thermo-optic constant of stress", w.Birefringence}, {"ratio of the photoelastic constants", w.Shear}} {
		if err := b.band.check(b.what); err != nil {
			return err
		}
	}
	if !(math.Abs(w.Index.Least) < 1 && math.Abs(w.Index.Most) < 1) {
		return fmt.Errorf("dn/dT of %g 1/kelvin must lie within ±1", w.Index.Most)
	}
	if !(w.Greatest >= 0 && w.Curie >= 0) {
		return fmt.Errorf("a maximum temperature must be above 0 kelvin")
	}
	return nil
}

// tooHot says in a sentence where a material is used above its maximum temperature; "" below.
func (w *Warming) tooHot(name string, t quantity.Temperature) string {
	if w.Greatest == 0 || t <= w.Greatest {
		return ""
	}
	return fmt.Sprintf("%s is used at %.4g °C, above its maximum operating temperature, %.4g °C: what its constants "+
		"and coatings become there is not modelled", name, t.Celsius(), w.Greatest.Celsius())
}

// describe returns rows for a summary.
func (w *Warming) describe() [][2]string {
	var rows [][2]string
	add := func(what string, b Band, scale float64, unit string) {
		if b.Known() {
			rows = append(rows, [2]string{what, fmt.Sprintf("%s%s", b.text(scale), unit)})
		}
	}
	add("thermal conductivity", w.Conductivity, 1, " W/(m K)")
	if w.Absorption.Least != w.Absorption.Most {
		add("absorption, between samples", w.Absorption, 1e-2, " /cm")
	}
	add("thermo-optic constant of stress Q, magnitude", w.Birefringence, 1e6, " in 1e-6/K")
	add("photoelastic 2 p44/(p11 - p12)", w.Shear, 1, "")
	add("dn/dT", w.Index, 1e6, " in 1e-6/K")
	if w.Curie > 0 {
		rows = append(rows, [2]string{"Curie temperature", fmt.Sprintf("%.4g °C", w.Curie.Celsius())})
	}
	if w.Greatest > 0 {
		rows = append(rows, [2]string{"maximum operating temperature", fmt.Sprintf("%.4g °C", w.Greatest.Celsius())})
	}
	if len(rows) > 0 && w.Source != "" {
		rows = append(rows, [2]string{"thermal constants", w.Source})
	}
	return rows
}

func (b Band) text(scale float64) string {
	if b.Least == b.Most {
		return fmt.Sprintf("%.4g", b.Most*scale)
	}
	return fmt.Sprintf("%.4g to %.4g", b.Least*scale, b.Most*scale)
}

// warmingFile is the layout of the thermal constants in an embedded file.
type warmingFile struct {
	Conductivity  [2]float64 `json:"conductivity_w_per_m_kelvin"`
	Absorption    [2]float64 `json:"absorption_between_samples_per_cm"`
	Birefringence [2]float64 `json:"stress_constant_q_per_kelvin"`
	Shear         [2]float64 `json:"photoelastic_ratio"`
	CurieKelvin   float64    `json:"curie_kelvin"`
	Source        string     `json:"source"`
}

func (f *warmingFile) warming() Warming {
	if f == nil {
		return Warming{}
	}
	return Warming{
		Conductivity:  Band{f.Conductivity[0], f.Conductivity[1]},
		Absorption:    Band{f.Absorption[0] * 100, f.Absorption[1] * 100},
		Birefringence: Band{f.Birefringence[0], f.Birefringence[1]}, Shear: Band{f.Shear[0], f.Shear[1]},
		Curie: quantity.Temperature(f.CurieKelvin), Source: f.Source,
	}
}
