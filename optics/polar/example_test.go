package polar_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"wedgework/optics/polar"
)

// The polarization-dependent loss of a partial polarizer that passes 98 % of x and 95 % of y is the ratio of the two.
func ExampleGram_Extremes() {
	var h polar.Gram
	h.Add(polar.Matrix{{complex(math.Sqrt(0.98), 0), 0}, {0, complex(math.Sqrt(0.95), 0)}})
	t1, t2 := h.Extremes()
	fmt.Printf("insertion loss %.4f dB, PDL %.4f dB\n", -10*math.Log10((t1+t2)/2), 10*math.Log10(t1/t2))
	// Output: insertion loss 0.1547 dB, PDL 0.1350 dB
}

// A crossed polarizer behind a rotation of 45 deg plus an error d passes sin^2 d: 41.18 dB at half a degree, whatever
// the phase of the matrix.
func ExampleMatrix_Mul() {
	const theta = 45.5 * math.Pi / 180
	s, c := math.Sincos(theta)
	turn := polar.Matrix{{complex(c, 0), complex(-s, 0)}, {complex(s, 0), complex(c, 0)}}
	// The sheet passes the azimuth of -45 deg, across where +45 deg turns light from x to.
	sheet := polar.Matrix{{0.5, -0.5}, {-0.5, 0.5}}
	m := sheet.Mul(turn).Scale(1i)
	power := cmplx.Abs(m[0][0])*cmplx.Abs(m[0][0]) + cmplx.Abs(m[1][0])*cmplx.Abs(m[1][0])
	fmt.Printf("%.2f dB, %.2f dB\n", -10*math.Log10(power), -20*math.Log10(math.Sin(0.5*math.Pi/180)))
	// Output: 41.18 dB, 41.18 dB
}

// A birefringent plate with 0.7 ps between its axes has a differential group delay of 0.7 ps.
func ExampleDelays() {
	const tau, omega = 0.7e-12, 1.215e15 // s, rad/s
	half := cmplx.Exp(complex(0, omega*tau/2))
	m := polar.Matrix{{half, 0}, {0, 1 / half}}
	derivative := polar.Matrix{{complex(0, tau/2) * half, 0}, {0, complex(0, -tau/2) / half}}
	slow, fast, ok := polar.Delays(m, derivative)
	fmt.Printf("%.3f ps %v\n", (slow-fast)*1e12, ok)
	// Output: 0.700 ps true
}

// Two Jones matrices 0.8 nm apart, about 100 GHz, give the same delay by the phase between them.
func ExampleStepPhase() {
	const tau, step = 0.7e-12, 2 * math.Pi * 100e9
	at := func(w float64) polar.Matrix {
		half := cmplx.Exp(complex(0, w*tau/2))
		return polar.Matrix{{half, 0}, {0, 1 / half}}
	}
	phase, ok := polar.StepPhase(at(1.215e15), at(1.215e15+step))
	fmt.Printf("%.3f ps %v\n", phase/step*1e12, ok)
	// Output: 0.700 ps true
}

// Four launch states give the mean and the extremes over all states of polarization (the Mueller method).
func ExampleFourStates() {
	// A polarizer along x that passes 0.9 and blocks to 0.1: linear 0, 90 and 45 deg, and circular.
	t := polar.FourStates([4]float64{0.9, 0.1, 0.5, 0.5})
	fmt.Printf("mean %.2f, %.2f to %.2f\n", t.Mean, t.T2, t.T1)
	// Output: mean 0.50, 0.10 to 0.90
}
