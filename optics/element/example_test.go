package element_test

import (
	"fmt"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// film is a 45 deg film for 1550 nm and 23 degC.
func film() element.Rotator {
	garnet, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		panic(err)
	}
	return element.Rotator{
		Name: "film", Garnet: garnet, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre,
		Temperature: quantity.Celsius(23),
	}
}

// An element is a value: With returns a changed copy, checked.
func ExampleWedge_With() {
	yvo4, _ := material.Named("YVO4")
	w := element.Wedge{
		Name: "input", Crystal: yvo4, Slanted: element.Front,
		Apex: 5 * quantity.Degree, Thickness: 0.5 * quantity.Millimetre, Axis: 22.5 * quantity.Degree,
	}
	thicker, err := w.With("thickness", quantity.Of(600, "um"))
	fmt.Println(thicker.Parameters()[1].Value, w.Parameters()[1].Value, err)
	_, err = w.With("thickness", quantity.Of(3, "deg"))
	fmt.Println(err)
	// Output:
	// 0.6 mm 0.5 mm <nil>
	// input.thickness must be given as a length, such as 0.5 mm, not 3 deg
}

// A film's thickness follows from its angle, and its angle from a thickness.
func ExampleRotator_OfThickness() {
	r := film()
	d, err := r.Thickness()
	fmt.Printf("%.0f um %v\n", float64(d)*1e6, err)
	half, err := r.OfThickness(d / 2)
	fmt.Printf("%.2f deg %v\n", float64(half.Angle/quantity.Degree), err)
	// Output:
	// 391 um <nil>
	// 22.50 deg <nil>
}

// What is missing is refused: without a temperature an angle says nothing.
func ExampleRotator_Check() {
	r := film()
	r.Temperature = 0
	fmt.Println(r.Check())
	// Output: rotator film: its angle needs the temperature that it holds at (Temperature), not 0 kelvin
}

// A ring around the film saturates it with a margin, and turns it the way its field points.
func ExampleRotator_Margin() {
	r := film()
	r.Magnets = magnet.Assembly{{
		Inner: 0.75 * quantity.Millimetre, Outer: 1.5 * quantity.Millimetre, Length: 2 * quantity.Millimetre,
		Remanence: -1.0, Coefficient: -0.0003, Temperature: magnet.Reference,
	}}
	fmt.Println(r.Check())
	m, err := r.Margin(quantity.Celsius(70))
	fmt.Printf("%.1f %v\n", m.Ratio, err)
	// Output:
	// <nil>
	// 3.0 <nil>
}

// A half-wave plate of YVO4 with twelve whole waves on top is 12.5 wavelengths over the birefringence thick.
func ExampleRetarder_Thickness() {
	yvo4, _ := material.Named("YVO4")
	r := element.Retarder{Name: "plate", Crystal: yvo4, Retardance: 180 * quantity.Degree, Order: 12,
		At: 1550 * quantity.Nanometre}
	d, err := r.Thickness()
	fmt.Printf("%.1f um %v\n", float64(d)*1e6, err)
	// Output: 95.0 um <nil>
}

// A film asked for a wavelength far from its data says so.
func ExampleCautions() {
	for _, l := range []quantity.Length{1550 * quantity.Nanometre, 1064 * quantity.Nanometre} {
		fmt.Println(len(element.Cautions(film(), l, quantity.Celsius(23))))
	}
	// Output:
	// 0
	// 1
}

// The end of a fibre at 8 deg sends so little of what it reflects back into the mode that scatter is stronger.
func ExampleCollimator_FerruleReturn() {
	c := element.Collimator{
		WorkingDistance: 10 * quantity.Millimetre, Focal: 2 * quantity.Millimetre,
		Fibre: element.Fibre{ModeRadius: 5.2 * quantity.Micrometre}, FerruleReflectance: 0.035,
	}
	for _, angle := range []quantity.Angle{0, 8 * quantity.Degree} {
		c.Ferrule = angle
		ferrule := c.FerruleReturn(1550 * quantity.Nanometre)
		fmt.Printf("%.1f deg: %s\n", float64(angle/quantity.Degree), quantity.Of(-quantity.Decibels(ferrule),
			"dB").Text(0))
	}
	// Output:
	// 0.0 deg: 15 dB
	// 8.0 deg: 93 dB
}
