// Package verifytest holds what the tests of a verification and of its stages share.
package verifytest

import (
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// SingleStage is the scenario's: two YVO4 wedges of 5 deg around a garnet film, by the extinction ratio of the film in
// dB and the reflectance of the faces.
func SingleStage(t testing.TB, extinction, reflectance float64) *stack.Stack {
	t.Helper()
	crystal, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	film := material.Garnet{Name: "film B", Index: 2.33, Rotation: 1150 * float64(quantity.Degree) / 1e-2,
		PerKelvin: -0.06 * float64(quantity.Degree), PerMetre: -0.07e9 * float64(quantity.Degree),
		Extinction: quantity.Ratio(extinction), Absorption: 59, At: 1550 * quantity.Nanometre,
		Temperature: quantity.Celsius(23)}
	ar := element.Coating{Reflectance: reflectance}
	wedge := func(side element.Side, axis float64) element.Wedge {
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: 5 * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre,
			Axis:      quantity.Angle(axis) * quantity.Degree, Coating: ar}
	}
	gap := element.Gap{Length: 0.1 * quantity.Millimetre}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{wedge(element.Front, 22.5), gap,
			element.Rotator{Garnet: film, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre,
				Temperature: quantity.Celsius(23), Coating: ar},
			gap, wedge(element.Back, 67.5)},
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 6 * quantity.Millimetre,
			Loss: 0.22},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
