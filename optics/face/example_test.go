package face_test

import (
	"fmt"
	"math/cmplx"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/face"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// A quarter wave of index sqrt(n) takes the reflection off a face; bare, it is ((n-1)/(n+1))^2.
func ExampleCoating() {
	const n, wavelength = 2.25, 1550 * quantity.Nanometre
	bare, _ := face.Coating(1, nil, n, 0, wavelength)
	film := face.Layer{Index: 1.5, Thickness: wavelength / 4 / 1.5}
	coated, _ := face.Coating(1, []face.Layer{film}, n, 0, wavelength)
	fmt.Printf("bare %.4f, coated %.4f\n", bare.Reflectance(), coated.Reflectance())
	// Output: bare 0.1479, coated 0.0000
}

// At Brewster's angle, atan 1.5 = 56.31 deg, a bare face of glass reflects no p light.
func ExampleShares() {
	s, _ := face.Coating(1, nil, 1.5, 56.31*quantity.Degree, 1550*quantity.Nanometre)
	fmt.Printf("s %.4f, p %.4f, of unpolarized light %.4f\n", s.RS, s.RP, s.Reflectance())
	// Output: s 0.1479, p 0.0000, of unpolarized light 0.0740
}

// A bare face of a crystal at normal incidence reflects each ray as its own index says: 10.29 % and 13.30 %.
func ExampleScatter() {
	yvo4 := &ray.Uniaxial{O: 1.9447, E: 2.1486, GroupO: 1.98, GroupE: 2.19, Axis: r3.Vec{X: 1}}
	s, ok := face.Scatter(face.Side{Crystal: yvo4}, nil, face.Side{Index: 1, Group: 1}, r3.Vec{}, r3.Vec{Z: 1},
		1550*quantity.Nanometre)
	power := func(a complex128) float64 { return cmplx.Abs(a) * cmplx.Abs(a) }
	fmt.Printf("o %.4f, e %.4f %v\n", power(s.R[0][0]), power(s.R[1][1]), ok)
	// Output: o 0.1029, e 0.1331 true
}

// A layer must not amplify: n - i k is the other sign of the time factor.
func ExampleLayer_Check() {
	fmt.Println(face.Layer{Index: 2 - 0.1i, Thickness: 200 * quantity.Nanometre}.Check())
	// Output: layer index (2-0.1i) would amplify: an absorbing film is written n + i k with k positive
}
