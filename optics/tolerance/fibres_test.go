package tolerance_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
)

// fibred is a polarizing sheet between polarization-maintaining fibres of 30 dB.
func fibred(t *testing.T, p element.Pigtails) *stack.Stack {
	t.Helper()
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{element.Polarizer{Extinction: 1e9, Loss: 0.2}},
		Beam:     element.Collimator{Waist: 1e-3, WorkingDistance: 1e-3, Pigtails: p},
		AlignAt:  1550e-9, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestExtinctionRatio: behind a polarizer an axis of the receiving fibre that is off by a leaves m = cos 2a, and a
// fibre of 30 dB multiplies it by (1-x)/(1+x), x = 0.001: ER = 10 log10((1+m)/(1-m)). The worst corner, the worst of a
// region, and the share of units that pass follow from that.
func TestExtinctionRatio(t *testing.T) {
	const deg = math.Pi / 180
	end := element.Pigtail{Extinction: 1000}
	s := fibred(t, element.Pigtails{Ends: [2]element.Pigtail{end, end}})
	closed := func(degrees float64) float64 {
		m := math.Cos(2*degrees*deg) * 0.999 / 1.001
		return 10 * math.Log10((1+m)/(1-m))
	}
	f := tolerance.Figure{Quantity: tolerance.ExtinctionRatio, Wavelengths: []quantity.Length{1550e-9},
		Temperatures: []quantity.Temperature{quantity.Celsius(23)}}
	study := tolerance.Study{Stack: s, Figures: []tolerance.Figure{f}, Trials: 2000, Seed: 1,
		Tolerances: map[string]tolerance.Tolerance{"collimator2.axis": {Shape: tolerance.Uniform,
			Value: quantity.Of(4, "deg")}},
		Good: func(_ int, dB float64) bool { return dB >= closed(3) }}
	corners, err := study.Corners(context.Background())
	if err != nil || math.Abs(corners.Worst[0].Value-closed(4)) > 1e-6 ||
		math.Abs(corners.Nominal[0]-closed(0)) > 1e-6 {
		t.Errorf("corner %+v, want %.6f dB; %v", corners, closed(4), err)
	}
	found, err := study.Run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	// 3 of 4 units pass; their number is binomial, with a standard deviation of 19.
	if share := float64(found.AllGood) / 2000; math.Abs(share-0.75) > 4*19.4/2000 {
		t.Errorf("%g of the units pass, want 0.75", share)
	}
	x, err := tolerance.Region{Quantity: tolerance.ExtinctionRatio, Low: 1540e-9, High: 1560e-9,
		Coldest: quantity.Celsius(0), Warmest: quantity.Celsius(40)}.Worst(context.Background(), s)
	if err != nil || math.Abs(x.Value-closed(0)) > 1e-6 {
		t.Errorf("worst of a band %+v, want %.6f dB; %v", x, closed(0), err)
	}
}

// TestLossAlongAxes: light along the polarizer's axis loses what the sheet takes, and what the fibre puts across it;
// light across it keeps that share.
func TestLossAlongAxes(t *testing.T) {
	end := element.Pigtail{Extinction: 1000}
	s := fibred(t, element.Pigtails{Ends: [2]element.Pigtail{end, end}})
	at := func(q string) tolerance.Figure {
		return tolerance.Figure{Quantity: q, Wavelengths: []quantity.Length{1550e-9},
			Temperatures: []quantity.Temperature{quantity.Celsius(23)}}
	}
	got, err := tolerance.Worst(context.Background(), s, []tolerance.Figure{at(tolerance.InsertionLossSlow),
		at(tolerance.InsertionLossFast), at(tolerance.InsertionLossMin)})
	if err != nil {
		t.Fatal(err)
	}
	q := 1 / 1001.0
	slow, fast := -10*math.Log10(1-q+q*1e-9), -10*math.Log10(q+(1-q)*1e-9)
	if math.Abs(got[0]-got[2]-slow) > 1e-6 || math.Abs(got[1]-got[2]-fast) > 1e-6 {
		t.Errorf("along the axes %.6f and %.6f dB more than the least loss, want %.6f and %.6f", got[0]-got[2],
			got[1]-got[2], slow, fast)
	}
	bare := fibred(t, element.Pigtails{})
	_, err = tolerance.Worst(context.Background(), bare, []tolerance.Figure{at(tolerance.ExtinctionRatio)})
	if err == nil || !strings.Contains(err.Error(), "no axes") {
		t.Errorf("an extinction ratio of ordinary fibres: %v", err)
	}
}
