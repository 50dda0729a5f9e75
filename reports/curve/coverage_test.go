package curve_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"wedgework/reports/curve"
)

// truth is the leakage of an imagined unit: a rotation that is off by delta at 1550 nm and turns 0.0012 rad/nm, a
// cubic term that the model does not know, extinction q, and ripple of several fringes in amplitude.
type truth struct {
	delta, slope, cubic, q float64
	ripple                 float64 // standard deviation in amplitude
	period                 []float64
	phase                  []float64
}

func (u truth) at(l float64) float64 {
	x := l - 1550
	d := u.delta + u.slope*x + u.cubic*x*x*x
	y := math.Sqrt(d*d + u.q)
	for i, p := range u.period {
		y += u.ripple * math.Sqrt(2/float64(len(u.period))) * math.Sin(2*math.Pi*x/p+u.phase[i])
	}
	return y * y
}

func (u truth) worst(lo, hi float64) float64 {
	most := 0.0
	for l := lo; l <= hi+1e-9; l += 0.01 {
		most = max(most, u.at(l))
	}
	return most
}

// TestCoverage simulates sweeps whose curve is known and counts how often the stated 95.45 % interval of the minimum
// isolation over a band holds the true one. The band is 1535 to 1565 nm, the readings start at random.
func TestCoverage(t *testing.T) {
	// At 95.45 % the bounds below are left by chance about once in a thousand rows.
	trials, least, worse := 16, 11, 4
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		trials, least, worse = 1000, 925, 40
	}
	for _, c := range []struct {
		step, noise, ripple, cubic float64
		known                      bool // the ripple is stated
		wide                       bool // the sweep is 1500 to 1580 nm, else it just covers the band
	}{
		{0.1, 0.04, 0, 0, false, false}, {0.5, 0.04, 0, 0, false, true}, {1, 0.1, 0, 1e-7, false, true},
		{2, 0.05, 0, 1e-7, false, false}, {5, 0.05, 0, 1e-7, false, true}, {2, 0.3, 0, 0, false, false},
		{0.1, 0.04, 5e-4, 0, true, false}, {0.5, 0.04, 5e-4, 0, true, false}, {1, 0.04, 5e-4, 0, true, true},
		{2, 0.04, 5e-4, 1e-7, true, false}, {5, 0.04, 5e-4, 0, true, true},
		{0.1, 0.04, 5e-4, 0, false, false}, {0.5, 0.04, 5e-4, 0, false, false}, {2, 0.04, 5e-4, 0, false, false},
	} {
		name := fmt.Sprintf("%g nm, %g dB, ripple %g, cubic %g, %v, %v", c.step, c.noise, c.ripple, c.cubic, c.known,
			c.wide)
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, 9))
			held, low, high := 0, 0, 0
			var width, bias float64
			for i := range trials {
				u := truth{delta: 0.012 * rng.NormFloat64(), slope: 0.0012, cubic: c.cubic, q: 1e-4, ripple: c.ripple}
				for range 4 {
					u.period = append(u.period, 1.1+0.6*rng.Float64())
					u.phase = append(u.phase, 2*math.Pi*rng.Float64())
				}
				// The model is off by a little of delta.
				g := func(l float64) float64 {
					m := u
					m.delta += 0.002
					m.cubic, m.ripple = 0, 0
					return m.at(l)
				}
				lo, hi := 1535.0, 1565.0
				gmax := 0.0
				for l := lo; l <= hi; l++ {
					gmax = max(gmax, g(l))
				}
				scale := func(l float64) float64 { return 2 * math.Sqrt(max(g(l), 0.01*gmax)) }
				first, last := lo-c.step/2, hi+c.step/2
				if c.wide {
					first, last = 1500, 1580
				}
				first += c.step * rng.Float64()
				var rs []curve.Reading
				for l := first; l <= last; l += c.step {
					p := u.at(l)
					read := p * math.Pow(10, c.noise*rng.NormFloat64()/10)
					s := scale(l)
					noise := p * math.Ln10 / 10 * c.noise / s
					rs = append(rs, curve.Reading{At: l, Value: (read - g(l)) / s, Noise: noise})
				}
				tex := curve.Texture{}
				if c.known {
					tex = curve.Texture{Standard: func(float64) float64 { return c.ripple }, Period: 1.1}
				}
				k, err := curve.Fit(rs, curve.Shape{Degree: 2, Texture: tex})
				if err != nil {
					t.Fatal(err)
				}
				e := k.Greatest(lo, hi, func(l float64) curve.Line { return curve.Line{g(l), scale(l)} }, 400, uint64(i))
				dB := func(p float64) float64 { return -10 * math.Log10(p) }
				slices.Sort(e.Draws)
				quantile := func(p float64) float64 { return dB(curve.Quantile(e.Draws, p)) }
				a, b, m := quantile(0.97725), quantile(0.02275), quantile(0.5)
				w := dB(u.worst(lo, hi))
				width += (b - a) / 4
				bias += m - w
				switch {
				case w < a:
					low++
				case w > b:
					high++
				default:
					held++
				}
			}
			if held < least {
				t.Errorf("the interval holds the truth in %d of %d, want %d or more", held, trials, least)
			}
			if low > worse {
				t.Errorf("in %d of %d the truth is worse than the interval, want %d at most", low, trials, worse)
			}
			n := float64(trials)
			t.Logf("held %.1f %%, truth below %.1f %%, above %.1f %%; u %.4f dB, bias %+.4f",
				100*float64(held)/n, 100*float64(low)/n, 100*float64(high)/n, width/n, bias/n)
		})
	}
}
