package tolerance

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// TestExtremeAgainstGrid: no point of a fine grid is worse than the extreme, and the extreme is a value of the stack.
func TestExtremeAgainstGrid(t *testing.T) {
	spec := core(t).Spec()
	for i := range spec.Beam.Pigtails.Ends { // along the optic axes of the wedges
		axis := quantity.Angle(22.5+45*float64(i)) * quantity.Degree
		spec.Beam.Pigtails.Ends[i] = element.Pigtail{Axis: axis, Extinction: 1000}
	}
	s, err := stack.New(spec)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range known {
		r := Region{Quantity: q, Low: 1520e-9, High: 1580e-9, Coldest: quantity.Celsius(-5),
			Warmest: quantity.Celsius(70)}
		got, err := r.Worst(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		nl, nt := 121, 51
		if q == ReturnLoss {
			nl, nt = 25, 7
		}
		f := Figure{Quantity: q, Wavelengths: Spaced(r.Low, r.High, nl),
			Temperatures: Spaced(r.Coldest, r.Warmest, nt)}
		grid, err := Worst(context.Background(), s, []Figure{f})
		if err != nil {
			t.Fatal(err)
		}
		f.Wavelengths, f.Temperatures = []quantity.Length{got.Wavelength}, []quantity.Temperature{got.Temperature}
		there, err := Worst(context.Background(), s, []Figure{f})
		if err != nil || math.Abs(there[0]-got.Value) > 1e-9*math.Abs(got.Value) {
			t.Errorf("%s: %g where the stack has %g, %v", q, got.Value, there[0], err)
		}
		better := got.Value - grid[0] // of the grid: by nothing but the fraction of the resolution that a climb leaves
		if f.Least() {
			better = -better
		}
		if better < -f.Resolution()/50 {
			t.Errorf("%s: %g at %g, %g, and the grid has %g", q, got.Value, got.Wavelength, got.Temperature, grid[0])
		}
		if got.Fringes != 0 {
			t.Errorf("%s: %g fringes are not resolved", q, got.Fringes)
		}
	}
}

// lyot is a birefringent plate between parallel polarizers, its axis 30 deg from theirs.
func lyot(t *testing.T, thickness quantity.Length) *stack.Stack {
	t.Helper()
	crystal, err := material.Named("quartz")
	if err != nil {
		t.Fatal(err)
	}
	clear := element.Coating{}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{element.Polarizer{Extinction: 1e9},
			element.Plate{As: "plate", Crystal: crystal, Thickness: thickness, Axis: 30 * quantity.Degree,
				Cut:     90 * quantity.Degree,
				Coating: clear}, element.Polarizer{Extinction: 1e9}},
		Beam:    element.Collimator{Waist: 1e-3, WorkingDistance: 60e-3},
		AlignAt: at, AlignTemperature: room,
	})
	if err != nil {
		t.Fatal(err)
	}
	return s.WithGhosts(stack.GhostsNone)
}

