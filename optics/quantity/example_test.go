package quantity_test

import (
	"fmt"

	"wedgework/optics/quantity"
)

// A quantity keeps the unit that it was written in; signatures take SI numbers.
func Example() {
	wavelength := quantity.Of(1550, "nm")
	fmt.Println(wavelength, "is", wavelength.SI(), "m")
	var l = 1550 * quantity.Nanometre
	fmt.Println(quantity.FromSI(float64(l), quantity.MustNamed("um")))
	// Output:
	// 1550 nm is 1.55e-06 m
	// 1.55 µm
}

// A sum is in the unit of its first term; what does not add is refused.
func ExampleAdd() {
	sum, err := quantity.Add(quantity.Of(1.5, "mm"), quantity.Of(200, "um"))
	fmt.Println(sum, err)
	_, err = quantity.Add(quantity.Of(1.5, "mm"), quantity.Of(3, "deg"))
	fmt.Println(err)
	// Output:
	// 1.7 mm <nil>
	// cannot add 1.5 mm, a length, to 3 deg, an angle
}

// A coefficient of a film times a difference of temperatures is an angle.
func ExampleMul() {
	perKelvin, err := quantity.Div(quantity.Of(-0.06, "deg"), quantity.Of(1, "kelvin"))
	if err != nil {
		fmt.Println(err)
		return
	}
	warmer, _ := quantity.Sub(quantity.Of(70, "degC"), quantity.Of(23, "degC"))
	turn, err := quantity.Mul(perKelvin, warmer)
	fmt.Println(warmer, turn, err)
	// Output: 47 K -2.82 deg <nil>
}

// Degrees Celsius are points on a scale: they convert with their zero, and an amount in kelvin does not become one.
func ExampleQuantity_In() {
	hot, err := quantity.Of(70, "degC").In(quantity.MustNamed("kelvin"))
	fmt.Println(hot, err)
	fmt.Println(quantity.Celsius(70).Celsius())
	// Output:
	// 343.15 K <nil>
	// 70
}

// A level of 3 dB is about a factor of two in power, and isolations in series add as levels.
func ExampleRatio() {
	fmt.Printf("%.4f %.2f dB\n", quantity.Ratio(3), quantity.Decibels(2))
	both, err := quantity.Add(quantity.Of(30, "dB"), quantity.Of(32, "dB"))
	fmt.Println(both, err)
	// Output:
	// 1.9953 3.01 dB
	// 62 dB <nil>
}
