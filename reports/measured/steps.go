package measured

import (
	"math"
	"slices"

	"wedgework/optics/quantity"
)

// sweepGrid is where the matrices of a sweep lie, in order of wavelength.
type sweepGrid struct {
	widths   []float64 // of the steps, hertz
	median   float64
	rounding float64 // relative standard uncertainty of a width, by the last digit of the wavelengths
}

// gridOfSweep finds the steps of a sweep. Instruments step evenly and files round: a wavelength written to 0.001 nm
// moves a step of 0.1 nm by 0.4 %. Where all wavelengths, or all frequencies, lie on an even grid within their last
// digit, the steps are those of that grid.
func (r *reader) gridOfSweep(rows []int) sweepGrid {
	f := make([]float64, len(rows))
	half := make([]float64, len(rows)) // half of the last digit, hertz
	l := make([]float64, len(rows))
	halfL := make([]float64, len(rows))
	lastL, lastF := r.last[Wavelength]/2, r.last[Frequency]/2
	for k, i := range rows {
		l[k] = float64(r.Wavelength[i])
		f[k] = quantity.LightSpeed / l[k]
		switch {
		case lastF > 0:
			half[k], halfL[k] = lastF, lastF*l[k]/f[k]
		default:
			half[k], halfL[k] = lastL*f[k]/l[k], lastL
		}
	}
	g := sweepGrid{widths: make([]float64, len(rows)-1)}
	var even bool
	if lastF == 0 {
		even = snap(l, halfL)
		if even {
			for k := range f {
				f[k] = quantity.LightSpeed / l[k]
			}
		}
	}
	if !even {
		even = snap(f, half)
	}
	for k := range g.widths {
		g.widths[k] = math.Abs(f[k+1] - f[k])
	}
	g.median = median(g.widths)
	if !even { // two roundings, each uniform over the last digit
		g.rounding = half[0] * math.Sqrt(2.0/3) / g.median
	}
	return g
}

// snap moves points to the even grid that all of them lie on within a half width each, where there is one; places of it
// may be left out. Few points lie on some grid by chance.
func snap(x, half []float64) bool {
	const fewest = 5
	const fitted = 1.25 // the fitted grid is itself off by a part of the last digit
	n := len(x)
	if n < fewest {
		return false
	}
	diffs := make([]float64, n-1)
	for k := range diffs {
		diffs[k] = x[k+1] - x[k]
	}
	width := median(diffs)
	if width == 0 {
		return false
	}
	at := make([]float64, n) // the place of each on the grid
	for k := 1; k < n; k++ {
		at[k] = at[k-1] + math.Round(diffs[k-1]/width)
		if at[k] == at[k-1] {
			return false
		}
	}
	a, b := line(at, x)
	for k := range x {
		if math.Abs(a+b*at[k]-x[k]) > half[k]*fitted+1e-13*math.Abs(x[k]) {
			return false
		}
	}
	for k := range x {
		x[k] = a + b*at[k]
	}
	return true
}

// line fits y = a + b x by least squares, about the means.
func line(x, y []float64) (a, b float64) {
	mx, my := mean(len(x), func(k int) float64 { return x[k] }), mean(len(y), func(k int) float64 { return y[k] })
	sxx, sxy := 0.0, 0.0
	for k := range x {
		sxx += (x[k] - mx) * (x[k] - mx)
		sxy += (x[k] - mx) * (y[k] - my)
	}
	b = sxy / sxx
	return my - b*mx, b
}

// median of the absolute values, with the sign of the values.
func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
