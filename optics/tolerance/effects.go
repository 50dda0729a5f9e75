package tolerance

import (
	"context"
	"fmt"
	"math"
)

// Share is a share of a variance, with the standard error of its estimate.
type Share struct{ Value, Error float64 }

// Effects is how much of the variance of each figure the parameters cause.
type Effects struct {
	Paths []string  // of the toleranced parameters, in the stack's order
	First [][]Share // by figure and parameter: what it causes by itself, the mean over all others
	Total [][]Share // by figure and parameter: what would go with it, its interactions with others included
	Units int       // that were evaluated
}

// Effects estimates first-order and total effects (I. M. Sobol, Mathematical Modelling and Computational Experiments 1,
// 407, 1993) from rows units of two independent draws and, for each parameter, the first with that parameter taken from
// the second: rows (m + 2) units. First-order effects as A. Saltelli et al., Computer Physics Communications 181, 259
// (2010), total ones as M. J. W. Jansen, Computer Physics Communications 117, 35 (1999). Tolerances must be independent
// of each other. The study's Trials are not read. Errors are those of Run.
func (s Study) Effects(ctx context.Context, rows int) (*Effects, error) {
	w, err := s.begin(ctx)
	if err != nil {
		return nil, err
	}
	if len(s.Correlations) > 0 {
		return nil, fmt.Errorf("effects need tolerances that are independent of each other")
	}
	m := len(w.sample.Axes)
	n := rows * (m + 2)
	if rows < 2 || n*len(s.Figures) > most {
		return nil, fmt.Errorf("effects of %d tolerances on %d figures from %d rows: expected at least 2 rows, and "+
			"no more than %d numbers in all", m, len(s.Figures), rows, most)
	}
	values := make([][]float64, len(s.Figures))
	for k := range values {
		values[k] = make([]float64, n)
	}
	stream := NewStream(s.Seed, 2*m)
	err = w.every(n, func(unit, j int) float64 {
		return w.sample.Axes[j].Displaced(w.drawn[j](stream.At(crossed(unit, m, j))))
	}, func(unit int, figures []float64) {
		for k, v := range figures {
			values[k][unit] = v
		}
	})
	if err != nil {
		return nil, err
	}
	out := &Effects{Paths: w.sample.Paths(), Units: n}
	for k := range values {
		first, total := effects(values[k], m)
		out.First, out.Total = append(out.First, first), append(out.Total, total)
	}
	return out, nil
}

// crossed is where unit u of a study of effects has parameter j from: a row of the stream, and which of its numbers. Of
// each m+2 units the first is A, the second B, and the others are A with one parameter of B.
func crossed(u, m, j int) (row, number int) {
	row = u / (m + 2)
	if k := u % (m + 2); k == 1 || k == 2+j {
		return row, m + j
	}
	return row, j
}

// effects returns the first-order and the total effects of m parameters on values in the order of crossed; zero where
// the values do not differ.
func effects(values []float64, m int) (first, total []Share) {
	rows := len(values) / (m + 2)
	of := func(row, k int) float64 { return values[row*(m+2)+k] }
	var mean, variance float64
	for r := range rows {
		mean += (of(r, 0) + of(r, 1)) / float64(2*rows)
	}
	for r := range rows {
		a, b := of(r, 0)-mean, of(r, 1)-mean
		variance += (a*a + b*b) / float64(2*rows-1)
	}
	first, total = make([]Share, m), make([]Share, m)
	if variance == 0 {
		return first, total
	}
	for j := range m {
		first[j] = shareOf(rows, variance, func(r int) float64 { return (of(r, 1) - mean) * (of(r, 2+j) - of(r, 0)) })
		total[j] = shareOf(rows, variance, func(r int) float64 {
			d := of(r, 0) - of(r, 2+j)
			return d * d / 2
		})
	}
	return first, total
}

// shareOf is the mean of terms over a variance, and its standard error.
func shareOf(rows int, variance float64, term func(row int) float64) Share {
	var sum, square float64
	for r := range rows {
		t := term(r) / variance
		sum += t
		square += t * t
	}
	n := float64(rows)
	mean := sum / n
	return Share{mean, math.Sqrt(max(square/n-mean*mean, 0) / (n - 1))}
}

// every evaluates n units, by a program where there is one.
func (w *study) every(n int, displacement func(unit, j int) float64, take func(unit int, figures []float64)) error {
	if x, err := w.compile(); err == nil {
		_, err := x.all(0, n, oneByOne(displacement), func() func(int, []float64) { return take })
		return err
	}
	return w.each(0, n, displacement, take)
}
