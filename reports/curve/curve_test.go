package curve

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestAgainstExactProcess holds the sine basis against Gaussian-process regression written out with full covariance
// matrices (Rasmussen and Williams 2006, equations 2.25 and 2.26), for a process of known deviation and length, the
// polynomial's coefficients with the same wide prior.
func TestAgainstExactProcess(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var rs []Reading
	for i := range 40 {
		x := 1500 + 2*float64(i)
		rs = append(rs, Reading{At: x, Value: math.Sin(x/9) + 0.05*rng.NormFloat64(),
			Noise: 0.05 * (1 + 0.5*math.Cos(x))})
	}
	c := &Curve{readings: rs, basis: newBasis(rs, 2)}
	c.basis.waves = 40
	rows := mat.NewDense(len(rs), c.basis.size(), nil)
	for i, r := range rs {
		c.basis.at(r.At, rows.RawRowView(i))
	}
	const deviation, length, free = 0.7, 0.3, 1e4
	k, _, ok := c.sums(rows, 0).fit(c.basis, deviation, length, free)
	if !ok {
		t.Fatal("no fit")
	}
	kernel := func(x, y float64) float64 {
		u := (x - y) / c.basis.half / length
		v := deviation * deviation * math.Exp(-u*u/2)
		a, b := make([]float64, c.basis.size()), make([]float64, c.basis.size())
		c.basis.at(x, a)
		c.basis.at(y, b)
		return v + free*dot(a[:3], b[:3])
	}
	n := len(rs)
	cov, y := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		y.SetVec(i, rs[i].Value)
		for j := i; j < n; j++ {
			cov.SetSym(i, j, kernel(rs[i].At, rs[j].At))
		}
		cov.SetSym(i, i, cov.At(i, i)+rs[i].Noise*rs[i].Noise)
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		t.Fatal("the covariance is not positive definite")
	}
	for _, x := range []float64{1499, 1500, 1511, 1534.7, 1551, 1578, 1579.5} {
		cross := mat.NewVecDense(n, nil)
		for i := range n {
			cross.SetVec(i, kernel(x, rs[i].At))
		}
		var w mat.VecDense
		if err := chol.SolveVecTo(&w, cross); err != nil && !isCondition(err) {
			t.Fatal(err)
		}
		mean, variance := mat.Dot(&w, y), kernel(x, x)-mat.Dot(&w, cross)
		row := make([]float64, c.basis.size())
		c.basis.at(x, row)
		row = row[:k.size]
		// The process of the basis vanishes at 1.6 half-widths, which costs most at the ends of the readings.
		if got := dot(row, k.mean); math.Abs(got-mean) > 0.06*math.Sqrt(variance) {
			t.Errorf("%g: mean %g, want %g", x, got, mean)
		}
		if got := math.Sqrt(quadratic(k.covariance(), row)); math.Abs(got-math.Sqrt(variance)) > 0.03*math.Sqrt(variance) {
			t.Errorf("%g: standard uncertainty %g, want %g", x, got, math.Sqrt(variance))
		}
	}
}

// TestStraightLine compares a curve whose readings show no departure with weighted least squares in closed form (JCGM
// 100:2008, H.3): intercept and slope at the middle of the readings.
func TestStraightLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var rs []Reading
	var sw, sx, sxx, sy, sxy float64
	for i := range 60 {
		x, u := float64(i), 0.1*(1+float64(i%3))
		r := Reading{At: x, Value: 2 + 0.3*x + u*rng.NormFloat64(), Noise: u}
		rs = append(rs, r)
		w := 1 / (u * u)
		sw, sx, sxx, sy, sxy = sw+w, sx+w*x, sxx+w*x*x, sy+w*r.Value, sxy+w*x*r.Value
	}
	c := &Curve{readings: rs, basis: newBasis(rs, 1)}
	rows := mat.NewDense(len(rs), c.basis.size(), nil)
	for i, r := range rs {
		c.basis.at(r.At, rows.RawRowView(i))
	}
	k, _, _ := c.sums(rows, 0).fit(c.basis, 0, 0, 1e8)
	det := sw*sxx - sx*sx
	slope, intercept := (sw*sxy-sx*sy)/det, (sxx*sy-sx*sxy)/det
	for _, x := range []float64{-3, 0, 31.5, 59, 62} {
		row := make([]float64, c.basis.size())
		c.basis.at(x, row)
		mean, variance := intercept+slope*x, (sxx-2*x*sx+x*x*sw)/det
		if got := dot(row[:2], k.mean); math.Abs(got-mean) > 1e-6 {
			t.Errorf("%g: got %g, want %g", x, got, mean)
		}
		if got := quadratic(k.covariance(), row[:2]); math.Abs(got-variance) > 1e-6*variance {
			t.Errorf("%g: variance %g, want %g", x, got, variance)
		}
	}
}

