package beam_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"wedgework/optics/beam"
)

// Two equal modes of waist w that are off by x couple by exp(-(x/w)^2) in power: 4.34 dB at x = w (Joyce and DeLoach).
func ExampleCoupler_Overlap() {
	const wavelength, w = 1.55e-6, 200e-6
	c := beam.Coupler{K: 2 * math.Pi / wavelength, SentW: w, WaitingW: w}
	a := c.Overlap(&beam.Course{Offset: beam.Vec{X: w}})
	fmt.Printf("offset: %.2f dB\n", -20*math.Log10(cmplx.Abs(a)))
	// A tilt of lambda/(pi w), the divergence, costs as much.
	a = c.Overlap(&beam.Course{Waiting: beam.Vec{X: wavelength / (math.Pi * w)}})
	fmt.Printf("tilt:   %.2f dB\n", -20*math.Log10(cmplx.Abs(a)))
	// Output:
	// offset: 4.34 dB
	// tilt:   4.34 dB
}

// A mode of 200 um radius stays collimated over a decimetre.
func ExampleRayleighRange() {
	fmt.Printf("%.1f mm\n", beam.RayleighRange(200e-6, 1550e-9)*1e3)
	// Output: 81.1 mm
}

// A round aperture of the beam's own radius, centred, passes 1 - exp(-2) of the power.
func ExampleClip() {
	fmt.Printf("%.4f %.4f\n", beam.Clip(0, 1, 1), 1-math.Exp(-2))
	// Output: 0.8647 0.8647
}

// The mode field of a step-index fibre of 8.2 um core and numerical aperture 0.14 is 9.2 um at 1550 nm.
func ExampleMarcuseRadius() {
	w, err := beam.MarcuseRadius(4.1e-6, 0.14, 1550e-9)
	fmt.Printf("%.2f um %v\n", 2*w*1e6, err)
	_, err = beam.MarcuseRadius(4.1e-6, 0.14, 850e-9)
	fmt.Println(err)
	// Output:
	// 9.22 um <nil>
	// normalized frequency V = 4.24 of the fibre lies outside 0.8 to 2.5, where Marcuse's mode-field formula holds
}

// A lens of 2 mm makes a waist of about f lambda/(pi w) of a fibre's mode, 5 mm in front of it when it is set so.
func ExampleCollimate() {
	lens, err := beam.Collimate(2e-3, 5.2e-6, 1550e-9, 5e-3)
	if err != nil {
		fmt.Println(err)
		return
	}
	w, distance := lens.Waist(5.2e-6, 1550e-9)
	fmt.Printf("waist %.1f um at %.2f mm, fibre %.4f mm behind the focus\n", w*1e6, distance*1e3,
		(lens.Distance-lens.Focal)*1e3)
	// Output: waist 189.6 um at 5.00 mm, fibre 0.0023 mm behind the focus
}
