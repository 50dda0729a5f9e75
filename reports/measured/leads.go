package measured

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// straighten mends the mean powers of four states where the leads moved between repeats. The states that arrive at the
// unit are then others in each, and the mean of their powers loses polarization; what stays alike is the length of the
// vector (m12, m13, m14), of whose mean square noise has its known share.
func (t *Table) straighten(of *Table, direction string, groups [][]int) {
	d, to := of.fourOf(direction), t.fourOf(direction)
	if d == nil || !of.leadsMoved(d, to, groups) {
		return
	}
	for g, rows := range groups {
		if len(rows) > 1 {
			t.meanLength(of, d, to, g, rows)
		}
	}
	t.Warnings = append(t.Warnings, fmt.Sprintf("the leads of %s moved between repeats %s: their powers differ by "+
		"more than noise, and lengths are averaged in place of powers", t.File.Name, direction))
}

// leadsMoved tells whether the vectors of repeats differ by more than the noise of the powers explains, of which one in
// a thousand tables does so by chance (chi-squared of the sum, as normal).
func (t *Table) leadsMoved(d, means []*division, groups [][]int) bool {
	const surely = 3.1 // standard deviations
	scatter, expected, variance, drifts, repeats := 0.0, 0.0, 0.0, 0.0, 1.0
	for g, rows := range groups {
		w := transmissions(means, g).vector()
		for _, i := range rows {
			f := transmissions(d, i)
			for k, x := range f.vector() {
				scatter += (x - w[k]) * (x - w[k])
			}
			own, drift := f.noiseOfVector(d, i)
			left := 1 - 1/float64(len(rows))
			expected += left * (own + drift)
			// of three components with unequal noise: 2 tr C^2 is less than (tr C)^2
			variance += left * own * left * own
			drifts += left * drift
			repeats = max(repeats, float64(len(rows)))
		}
	}
	variance += drifts * drifts / repeats // one drift moves all wavelengths of a sweep
	return expected > 0 && scatter > expected+surely*math.Sqrt(variance)
}

// meanLength sets the powers of a mean to those of a vector of the mean length in the direction of the first repeat,
// with as much noise as makes the uncertainty of its diattenuation that of the mean of the repeats'.
func (t *Table) meanLength(of *Table, d, to []*division, g int, rows []int) {
	n := float64(len(rows))
	square, noise, variance := 0.0, 0.0, 0.0
	for _, i := range rows {
		f := transmissions(d, i)
		for _, x := range f.vector() {
			square += x * x / n
		}
		own, drift := f.noiseOfVector(d, i)
		noise += (own + drift) / n
		u := of.diattenuation(d, f, i).Standard()
		variance += u * u / (n * n)
	}
	length := math.Sqrt(max(square-noise, 0) + noise/n)
	v, was := transmissions(d, rows[0]).vector(), 0.0
	for _, x := range v {
		was += x * x
	}
	for k := range v {
		v[k] *= length / math.Sqrt(was)
	}
	m := transmissions(to, g).Mean
	for k, p := range [4]float64{m + v[0], m - v[0], m + v[1], m + v[2]} {
		to[k].dB[g] = quantity.Decibels(max(p, 1e-15))
	}
	if u := t.diattenuation(to, transmissions(to, g), g).Standard(); u > 0 {
		for k := range to {
			to[k].u[g] *= math.Sqrt(variance) / u
		}
	}
}
