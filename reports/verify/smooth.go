package verify

import (
	"math"

	"wedgework/optics/quantity"
)

const (
	// smoothMost is the finest grid tried, in intervals; a curve that needs more is evaluated in full.
	smoothMost = 64
	// smoothError is the relative error of a transmission that passes, 0.00004 dB.
	smoothError = 1e-5
)

// smooth evaluates a curve that is smooth over wavelength at many wavelengths from few: a polynomial
// through Chebyshev points, doubled until the new points lie on it. The points are nested, so nothing is
// evaluated twice. (Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, chapters 2-5.)
// A verification asks for some thousand sweeps of hundreds of readings, which differ in a parameter only.
func smooth(ls []quantity.Length, evaluate func([]quantity.Length) ([]Transmission, error)) ([]Transmission, error) {
	lo, hi := ls[0], ls[0]
	for _, l := range ls {
		lo, hi = min(lo, l), max(hi, l)
	}
	intervals := 4
	if len(ls) <= 2*intervals || hi == lo {
		return evaluate(ls)
	}
	values, err := evaluate(chebyshev(lo, hi, intervals, 0, 1))
	if err != nil {
		return nil, err
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
			p := interpolate(values, position(lo, hi, l))
			good = good && math.Abs(p.T1-news[k].T1) <= smoothError*news[k].T1 && math.Abs(p.T2-news[k].T2) <= smoothError*news[k].T1
		}
		finer := make([]Transmission, 2*intervals+1)
		for k := range finer {
			if k%2 == 0 {
				finer[k] = values[k/2]
			} else {
				finer[k] = news[k/2]
			}
		}
		values, intervals = finer, 2*intervals
		if good {
			out := make([]Transmission, len(ls))
			for i, l := range ls {
				out[i] = interpolate(values, position(lo, hi, l))
			}
			return out, nil
		}
	}
	return evaluate(ls)
}

// chebyshev returns the points cos(k pi / n) of [lo, hi], for k from first in steps.
func chebyshev(lo, hi quantity.Length, n, first, step int) []quantity.Length {
	var ls []quantity.Length
	for k := first; k <= n; k += step {
		x := math.Cos(float64(k) * math.Pi / float64(n))
		// The ends exactly: a crystal's range may end there.
		switch k {
		case 0:
			ls = append(ls, hi)
		case n:
			ls = append(ls, lo)
		default:
			ls = append(ls, (hi+lo)/2+(hi-lo)/2*quantity.Length(x))
		}
	}
	return ls
}

func position(lo, hi, l quantity.Length) float64 { return float64((2*l - hi - lo) / (hi - lo)) }

// interpolate evaluates the polynomial at x in [-1, 1] by the barycentric formula, whose weights at
// Chebyshev points alternate in sign and are half at the ends.
func interpolate(values []Transmission, x float64) Transmission {
	n := len(values) - 1
	var sum, t1, t2 float64
	for k, v := range values {
		at := math.Cos(float64(k) * math.Pi / float64(n))
		if x == at {
			return v
		}
		w := 1 / (x - at)
		if k%2 == 1 {
			w = -w
		}
		if k == 0 || k == n {
			w /= 2
		}
		sum, t1, t2 = sum+w, t1+w*v.T1, t2+w*v.T2
	}
	return Transmission{t1 / sum, t2 / sum}
}
