package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Fitted is a polynomial sum c[k] x^k and how far the values lie from it.
type Fitted struct {
	Coefficients []float64 // in the unit of the values over that of x to the k
	// Deviation is the root of the sum of the squared residuals over n - degree - 1, 0 where nothing is left.
	Deviation float64
	reach     float64   // the greatest |x|
	scaled    []float64 // coefficients of x/reach, from which values lose no digits
}

// At is the value at x.
func (f Fitted) At(x float64) float64 {
	v := 0.0
	for k := len(f.scaled) - 1; k >= 0; k-- {
		v = v*x/f.reach + f.scaled[k]
	}
	return v
}

// Polynomial fits a polynomial to values of one weight by least squares, through the orthogonal factorization of the
// design matrix (G. H. Golub, Numerische Mathematik 7, 206, 1965). It returns an error when there are fewer different
// values of x than coefficients.
func Polynomial(x, y []float64, degree int) (Fitted, error) {
	if len(x) <= degree {
		return Fitted{}, fmt.Errorf("a polynomial of degree %d needs %d values, the series has %d", degree, degree+1,
			len(x))
	}
	f := Fitted{reach: 0}
	for _, v := range x { // scaled to 1 at most, or the powers would be of very different sizes
		f.reach = max(f.reach, math.Abs(v))
	}
	if f.reach == 0 {
		f.reach = 1
	}
	m := mat.NewDense(len(x), degree+1, nil)
	for i, v := range x {
		for k, power := 0, 1.0; k <= degree; k, power = k+1, power*v/f.reach {
			m.Set(i, k, power)
		}
	}
	var qr mat.QR
	var c mat.VecDense
	qr.Factorize(m)
	if err := qr.SolveVecTo(&c, false, mat.NewVecDense(len(y), y)); err != nil {
		return Fitted{}, fmt.Errorf("the values do not determine a polynomial of degree %d", degree)
	}
	f.scaled = c.RawVector().Data
	for k, v := range f.scaled {
		f.Coefficients = append(f.Coefficients, v/math.Pow(f.reach, float64(k)))
	}
	sum := 0.0
	for i, v := range x {
		e := y[i] - f.At(v)
		sum += e * e
	}
	if spare := len(x) - degree - 1; spare > 0 {
		f.Deviation = math.Sqrt(sum / float64(spare))
	}
	return f, nil
}

// Deviation is the standard deviation of two or more values about their mean (JCGM 100:2008, 4.2.2).
func Deviation(values []float64) float64 { return stat.StdDev(values, nil) }
