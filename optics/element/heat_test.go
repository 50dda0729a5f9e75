package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/heat"
	"wedgework/optics/material"
	"wedgework/optics/published"
	"wedgework/optics/quantity"
)

func tgg(t *testing.T) *material.Paramagnet {
	t.Helper()
	p, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// quarterRod is a rod that rotates by 45 deg at a wavelength, in a uniform field.
func quarterRod(t *testing.T, length, l quantity.Length) Rod {
	t.Helper()
	v, err := tgg(t).Verdet(l, quantity.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	return Rod{Material: tgg(t), Length: length, Field: math.Pi / 4 / math.Abs(v) / float64(length)}
}

// What others have measured of rods in strong light, against the band that the constants of terbium gallium garnet and
// an unknown cut leave.
func TestPublishedDepolarization(t *testing.T) {
	for _, row := range published.Rows(t, "depolarization.csv") {
		l := quantity.Length(published.Number(t, row[1])) * quantity.Nanometre
		rod := quarterRod(t, quantity.Length(published.Number(t, row[2]))*quantity.Millimetre, l)
		h, err := HeatingOf(rod, Light{Power: published.Number(t, row[3]), Wavelength: l, Waist: 0.5e-3, Rim: 2e-3,
			Temperature: quantity.Celsius(20)})
		if err != nil {
			t.Fatal(err)
		}
		dB := published.Number(t, row[4])
		worst, best := -quantity.Decibels(h.Crossed.Most), -quantity.Decibels(h.Crossed.Least)
		t.Logf("%s at %s W: %.1f to %.1f dB, published %.1f dB", row[0], row[3], worst, best, dB)
		if inside := dB >= worst && dB <= best; inside != (row[5] == "yes") || row[5] == "no" && dB < best {
			t.Errorf("%s at %s W: %.1f to %.1f dB, published %.1f dB", row[0], row[3], worst, best, dB)
		}
	}
}

// A rod's figures by the formulas of package heat with the constants written out, and their growth with the power.
func TestHeatingOfRod(t *testing.T) {
	w := tgg(t).Warming()
	w.Conductivity, w.Absorption, w.Birefringence, w.Shear = material.Exactly(4.4), material.Exactly(0.2),
		material.Exactly(17e-7), material.Exactly(2.25)
	stated, err := tgg(t).WithWarming(w)
	if err != nil {
		t.Fatal(err)
	}
	rod := quarterRod(t, 18e-3, 1064e-9)
	rod.Material = stated
	light := Light{Power: 100, Wavelength: 1064e-9, Waist: 0.5e-3, Rim: 2e-3, Temperature: quantity.Celsius(20),
		Cut: Cut{Axis: "001", Turned: true, Azimuth: math.Pi / 4}}
	h, err := HeatingOf(rod, light)
	if err != nil {
		t.Fatal(err)
	}
	load := heat.Load{Power: 100 * -math.Expm1(-0.2*18e-3), Length: 18e-3, Waist: 0.5e-3, Rim: 2e-3, Conductivity: 4.4}
	if h.Rise.Least != h.Rise.Most || math.Abs(h.Rise.Most-load.Mean()) > 1e-12 {
		t.Errorf("rise %v, want %.6g K", h.Rise, load.Mean())
	}
	// The Verdet constant falls as 1/T: of 45 deg by 45 deg (T/(T + rise) - 1), in size.
	if want := -math.Pi / 4 * (293.15/(293.15+load.Mean()) - 1); math.Abs(h.Drift.Most-want) > 1e-9 {
		t.Errorf("drift %.6g, want %.6g rad", h.Drift.Most, want)
	}
	// 36.3 dB of stress, and beside it the rotation that varies across the beam, in the other direction of the sphere.
	spread := heat.Rotator{Rotation: math.Pi / 4, Spread: h.Drift.Most / load.Mean() * load.Scale()}.Crossed()
	if stress := math.Pow(10, -3.63); math.Abs(h.Crossed.Most-stress-spread) > 0.02*stress {
		t.Errorf("share across %.4g, want %.4g and %.4g", h.Crossed.Most, stress, spread)
	}
	warm, err := Heated(rod, light, true)
	if err != nil {
		t.Fatal(err)
	}
	m := warm.Place(light.Temperature).Media
	if err := warm.Tune(1064e-9, light.Temperature, m); err != nil {
		t.Fatal(err)
	}
	if want := -math.Pi/4 + h.Drift.Most; math.Abs(m[0].Rotation-want) > 1e-6 || m[0].Crossed < h.Crossed.Most {
		t.Errorf("warm rod: rotation %.6f, want %.6f; share across %.4g", m[0].Rotation, want, m[0].Crossed)
	}
}

// The power that limits allow is where the figure meets its limit.
func TestPowerLimit(t *testing.T) {
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	film := Rotator{Name: "film", Garnet: g, Angle: math.Pi / 4, At: 1550e-9, Temperature: quantity.Celsius(23)}
	light := Light{Wavelength: 1550e-9, Waist: 0.2e-3, Rim: 0.6e-3, Temperature: quantity.Celsius(23)}
	p, err := PowerLimit(film, light, Allowed{Drift: 0.01, Peak: 1e3})
	if err != nil {
		t.Fatal(err)
	}
	light.Power = p
	h, err := HeatingOf(film, light)
	if err != nil || math.Abs(math.Abs(h.Drift.Most)-0.01) > 1e-7 {
		t.Errorf("%g W: drift %g, %v", p, h.Drift.Most, err)
	}
	if h.Stressed || h.Lensed {
		t.Error("a film knows neither its photoelastic constants nor dn/dT")
	}
	if _, err := HeatingOf(Gap{Name: "gap1"}, light); err == nil || !strings.Contains(err.Error(), "no rotator") {
		t.Errorf("a gap: %v", err)
	}
	if _, err := PowerLimit(film, light, Allowed{}); err == nil {
		t.Error("no limit passes")
	}
}
