package readings

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// PeakReach is how far to either side of the lowest leakage readings enter the parabola. The same parabola is
// laid through the model, so that what a parabola misses of the true curve cancels.
const PeakReach = 25 * quantity.Nanometre

// peakLeast is the number of readings a parabola needs to be worth laying.
const peakLeast = 7

// parabola estimates the wavelength of least leakage by weighted least squares in net power, where a reading
// below the floor still counts for what it is.
type parabola struct {
	at   []int // indices of the observations used
	zero quantity.Length
	// a, b and c are what each power adds to the three coefficients, per power of nm.
	a, b, c []float64
	First   quantity.Length
	Last    quantity.Length
}

// NewParabola picks the readings of a run around its least leakage.
func (d *Set) NewParabola(run int, power *uncertainty.Covariance, out func(int) bool) (*parabola, error) {
	all := slices.DeleteFunc(d.Sorted(run), func(i int) bool { return out(i) || d.Obs[i].Bound })
	if len(all) < peakLeast {
		return nil, fmt.Errorf("%d isolation readings; at least %d are needed", len(all), peakLeast)
	}
	// The lowest mean of five neighbours: one low reading does not move the window.
	lowest, zero := math.Inf(1), d.Obs[all[0]].Wavelength
	for k := 2; k < len(all)-2; k++ {
		sum := 0.0
		for _, i := range all[k-2 : k+3] {
			sum += d.Obs[i].Value
		}
		if sum < lowest {
			lowest, zero = sum, d.Obs[all[k]].Wavelength
		}
	}
	p := &parabola{zero: zero, First: d.Obs[all[0]].Wavelength, Last: d.Obs[all[len(all)-1]].Wavelength}
	for _, i := range all {
		if l := d.Obs[i].Wavelength; l >= zero-PeakReach && l <= zero+PeakReach {
			p.at = append(p.at, i)
		}
	}
	if len(p.at) < peakLeast {
		return nil, fmt.Errorf("%d isolation readings within %.0f nm of the minimum leakage; at least %d are needed",
			len(p.at),
			float64(PeakReach/quantity.Nanometre), peakLeast)
	}
	return p, p.weigh(d, power)
}

// weigh finds the rows of (A^T W A)^-1 A^T W that give the two coefficients, by singular values.
func (p *parabola) weigh(d *Set, power *uncertainty.Covariance) error {
	a := mat.NewDense(len(p.at), 3, nil)
	w := make([]float64, len(p.at))
	const reach = float64(PeakReach / quantity.Nanometre) // keeps the columns of one size
	for k, i := range p.at {
		w[k] = 1 / power.Standard(i)
		x := float64((d.Obs[i].Wavelength-p.zero)/quantity.Nanometre) / reach
		a.SetRow(k, []float64{w[k], w[k] * x, w[k] * x * x})
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return fmt.Errorf("no parabola can be fitted to the readings")
	}
	values := svd.Values(nil)
	if values[2] < 1e-6*values[0] {
		return fmt.Errorf("no parabola can be fitted at these wavelengths")
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	p.a, p.b, p.c = make([]float64, len(p.at)), make([]float64, len(p.at)), make([]float64, len(p.at))
	for k := range p.at {
		for q, value := range values {
			p.a[k] += v.At(0, q) / value * u.At(k, q) * w[k]
			p.b[k] += v.At(1, q) / value * u.At(k, q) * w[k] / reach
			p.c[k] += v.At(2, q) / value * u.At(k, q) * w[k] / (reach * reach)
		}
	}
	return nil
}

// coefficients of the parabola through the given powers of all observations.
func (p *parabola) coefficients(values []float64) (b, c float64) {
	for k, i := range p.at {
		b += p.b[k] * values[i]
		c += p.c[k] * values[i]
	}
	return b, c
}

// Peak returns the wavelength of least leakage in nm.
func (p *parabola) Peak(values []float64) float64 {
	b, c := p.coefficients(values)
	return float64(p.zero/quantity.Nanometre) - b/(2*c)
}

// Gradient returns the derivative of peak by every observation, n of them.
func (p *parabola) Gradient(values []float64, n int) []float64 {
	b, c := p.coefficients(values)
	g := make([]float64, n)
	for k, i := range p.at {
		g[i] = -p.b[k]/(2*c) + b*p.c[k]/(2*c*c)
	}
	return g
}

// Count is how many readings the parabola is fitted to.
func (p *parabola) Count() int { return len(p.at) }

// Least returns the power at the vertex, a - b^2/(4c).
func (p *parabola) Least(values []float64) float64 {
	a := 0.0
	for k, i := range p.at {
		a += p.a[k] * values[i]
	}
	b, c := p.coefficients(values)
	return a - b*b/(4*c)
}

// LeastGradient returns the derivative of Least by every observation, n of them.
func (p *parabola) LeastGradient(values []float64, n int) []float64 {
	b, c := p.coefficients(values)
	g := make([]float64, n)
	for k, i := range p.at {
		g[i] = p.a[k] - p.b[k]*b/(2*c) + p.c[k]*b*b/(4*c*c)
	}
	return g
}

// Curved reports whether the readings show a curvature, three times its standard uncertainty.
func (p *parabola) Curved(values []float64, power *uncertainty.Covariance) bool {
	_, c := p.coefficients(values)
	g := make([]float64, len(values))
	for k, i := range p.at {
		g[i] = p.c[k]
	}
	return c > 3*Root(power.Between(g, g))
}