// TestScatter draws noise as stated, three times and a third of it, and asks how often it is found out at 1 %.
func TestScatter(t *testing.T) {
	for _, c := range []struct{ factor, low, high float64 }{{1, 0, 0.04}, {3, 0.97, 1}, {1.0 / 3, 0, 0}} {
		rng := rand.New(rand.NewPCG(5, 6))
		const trials = 200
		found := 0
		for range trials {
			delta := rng.NormFloat64()
			var rs []Reading
			for i := range 16 {
				x := float64(i) * 2
				rs = append(rs, Reading{At: x, Value: delta*x/10 + math.Sin(x/20) + 0.1*c.factor*rng.NormFloat64(),
					Noise: 0.1})
			}
			k, err := Fit(rs, Shape{Degree: 2})
			if err != nil {
				t.Fatal(err)
			}
			if k.Scatter().PValue < 0.01 {
				found++
			}
		}
		// At the stated noise 1 % is meant; 8 of 200 has a chance below 1 % then.
		if got := float64(found) / trials; got < c.low || got > c.high {
			t.Errorf("noise of %g times the stated: found in %.3f, want %g to %g", c.factor, got, c.low, c.high)
		}
	}
}

// TestFitRefuses lists what cannot be a set of readings.
func TestFitRefuses(t *testing.T) {
	good := []Reading{{0, 1, 1}, {1, 2, 1}, {2, 3, 1}, {3, 4, 1}}
	for name, rs := range map[string][]Reading{
		"too few":      good[:3],
		"one position": {{1, 1, 1}, {1, 2, 1}, {1, 3, 1}, {1, 4, 1}},
		"no noise":     append(good[:3:3], Reading{3, 4, 0}),
		"not a number": append(good[:3:3], Reading{3, math.NaN(), 1}),
	} {
		if _, err := Fit(rs, Shape{Degree: 2}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Fit(good, Shape{Degree: 2, Texture: Texture{Standard: func(float64) float64 { return 1 }}}); err == nil {
		t.Error("texture without a period: no error")
	}
}

func BenchmarkGreatest(b *testing.B) {
	var rs []Reading
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 161 {
		x := 1500 + 0.5*float64(i)
		rs = append(rs, Reading{At: x, Value: math.Sin(x/9) + 0.05*rng.NormFloat64(), Noise: 0.05})
	}
	for b.Loop() {
		c, err := Fit(rs, Shape{Degree: 2})
		if err != nil {
			b.Fatal(err)
		}
		c.Greatest(1535, 1565, func(float64) Line { return Line{Slope: 1} }, 1000, 1)
	}
}

// TestPooled compares the curve, which is read off one distribution of the coefficients, with the sum over the
// components of the mixture that it stands for.
func TestPooled(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	var rs []Reading
	for i := range 40 {
		x := float64(i)
		rs = append(rs, Reading{At: x, Value: math.Sin(x/6) + 0.2*rng.NormFloat64(), Noise: 0.05})
	}
	c, err := Fit(rs, Shape{Degree: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.mixture) < 3 {
		t.Fatalf("%d components: the readings decide too much for this test", len(c.mixture))
	}
	xs := []float64{-1, 0, 0.5, 17.3, 39}
	mean, standard := c.At(xs)
	row := make([]float64, c.basis.size())
	for i, x := range xs {
		c.basis.at(x, row)
		var first, second float64
		for _, k := range c.mixture {
			m := dot(row[:k.size], k.mean)
			first += k.weight * m
			second += k.weight * (m*m + quadratic(k.covariance(), row[:k.size]) + k.excess)
		}
		want := math.Sqrt(second - first*first)
		if math.Abs(mean[i]-first) > 1e-9 || math.Abs(standard[i]-want) > 1e-7*want {
			t.Errorf("%g: %g ± %g, want %g ± %g", x, mean[i], standard[i], first, want)
		}
	}
}
