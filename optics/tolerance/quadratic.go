package tolerance

import (
	"gonum.org/v1/gonum/mat"

	"wedgework/optics/parallel"
)

// Quadratic is a second-order response surface: by how much many values change when a few variables are displaced
// from a centre, sum of b_j x_j + c_jj x_j^2 + c_jk x_j x_k (G. E. P. Box and K. B. Wilson, Journal of the Royal
// Statistical Society B 13, 1, 1951). It goes exactly through the points that it was laid from.
type Quadratic struct {
	places []place
	terms  *mat.Dense // by place: the coefficient of each value
}

// place is a term: that of one variable (side 0 the slope, side 1 the curvature), or the product of two. It is also
// where the values are evaluated for it.
type place struct{ j, k, side int }

// Places returns how many evaluations a Quadratic of n variables takes beside that of the centre: n(n+3)/2.
func Places(n int) int { return n * (n + 3) / 2 }

// Lay evaluates the values with each variable displaced by both of its steps, which are different and not 0, and each
// pair of variables by their first. centre holds the values at the centre. evaluate may be called by several
// goroutines, and returns as many values; its first error is returned.
func Lay(centre []float64, steps [][2]float64, evaluate func(x []float64) ([]float64, error)) (*Quadratic, error) {
	var places []place
	for j := range steps {
		places = append(places, place{j, j, 0}, place{j, j, 1})
	}
	for j := range steps {
		for k := range j {
			places = append(places, place{j, k, 0})
		}
	}
	off := make([][]float64, len(places))
	err := parallel.Each(len(places), func(n int) error {
		x, w := make([]float64, len(steps)), places[n]
		x[w.j] = steps[w.j][w.side]
		if w.k != w.j {
			x[w.k] = steps[w.k][w.side]
		}
		values, err := evaluate(x)
		if err != nil {
			return err
		}
		off[n] = make([]float64, len(values))
		for i, v := range values {
			off[n][i] = v - centre[i]
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	q := &Quadratic{places, mat.NewDense(len(places), len(centre), nil)}
	for n, w := range places {
		a, b := steps[w.j][0], steps[w.j][1]
		for i := range centre {
			first, second := off[2*w.j][i], off[2*w.j+1][i]
			switch curve := (first/a - second/b) / (a - b); {
			case w.k != w.j:
				q.terms.Set(n, i, (off[n][i]-first-off[2*w.k][i])/(a*steps[w.k][0]))
			case w.side == 0:
				q.terms.Set(n, i, first/a-curve*a)
			default:
				q.terms.Set(n, i, curve)
			}
		}
	}
	return q, nil
}

// Differences returns how the values differ from those at the centre: a row for each point, given by its
// displacements, and a column for each value.
func (q *Quadratic) Differences(points [][]float64) *mat.Dense {
	of := mat.NewDense(len(points), len(q.places), nil)
	for n, w := range q.places {
		for t, x := range points {
			y := 1.0
			if w.k != w.j || w.side == 1 {
				y = x[w.k]
			}
			of.Set(t, n, x[w.j]*y)
		}
	}
	var off mat.Dense
	off.Mul(of, q.terms)
	return &off
}
