package stack

import (
	"context"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// A number that was never set is zero, and zero is a temperature, a wavelength and a direction that no part was made
// for: every one is refused, none is taken at its word. A film whose angle was taken to hold at 0 kelvin would turn
// 17.8 deg too little at room temperature and isolate 10 dB.
func TestNothingIsTakenAtZero(t *testing.T) {
	good := plain.spec(t)
	replaced := func(i int, e element.Element) Spec {
		s := plain.spec(t)
		s.Elements[i] = e
		return s
	}
	film := good.Elements[2].(element.Rotator)
	film.Garnet.PerKelvin = -0.06 * deg
	cold := film
	cold.Temperature = 0
	nowhere := film
	nowhere.At = 0
	ring := film
	ring.Magnets = magnet.Assembly{{Inner: 0.75e-3, Outer: 1.5e-3, Length: 2e-3, Remanence: -1, Coefficient: -1e-3}}
	unnamed := element.Plate{Crystal: crystal(t, "YVO4"), Thickness: 1e-3}
	wave := element.Retarder{Crystal: crystal(t, "YVO4"), Retardance: 90 * deg}
	for name, s := range map[string]Spec{
		"film without a temperature":      replaced(2, cold),
		"film without a wavelength":       replaced(2, nowhere),
		"film of no garnet":               replaced(2, element.Rotator{Angle: 45 * deg, At: at, Temperature: room}),
		"magnet without a temperature":    replaced(2, ring),
		"plate of no kind":                replaced(2, unnamed),
		"wave plate without a wavelength": replaced(2, wave),
		"polarizer without an extinction": replaced(2, element.Polarizer{}),
		"wedge of zeros":                  replaced(0, element.Wedge{}),
		"rod of zeros":                    replaced(2, element.Rod{}),
		"alignment without a temperature": {Elements: good.Elements, Beam: good.Beam, AlignAt: at},
		"alignment without a wavelength":  {Elements: good.Elements, Beam: good.Beam, AlignTemperature: room},
		"collimator of zeros":             {Elements: good.Elements, AlignAt: at, AlignTemperature: room},
		"lens without a fibre": {Elements: good.Elements, Beam: element.Collimator{Focal: 2e-3,
			WorkingDistance: 8e-3, Fibre: element.Fibre{Index: 1.446}}, AlignAt: at, AlignTemperature: room},
		"reflecting fibre end and no fibre": {Elements: good.Elements, Beam: element.Collimator{Waist: 2e-4,
			WorkingDistance: 8e-3, FerruleReflectance: 0.04}, AlignAt: at, AlignTemperature: room},
		"fibre of an aperture without a core": {Elements: good.Elements, Beam: element.Collimator{Focal: 2e-3,
			WorkingDistance: 8e-3, Fibre: element.Fibre{Aperture: 0.14}}, AlignAt: at, AlignTemperature: room},
	} {
		if _, err := New(s); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	s, ctx := plain.stack(t), context.Background()
	one := func(l quantity.Length) []quantity.Length { return []quantity.Length{l} }
	for name, f := range map[string]func(l quantity.Length, k quantity.Temperature, d Direction) error{
		"At": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.At(d, l, k)
			return err
		},
		"Over": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.Over(ctx, d, one(l), []quantity.Temperature{k})
			return err
		},
		"Paths": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.Paths(d, l, k)
			return err
		},
		"Traces": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.Traces(d, l, k)
			return err
		},
		"StepDGD": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.StepDGD(d, l, l*1.001, k)
			return err
		},
		"ReturnLoss": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			_, err := s.ReturnLoss(d, l, k, false)
			return err
		},
		"Outline": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			if d == 0 {
				return d.check() // an outline has no direction
			}
			_, err := s.Outline(l, k)
			return err
		},
		"Assemble": func(l quantity.Length, k quantity.Temperature, d Direction) error {
			peak := PeakIsolation
			if d == 0 {
				peak = ""
			}
			_, _, err := s.Assemble(ctx, "wedge2", peak, l, k)
			return err
		},
	} {
		for what, err := range map[string]error{"wavelength": f(0, room, Forward), "kelvin": f(at, 0, Forward)} {
			if err == nil || !strings.Contains(err.Error(), what) {
				t.Errorf("%s at zero: %v, want an error about a %s", name, err, what)
			}
		}
		if err := f(at, room, 0); err == nil {
			t.Errorf("%s in no direction: accepted", name)
		}
	}
	if _, err := crystal(t, "YVO4").At(at, 0); err == nil {
		t.Error("a crystal has indices at 0 kelvin")
	}
	if _, err := material.NewCrystal(material.CrystalSpec{Name: "mine", O: 1.9, E: 2.1, At: at, Lo: 1e-6,
		Hi: 2e-6}); err == nil {
		t.Error("a crystal whose indices hold at 0 kelvin was accepted")
	}
	if _, err := material.NewCrystal(material.CrystalSpec{Name: "mine", O: 1.9, E: 2.1, SlopeO: -1e4, Lo: 1e-6,
		Hi:          2e-6,
		Temperature: room}); err == nil {
		t.Error("a crystal whose indices hold at no wavelength was accepted")
	}
	if _, err := s.Adjusted(map[string]quantity.Quantity{"beam.waist": quantity.Of(0, "um")}); err == nil {
		t.Error("a beam without a waist was accepted")
	}
}
