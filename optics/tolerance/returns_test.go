package tolerance_test

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
)

// TestReturnLoss: a plate of glass square to a wide beam sends back R from the near face and R (1-R)^2 from the far
// one, to either port alike, and scatter its floor; the worst corner of its coating is the one that reflects most.
func TestReturnLoss(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	const floor = 60
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{element.Plate{
			As: "plate", Glass: silica, Thickness: 1e-3, Coating: element.Coating{Reflectance: 0.01},
		}},
		Beam:    element.Collimator{Waist: 2e-3, WorkingDistance: 10e-3, ReturnFloor: floor},
		AlignAt: 1550e-9, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	closed := func(r float64) float64 {
		return -quantity.Decibels(r + r*(1-r)*(1-r) + quantity.Ratio(-floor))
	}
	f := tolerance.Figure{
		Quantity: tolerance.ReturnLoss, Wavelengths: []quantity.Length{1540e-9, 1560e-9},
		Temperatures: []quantity.Temperature{quantity.Celsius(0), quantity.Celsius(23)},
	}
	// A beam of 2 mm spreads over the 20 mm there and back by 1e-5 of its power.
	const spread = 1e-4 // dB
	got, err := tolerance.Worst(context.Background(), s, []tolerance.Figure{f})
	if err != nil || math.Abs(got[0]-closed(0.01)) > spread {
		t.Errorf("return loss %.5f dB, want %.5f; %v", got, closed(0.01), err)
	}
	study := tolerance.Study{
		Stack: s, Figures: []tolerance.Figure{f}, Trials: 200, Seed: 1,
		Tolerances: map[string]tolerance.Tolerance{
			"plate1.reflectance": {Shape: tolerance.Uniform, Value: quantity.Of(0.5, "percent")},
		},
	}
	corners, err := study.Corners(context.Background())
	if err != nil || math.Abs(corners.Worst[0].Value-closed(0.015)) > spread {
		t.Errorf("worst corner %.5f dB, want %.5f; %v", corners.Worst[0].Value, closed(0.015), err)
	}
	found, err := study.Run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	// Reflectances are even within 1 % ± 0.5 %. The greatest distance of 200 units from that stays below 1.95/sqrt(200)
	// 999 times of 1000 (Kolmogorov's distribution, from memory).
	worst := 0.0
	for k, loss := range found.Distribution(0).Sorted {
		low, high := 0.005, 0.015 // of the reflectance whose closed form is that loss
		for range 50 {
			if middle := (low + high) / 2; closed(middle) > loss {
				low = middle
			} else {
				high = middle
			}
		}
		share := (0.015 - low) / 0.01 // of the units that lose less
		worst = max(worst, math.Abs(share-(float64(k)+0.5)/200))
	}
	if worst > 1.95/math.Sqrt(200) {
		t.Errorf("the units are off their distribution by %.3f, at most %.3f", worst, 1.95/math.Sqrt(200))
	}
}

// TestReturnLossIsThatOfTheWorsePort: a wedge turns the reflection of its slanted face away, and each port has a
// reflection of its own; the figure is the smaller loss.
func TestReturnLossIsThatOfTheWorsePort(t *testing.T) {
	s := isolator()
	film, err := s.Spec().Elements[2].With("reflectance", quantity.Of(1, "percent"))
	if err != nil {
		t.Fatal(err)
	}
	spec := s.Spec()
	spec.Elements[2] = film
	if s, err = stack.New(spec); err != nil {
		t.Fatal(err)
	}
	f := at1550
	f.Quantity = tolerance.ReturnLoss
	got, err := tolerance.Worst(context.Background(), s, []tolerance.Figure{f})
	if err != nil {
		t.Fatal(err)
	}
	worst := math.Inf(1)
	for _, port := range []stack.Direction{stack.Forward, stack.Backward} {
		r, err := s.ReturnLoss(port, 1550e-9, quantity.Celsius(23), false)
		if err != nil {
			t.Fatal(err)
		}
		worst = min(worst, r.Loss)
	}
	if math.Abs(got[0]-worst) > 1e-9 {
		t.Errorf("return loss %.6f dB, want %.6f", got[0], worst)
	}
}
