package ray_test

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/ray"
)

// Snell's law: light that falls onto glass of index 1.5 at 30 deg goes on at asin(sin 30 deg / 1.5) = 19.47 deg.
func ExampleRefract() {
	normal := r3.Vec{Z: 1}
	w, ok := ray.Refract(r3.Vec{X: math.Sin(math.Pi / 6)}, normal, 1.5, 1.5)
	fmt.Printf("%.2f deg %v\n", math.Atan2(w.S.X, w.S.Z)*180/math.Pi, ok)
	// From inside, 45 deg is beyond the critical angle of 41.8 deg.
	_, ok = ray.Refract(r3.Vec{X: 1.5 * math.Sin(math.Pi/4)}, normal, 1, 1)
	fmt.Println(ok)
	// Output:
	// 19.47 deg true
	// false
}

// At normal incidence on YVO4 cut at 45 deg the extraordinary ray walks off by
// atan((ne^2 - no^2) sin 45 cos 45 / (ne^2 cos^2 45 + no^2 sin^2 45)) = 5.68 deg, the ordinary one not at all.
func ExampleUniaxial_Extraordinary() {
	s := math.Sqrt(0.5)
	yvo4 := ray.Uniaxial{O: 1.9447, E: 2.1486, GroupO: 1.98, GroupE: 2.19, Axis: r3.Vec{X: s, Z: s}}
	e, _ := yvo4.Extraordinary(r3.Vec{}, r3.Vec{Z: 1})
	o, _ := yvo4.Ordinary(r3.Vec{}, r3.Vec{Z: 1})
	fmt.Printf("%.2f deg, %.2f deg\n", math.Atan2(e.S.X, e.S.Z)*180/math.Pi, math.Atan2(o.S.X, o.S.Z)*180/math.Pi)
	// Output: 5.68 deg, 0.00 deg
}

// Turn hands a field over from one direction of travel to another: what lies across both stays.
func ExampleTurn() {
	to := r3.Vec{X: 1}
	fmt.Printf("%.3g %.3g\n", ray.Turn(r3.Vec{X: 1}, r3.Vec{Z: 1}, to), ray.Turn(r3.Vec{Y: 1}, r3.Vec{Z: 1}, to))
	// Output: {0 0 -1} {0 1 0}
}
