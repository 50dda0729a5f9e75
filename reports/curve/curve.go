// Package curve estimates a function of one variable from noisy readings of it: at the readings, between them and a
// little beyond them, with the uncertainty that the spacing of the readings and the shape of the curve leave.
//
// A figure such as the minimum isolation over a band belongs to the band, not to the readings that happen to lie in
// it. Between readings the curve may go lower, and no reading need stand at the end of the band. The package therefore
// treats the curve as
//
//	f(x) = p(x) + g(x) + w(x)
//
// where p is a polynomial whose coefficients are free, g a Gaussian process that departs smoothly from it
// (squared-exponential covariance), and w texture finer than the readings resolve: a stated standard deviation, such as
// that of ripple from double reflections, and whatever the readings scatter by beyond their stated noise. Standard
// deviation and length of g and the excess of w are not fixed but averaged over with the weight that the readings give
// them (marginal likelihood), so that few readings give wide intervals of their own accord.
//
// Method: Gaussian-process regression with a polynomial trend (C. E. Rasmussen and C. K. I. Williams, Gaussian
// Processes for Machine Learning, MIT Press 2006, chapters 2 and 5), g in the sine basis of A. Solin and S. Särkkä,
// Statistics and Computing 30, 419 (2020). Readings are usually handed over as differences from a model, whose shape
// then carries the interpolation; the package itself knows nothing of optics.
package curve

import (
	"fmt"
	"math"
	"slices"
)

// Reading is one value of the curve. Noise is its standard uncertainty that it shares with no other reading, in the
// unit of Value, and positive: errors common to all readings move the curve as a whole and are the caller's to add.
type Reading struct{ At, Value, Noise float64 }

// Texture is structure finer than the readings resolve.
type Texture struct {
	// Standard is the standard deviation at x, in the unit of the values; nil stands for none.
	Standard func(x float64) float64
	// Period is the shortest distance over which the structure repeats, in the unit of At; positive where
	// Standard is given.
	Period float64
}

// Shape is what is known of a curve before it is read.
type Shape struct {
	Degree  int // of the polynomial whose coefficients are free, 0 to 3
	Texture Texture
	// Shortest is the least length of the smooth process, in the unit of At; structure finer than that counts as
	// texture. 0 leaves it to the readings.
	Shortest float64
}

// Curve is what readings say of a function. It is made by Fit and not changed afterwards.
type Curve struct {
	readings []Reading // in rising order of At
	basis    basis
	shortest float64
	texture  Texture
	mixture  []component
	pooled   pooled
	scatter  Scatter
}

// MinReadings is how many readings a polynomial of a degree needs: one more than its coefficients, so that its own
// misfit shows.
func MinReadings(degree int) int { return degree + 2 }

// Fit estimates a curve. It returns an error when there are fewer than MinReadings(Degree) different positions, or when
// a reading is not finite or has no positive noise.
func Fit(readings []Reading, known Shape) (*Curve, error) {
	degree, texture := known.Degree, known.Texture
	if degree < 0 || degree > 3 {
		return nil, fmt.Errorf("curve: a polynomial of degree %d: expected 0 to 3", degree)
	}
	rs := slices.Clone(readings)
	slices.SortStableFunc(rs, func(a, b Reading) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	different := 0
	for i, r := range rs {
		if !finite(r.At) || !finite(r.Value) || !finite(r.Noise) || !(r.Noise > 0) {
			return nil, fmt.Errorf("curve: reading %g at %g with noise %g: expected finite numbers and a positive "+
				"noise",
				r.Value, r.At, r.Noise)
		}
		if i == 0 || r.At > rs[i-1].At {
			different++
		}
	}
	if different < MinReadings(degree) {
		return nil, fmt.Errorf("curve: readings at %d different positions: a polynomial of degree %d needs %d",
			different, degree, MinReadings(degree))
	}
	if texture.Standard != nil && !(texture.Period > 0) {
		return nil, fmt.Errorf("curve: texture of period %g: expected a positive distance", texture.Period)
	}
	c := &Curve{readings: merged(rs), texture: texture, shortest: known.Shortest}
	c.basis = newBasis(c.readings, degree)
	c.average()
	// What was learned widens the curve's uncertainty; the readings are still judged by what was stated.
	judged := c.scatter
	if c.learn() {
		c.average()
		c.scatter = judged
	}
	return c, nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// merged replaces readings at one position by their weighted mean: repeats say nothing about the shape.
func merged(rs []Reading) []Reading {
	var out []Reading
	for i := 0; i < len(rs); {
		j := i
		var sw, swv float64
		for ; j < len(rs) && rs[j].At == rs[i].At; j++ {
			w := 1 / (rs[j].Noise * rs[j].Noise)
			sw, swv = sw+w, swv+w*rs[j].Value
		}
		out = append(out, Reading{At: rs[i].At, Value: swv / sw, Noise: 1 / math.Sqrt(sw)})
		i = j
	}
	return out
}

// standard is the stated standard deviation of the texture at x.
func (t Texture) standard(x float64) float64 {
	if t.Standard == nil {
		return 0
	}
	return max(t.Standard(x), 0)
}

// correlation of the texture over a distance d: a squared exponential with the curvature at 0 of a cosine of the
// period.
func (t Texture) correlation(d float64) float64 {
	if t.Period <= 0 {
		return 0
	}
	c := t.Period / (2 * math.Pi)
	return math.Exp(-d * d / (2 * c * c))
}
