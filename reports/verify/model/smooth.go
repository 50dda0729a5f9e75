package model

import (
	"math"
	"sync"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

const (
	// smoothLeastIntervals is the coarsest grid, in intervals.
	smoothLeastIntervals = 4
	// smoothMost is the finest grid tried, in intervals; a curve that needs more is evaluated in full.
	smoothMost = 64
	// smoothError is the relative error of a transmission that passes, 0.00004 dB.
	smoothError = 1e-5
)

// smooth evaluates a curve that is smooth over wavelength at many wavelengths from few: a polynomial
// through Chebyshev points, doubled until the new points lie on it. The points are nested, so nothing is
// evaluated twice. (Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, chapters 2-5.)
// A verification asks for some thousand sweeps of hundreds of readings, which differ in a parameter only.
//
// With unchecked the first points must do: the curve is known to be one that they carry. of is what is wanted of each
// value.
func smooth[T any](ls []quantity.Length, unchecked bool, evaluate func([]quantity.Length) ([]polar.Gram, error),
	of func(polar.Gram) T) ([]T, error) {
	full := func() ([]T, error) {
		values, err := evaluate(ls)
		if err != nil {
			return nil, err
		}
		out := make([]T, len(values))
		for i, v := range values {
			out[i] = of(v)
		}
		return out, nil
	}
	lo, hi := ls[0], ls[0]
	for _, l := range ls {
		lo, hi = min(lo, l), max(hi, l)
	}
	intervals := smoothLeastIntervals
	if len(ls) <= 2*intervals || hi == lo {
		return full()
	}
	values, err := evaluate(chebyshev(lo, hi, intervals, 0, 1))
	if err != nil {
		return nil, err
	}
	all := func() []T {
		out, at := make([]T, len(ls)), Nodes(intervals)
		for i, l := range ls {
			out[i] = of(interpolate(values, at, Position(lo, hi, l)))
		}
		return out
	}
	if unchecked {
		return all(), nil
	}
	for intervals < smoothMost && 2*intervals < len(ls) {
		// The odd points of the doubled grid are new, the even ones those at hand.
		at := chebyshev(lo, hi, 2*intervals, 1, 2)
		news, err := evaluate(at)
		if err != nil {
			return nil, err
		}
		good := true
		for k, l := range at {
			good = good && near(interpolate(values, Nodes(intervals), Position(lo, hi, l)), news[k])
		}
		finer := make([]polar.Gram, 2*intervals+1)
		for k := range finer {
			if k%2 == 0 {
				finer[k] = values[k/2]
			} else {
				finer[k] = news[k/2]
			}
		}
		values, intervals = finer, 2*intervals
		if good {
			return all(), nil
		}
	}
	return full()
}

// near reports whether an interpolated value is good enough for what was evaluated there.
func near(p, h polar.Gram) bool {
	off := smoothError * (h.XX + h.YY) / 2
	return math.Abs(p.XX-h.XX) <= off && math.Abs(p.YY-h.YY) <= off &&
		math.Abs(real(p.XY-h.XY)) <= off && math.Abs(imag(p.XY-h.XY)) <= off
}

// chebyshev returns the points cos(k pi / n) of [lo, hi], for k from first in steps.
func chebyshev(lo, hi quantity.Length, n, first, step int) []quantity.Length {
	ls, at := make([]quantity.Length, 0, n/step+1), Nodes(n)
	for k := first; k <= n; k += step {
		// The ends exactly: a crystal's range may end there.
		switch k {
		case 0:
			ls = append(ls, hi)
		case n:
			ls = append(ls, lo)
		default:
			ls = append(ls, (hi+lo)/2+(hi-lo)/2*quantity.Length(at[k]))
		}
	}
	return ls
}

// Nodes returns cos(k pi / n) for k from 0 to n. They are few, and asked for a million times.
func Nodes(n int) []float64 { return everyNode()[n] }

var everyNode = sync.OnceValue(func() [][]float64 {
	all := make([][]float64, 2*smoothMost+1)
	for n := range all {
		for k := 0; k <= n; k++ {
			all[n] = append(all[n], math.Cos(float64(k)*math.Pi/float64(max(n, 1))))
		}
	}
	return all
})

func Position(lo, hi, l quantity.Length) float64 { return float64((2*l - hi - lo) / (hi - lo)) }

// interpolate evaluates the polynomial at x by the barycentric formula, whose weights at Chebyshev points alternate
// in sign and are half at the ends.
func interpolate(values []polar.Gram, at []float64, x float64) polar.Gram {
	n := len(values) - 1
	var sum, xx, yy, re, im float64
	sign := 1.0
	for k, v := range values {
		if x == at[k] {
			return v
		}
		w := sign / (x - at[k])
		sign = -sign
		if k == 0 || k == n {
			w /= 2
		}
		sum, xx, yy = sum+w, xx+w*v.XX, yy+w*v.YY
		re, im = re+w*real(v.XY), im+w*imag(v.XY)
	}
	return polar.Gram{XX: xx / sum, YY: yy / sum, XY: complex(re/sum, im/sum)}
}
