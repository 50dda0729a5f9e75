package tolerance_test

import (
	"context"
	"fmt"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
)

// isolator is a single stage of two YVO4 wedges and a film, with faces that reflect nothing.
func isolator() *stack.Stack {
	yvo4, err := material.Named("YVO4")
	if err != nil {
		panic(err)
	}
	garnet, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		panic(err)
	}
	garnet.Extinction = quantity.Ratio(60)
	wedge := func(side element.Side, axis quantity.Angle) element.Wedge {
		return element.Wedge{Crystal: yvo4, Slanted: side, Apex: 5 * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre,
			Axis:      axis}
	}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{
			wedge(element.Front, 22.5*quantity.Degree), element.Gap{Length: 0.5 * quantity.Millimetre},
			element.Rotator{Garnet: garnet, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre,
				Temperature: quantity.Celsius(23)},
			element.Gap{Length: 0.5 * quantity.Millimetre}, wedge(element.Back, 67.5*quantity.Degree),
		},
		Beam:    element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 10 * quantity.Millimetre},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		panic(err)
	}
	return s
}

// at1550 asks for the isolation at one wavelength and temperature.
var at1550 = tolerance.Figure{
	Quantity: tolerance.Isolation, Wavelengths: []quantity.Length{1550 * quantity.Nanometre},
	Temperatures: []quantity.Temperature{quantity.Celsius(23)},
}

// An angle error d leaves a leakage of sin^2 d: uniform within 0.5 deg, 95 of 100 units are better than
// -20 log10 sin(0.475 deg) = 41.6 dB and the 0.1 dB that the film absorbs.
func ExampleStudy_Run() {
	study := tolerance.Study{
		Stack: isolator(),
		Tolerances: map[string]tolerance.Tolerance{"rotator1.angle": {Shape: tolerance.Uniform,
			Value: quantity.Of(0.5, "deg")}},
		Figures: []tolerance.Figure{at1550}, Trials: 1000, Seed: 1,
	}
	found, err := study.Run(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("5 %% of the units are below %.1f dB; the share of rotator1.angle is %.2f\n",
		found.Distribution(0).Quantile(0.05), found.Shares(0)[0])
	// Output: 5 % of the units are below 41.7 dB; the share of rotator1.angle is 1.00
}

// The worst of two angles is their sum: 0.3 deg and three standard deviations of 0.1 deg, -20 log10 sin(0.6 deg) =
// 39.6 dB and the 0.1 dB that the film absorbs.
func ExampleStudy_Corners() {
	study := tolerance.Study{
		Stack: isolator(),
		Tolerances: map[string]tolerance.Tolerance{
			"rotator1.angle": {Shape: tolerance.Uniform, Value: quantity.Of(0.3, "deg")},
			"wedge2.axis":    {Shape: tolerance.Normal, Value: quantity.Of(0.1, "deg")},
		},
		Figures: []tolerance.Figure{at1550},
	}
	found, err := study.Corners(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d corners, %.1f dB at worst\n", found.Count, found.Worst[0].Value)
	// Output: 4 corners, 39.7 dB at worst
}

// A film 0.6 deg short is made up for by the axis of a wedge, turned by as much.
func ExampleMaximize() {
	s, err := isolator().Adjusted(map[string]quantity.Quantity{"rotator1.angle": quantity.Of(44.4, "deg")})
	if err != nil {
		fmt.Println(err)
		return
	}
	vary := []tolerance.Vary{{Path: "wedge2.axis", Low: quantity.Of(60, "deg"), High: quantity.Of(75, "deg")}}
	found, err := tolerance.Maximize(context.Background(), s, vary,
		func(s *stack.Stack) (value, violation float64, err error) {
			worst, err := tolerance.Worst(context.Background(), s, []tolerance.Figure{at1550})
			if err != nil {
				return 0, 0, err
			}
			return worst[0], 0, nil
		})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("wedge2.axis", found.At[0].Text(1))
	// Output: wedge2.axis 68.1 deg
}

// 95 % intervals of a yield (Clopper and Pearson): of 100 units 95 are good; of 59 all.
func ExampleYield() {
	for _, c := range [][2]int{{95, 100}, {59, 59}} {
		low, high := tolerance.Yield(c[0], c[1])
		fmt.Printf("%.3f to %.3f\n", low, high)
	}
	// Output:
	// 0.887 to 0.984
	// 0.939 to 1.000
}

// Each coordinate of a Latin hypercube takes every stratum once.
func ExampleHypercube() {
	unit := func(p float64) float64 { return p }
	points := tolerance.Hypercube(4, 1, unit, unit)
	seen := map[float64]int{}
	for _, x := range points {
		seen[x[0]]++
	}
	fmt.Println(seen)
	// Output: map[0.125:1 0.375:1 0.625:1 0.875:1]
}

// An extinction ratio of 30 dB is a leak of one in 1001.
func ExampleLeak() {
	fmt.Printf("%.6f %.1f dB\n", tolerance.Leak(30), tolerance.Extinction(tolerance.Leak(30)))
	// Output: 0.000999 30.0 dB
}
