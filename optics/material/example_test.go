package material_test

import (
	"errors"
	"fmt"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// The indices of a built-in crystal at a vacuum wavelength and a temperature.
func ExampleCrystal_At() {
	yvo4, err := material.Named("YVO4")
	if err != nil {
		fmt.Println(err)
		return
	}
	n, err := yvo4.At(1550*quantity.Nanometre, quantity.Celsius(20))
	fmt.Printf("no %.4f, ne %.4f, difference %.4f %v\n", n.O, n.E, n.E-n.O, err)
	// Output: no 1.9447, ne 2.1486, difference 0.2039 <nil>
}

// Outside the range of its fit a crystal gives an error, unless it is extrapolated on purpose.
func ExampleRangeError() {
	yvo4, _ := material.Named("YVO4")
	_, err := yvo4.At(1650*quantity.Nanometre, quantity.Celsius(20))
	var outside *material.RangeError
	fmt.Println(errors.As(err, &outside))
	far := yvo4.Extrapolated()
	n, err := far.At(1650*quantity.Nanometre, quantity.Celsius(20))
	fmt.Printf("%.3f %v\n", n.O, err)
	// Output:
	// true
	// 1.943 <nil>
}

// The extraordinary ray of YVO4 walks off by 5.7 deg when its wave normal is at 45 deg to the optic axis.
func ExampleIndices_WalkOff() {
	yvo4, _ := material.Named("YVO4")
	n, _ := yvo4.At(1550*quantity.Nanometre, quantity.Celsius(20))
	fmt.Printf("%.2f deg\n", float64(n.WalkOff(45*quantity.Degree)/quantity.Degree))
	// Output: 5.67 deg
}

// A crystal of measured values; without thermo-optic coefficients it can be used near its own temperature only.
func ExampleNewCrystal() {
	c, err := material.NewCrystal(material.CrystalSpec{
		Name: "lot 7", Source: "prism measurement", O: 1.9450, E: 2.1490, SlopeO: -0.0185e6, SlopeE: -0.0228e6,
		At: 1550 * quantity.Nanometre, Lo: 1500 * quantity.Nanometre, Hi: 1600 * quantity.Nanometre,
		Temperature: quantity.Celsius(23),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	n, err := c.At(1560*quantity.Nanometre, quantity.Celsius(25))
	fmt.Printf("%.5f, group %.5f %v\n", n.O, n.GroupO, err)
	_, err = c.At(1560*quantity.Nanometre, quantity.Celsius(70))
	fmt.Println(err != nil)
	// Output:
	// 1.94481, group 1.97368 <nil>
	// true
}

// A film of 1000 deg/cm is 450 um thick for 45 deg.
func ExampleGarnet_Thickness() {
	const perCentimetre = quantity.Degree * 100 // deg/cm in rad/m
	film, err := material.NewGarnet(material.GarnetSpec{
		Name: "film B", Source: "data sheet", Index: 2.33, Rotation: 1000 * float64(perCentimetre),
		Extinction: quantity.Ratio(40),
		PerKelvin:  -0.06 * float64(quantity.Degree), PerMetre: -0.07e9 * float64(quantity.Degree),
		At: 1550 * quantity.Nanometre, Temperature: quantity.Celsius(23),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := film.Thickness(45*quantity.Degree, film.At, film.Temperature)
	fmt.Printf("%.1f um %v\n", float64(d)*1e6, err)
	// 47 K warmer it turns by 45 deg - 0.06 deg/K x 47 K.
	hot := film.Turn(45*quantity.Degree, film.At, film.At, film.Temperature, quantity.Celsius(70))
	fmt.Printf("%.2f deg\n", hot/float64(quantity.Degree))
	// Output:
	// 450.0 um <nil>
	// 42.18 deg
}

// A film far from the wavelength of its data says so.
func ExampleGarnet_Warning() {
	film, _ := material.NamedGarnet("Bi:RIG")
	fmt.Println(film.Warning(1550*quantity.Nanometre) == "", film.Warning(1064*quantity.Nanometre) == "")
	// Output: true false
}

// The Verdet constant falls as 1/T (Curie's law).
func ExampleParamagnet_Verdet() {
	tgg, _ := material.NamedParamagnet("TGG")
	cold, _ := tgg.Verdet(1064*quantity.Nanometre, quantity.Celsius(20))
	hot, err := tgg.Verdet(1064*quantity.Nanometre, quantity.Celsius(70))
	fmt.Printf("%.4f %.4f %v\n", hot/cold, 293.15/343.15, err)
	// Output: 0.8543 0.8543 <nil>
}

// Fused silica at 1550 nm; the value of its three-term Sellmeier fit is 1.44402 (I. H. Malitson, J. Opt. Soc. Am. 55,
// 1205, 1965).
func ExampleGlass_At() {
	silica, _ := material.NamedGlass("fused silica")
	n, err := silica.At(1550*quantity.Nanometre, quantity.Celsius(20))
	fmt.Printf("%.5f, group %.4f %v\n", n.N, n.Group, err)
	// Output: 1.44402, group 1.4626 <nil>
}