// TestExtremeOfFringes: between parallel polarizers a plate passes 1 - sin^2(60 deg) sin^2(G/2) of the power, G its
// retardation, and so 1/4 where G is an odd multiple of pi (Malus twice), that is at many wavelengths that no coarse
// grid holds: 20 mm of quartz are some 110 waves.
func TestExtremeOfFringes(t *testing.T) {
	for _, thickness := range []quantity.Length{20e-3, 50e-3} {
		r := Region{Quantity: InsertionLossMin, Low: 1500e-9, High: 1600e-9, Coldest: room, Warmest: room}
		s := lyot(t, thickness)
		got, err := r.Worst(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		// The rays part by nothing, and the beam spreads by less than 1e-4 of its power.
		if want := -quantity.Decibels(0.25); math.Abs(got.Value-want) > 2e-3 {
			t.Errorf("%g m: %.4f dB, want %.4f", float64(thickness), got.Value, want)
		}
		f := Figure{Quantity: r.Quantity, Wavelengths: Spaced(r.Low, r.High, 9),
			Temperatures: Spaced(room, room, 1)}
		coarse, err := Worst(context.Background(), s, []Figure{f})
		if err != nil || math.Abs(coarse[0]-got.Value) < 5e-3 {
			t.Errorf("%g m: a grid of nine has it as well, %.4f dB: this proves nothing", float64(thickness), coarse[0])
		}
	}
}

// TestMeansInTrials: the statistics over polarization of many units computed together are those of the stacks
// themselves, and in the order that t1 >= t2 sets.
func TestMeansInTrials(t *testing.T) {
	study := Study{Stack: core(t), Trials: 300, Seed: 3, Tolerances: map[string]Tolerance{
		"rotator1.angle": {Shape: Uniform, Value: quantity.Of(1, "deg")},
		"wedge2.axis":    {Shape: Uniform, Value: quantity.Of(1, "deg")}}}
	for _, q := range []string{Isolation, IsolationMean, InsertionLossMin, InsertionLossMean, InsertionLoss} {
		study.Figures = append(study.Figures, Figure{Quantity: q,
			Wavelengths:  Spaced[quantity.Length](1540e-9, 1560e-9, 3),
			Temperatures: []quantity.Temperature{room}})
	}
	out, err := study.Run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if !out.Exact || out.Proofs == 0 {
		t.Fatalf("the units were not computed together: %+v", out.Exact)
	}
	for n := range study.Trials {
		v := func(k int) float64 { return out.Values[k][n] }
		// (t1+t2)/2 lies between t1/2 and t1.
		if v(1) < v(0) || v(1) > v(0)+3.011 || v(2) > v(3) || v(3) > v(4) {
			t.Fatalf("unit %d: isolation %g, mean %g; losses %g, %g, %g", n, v(0), v(1), v(2), v(3), v(4))
		}
	}
}

// TestExtremeRefuses what has no extent.
func TestExtremeRefuses(t *testing.T) {
	for _, r := range []Region{{Quantity: PDL, Low: 2e-6, High: 1e-6, Coldest: room, Warmest: room},
		{Quantity: PDL, Low: 1e-6, High: 1e-6, Coldest: room + 1, Warmest: room},
		{Quantity: "colour", Low: 1e-6, High: 1e-6, Coldest: room, Warmest: room}} {
		if _, err := r.Worst(context.Background(), core(t)); err == nil {
			t.Errorf("%+v: no error", r)
		}
	}
}

// TestAt: units at given values have the figures of the adjusted stacks, an extinction ratio in dB among them.
func TestAt(t *testing.T) {
	s := core(t)
	f := []Figure{{Quantity: Isolation, Wavelengths: []quantity.Length{1540e-9, 1560e-9},
		Temperatures: []quantity.Temperature{room}}}
	study := Study{Stack: s, Figures: f, Tolerances: map[string]Tolerance{
		"rotator1.angle":      {Shape: Uniform, Value: quantity.Of(2, "deg")},
		"rotator1.extinction": {Shape: Uniform, Value: quantity.Of(10, "dB")}}}
	angles, ratios := []float64{43.5, 45, 46.2}, []float64{33, 42, 50}
	got, err := study.At(context.Background(), 9, func(unit int, path string) float64 {
		if path == "rotator1.angle" {
			return angles[unit/3] * float64(quantity.Degree)
		}
		return ratios[unit%3]
	})
	if err != nil {
		t.Fatal(err)
	}
	for unit, figures := range got {
		x, err := s.Adjusted(map[string]quantity.Quantity{"rotator1.angle": quantity.Of(angles[unit/3], "deg"),
			"rotator1.extinction": quantity.Of(ratios[unit%3], "dB")})
		if err != nil {
			t.Fatal(err)
		}
		want, err := Worst(context.Background(), x, f)
		if err != nil || math.Abs(figures[0]-want[0]) > f[0].allowed(want[0]) {
			t.Errorf("unit %d: %.4f dB, want %.4f, %v", unit, figures[0], want[0], err)
		}
	}
}
