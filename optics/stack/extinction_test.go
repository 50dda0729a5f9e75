package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// ratio is an extinction ratio in dB as a power ratio.
func ratio(dB float64) float64 { return math.Pow(10, dB/10) }

// fibred returns a stack between polarization-maintaining fibres.
func fibred(t testing.TB, p element.Pigtails, elements ...element.Element) *Stack {
	t.Helper()
	s := assembled(t, elements...)
	spec := s.Spec()
	spec.Beam.Pigtails = p
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ends are two fibres by their axes, in degrees, and extinction ratios, in dB.
func ends(axis1, axis2, er1, er2 float64) element.Pigtails {
	return element.Pigtails{Ends: [2]element.Pigtail{
		{Axis: quantity.Angle(axis1 * deg), Extinction: ratio(er1)},
		{Axis: quantity.Angle(axis2 * deg), Extinction: ratio(er2)},
	}}
}

var still = element.Polarizer{Extinction: 1 + 1e-13} // a sheet that does nothing, to have a face

// An error t of an axis leaves ER = 10 log10 cot^2 t, and what does not interfere multiplies m = (1-x)/(1+x), with
// x = 10^(-ER/10) and m = cos 2t of an angle: values worked out from these formulas, printed to 0.001 dB.
func TestExtinctionRatioOfAxesAndFibres(t *testing.T) {
	perfect := math.Inf(1)
	for _, c := range []struct{ angle, er1, er2, want float64 }{
		{0.1, perfect, perfect, 55.162}, {0.2, perfect, perfect, 49.142}, {0.5, perfect, perfect, 41.183},
		{1, perfect, perfect, 35.162}, {2, perfect, perfect, 29.138}, {3, perfect, perfect, 25.612},
		{5, perfect, perfect, 21.161}, {-5, perfect, perfect, 21.161},
		{0, 30, 30, 26.990}, {0, 25, 30, 23.807}, {0, 30, 25, 23.807}, {1, 25, perfect, 24.601},
		{90, 30, perfect, -30},
	} {
		for _, turn := range []float64{0, 33} {
			p := point(t, fibred(t, ends(turn, turn+c.angle, c.er1, c.er2), still), Forward)
			if got := p.ExtinctionRatio(); math.Abs(got-c.want) > 6e-4 {
				t.Errorf("%g deg, fibres of %g and %g dB: %.4f dB, want %.3f", c.angle, c.er1, c.er2, got, c.want)
			}
			if math.Abs(p.InsertionLossSlow()-p.InsertionLossMin()) > 1e-9 || // all of it in one axis or the other
				math.Abs(p.InsertionLossFast()-p.InsertionLossMin()) > 1e-9 {
				t.Errorf("loss along the axes %g and %g dB, want %g", p.InsertionLossSlow(), p.InsertionLossFast(),
					p.InsertionLossMin())
			}
		}
	}
}

// A key that marks the fast axis turns the fibre by 90 deg, and light launched along the fast axis of fibres whose keys
// mark it is that of slow axes.
func TestKeysAndLaunch(t *testing.T) {
	sheet := element.Polarizer{Axis: 20 * deg, Extinction: 1e3}
	slow := ends(20, 21, 30, 25)
	fast := slow
	fast.Launch = element.FastAxis
	fast.Ends[0].Key, fast.Ends[1].Key = element.FastAxis, element.FastAxis
	a, b := point(t, fibred(t, slow, sheet), Forward), point(t, fibred(t, fast, sheet), Forward)
	if math.Abs(a.ExtinctionRatio()-b.ExtinctionRatio()) > 1e-9 ||
		math.Abs(a.InsertionLossSlow()-b.InsertionLossFast()) > 1e-9 ||
		math.Abs(a.InsertionLossFast()-b.InsertionLossSlow()) > 1e-9 {
		t.Errorf("slow axes along the keys %+v, fast axes %+v", a.Axes, b.Axes)
	}
	one := slow
	one.Ends[1].Key = element.FastAxis
	if got := point(t, fibred(t, one, sheet), Forward).ExtinctionRatio(); math.Abs(got+a.ExtinctionRatio()) > 1e-9 {
		t.Errorf("light that leaves along the other axis has %g dB, want %g", got, -a.ExtinctionRatio())
	}
}

// What a film depolarizes counts: a film of extinction ratio e that turns by 45 deg between axes 45 deg apart leaves e,
// with fibres m = m1 m2 m3; its dominant matrix alone would leave nothing in the other axis.
func TestExtinctionRatioOfAFilm(t *testing.T) {
	film := plain.spec(t).Elements[2].(element.Rotator)
	film.Garnet.PerKelvin, film.Garnet.PerMetre = 0, 0
	for _, e := range []float64{25, 40} {
		film.Garnet.Extinction = ratio(e)
		m := func(dB float64) float64 { return (1 - ratio(-dB)) / (1 + ratio(-dB)) }
		p := point(t, fibred(t, ends(10, 10+float64(film.Angle)/deg, 30, 28), film), Forward)
		all := m(e) * m(30) * m(28)
		want := 10 * math.Log10((1+all)/(1-all))
		if got := p.ExtinctionRatio(); math.Abs(got-want) > 1e-6 {
			t.Errorf("film of %g dB between fibres: %.7f dB, want %.7f", e, got, want)
		}
	}
}

// Two retarders between axes, against the product of their Jones matrices by hand: of two crystals, the power in the
// other axis is |(R(-b) W2 R(b) R(-a) W1 R(a))_21|^2.
func TestExtinctionRatioOfTwoCrystals(t *testing.T) {
	c := crystal(t, "quartz")
	drawn := quantity.Celsius(20)
	n, err := c.At(at, drawn)
	if err != nil {
		t.Fatal(err)
	}
	wave := func(d float64, axis float64) polar.Matrix {
		phase := 2 * math.Pi / at * d
		s, k := math.Sincos(axis * deg)
		to := polar.Matrix{{complex(k, 0), complex(s, 0)}, {complex(-s, 0), complex(k, 0)}}
		return to.Adjoint().Mul(polar.Matrix{{cmplx.Exp(complex(0, phase*n.E)), 0},
			{0, cmplx.Exp(complex(0, phase*n.O))}}).Mul(to)
	}
	for _, axes := range [][2]float64{{3, 0}, {3, 93}, {10, 50}, {45, -45}, {45, 45}} {
		d1, d2 := 0.3e-3, 0.25e-3
		plate := func(d, axis float64) element.Element {
			return element.Plate{As: "plate", Crystal: c, Thickness: quantity.Length(d),
				Axis: quantity.Angle(axis * deg), Cut: math.Pi / 2}
		}
		s := fibred(t, ends(0, 0, math.Inf(1), math.Inf(1)), plate(d1, axes[0]), element.Gap{}, plate(d2, axes[1]))
		p, err := s.At(Forward, at, drawn)
		if err != nil {
			t.Fatal(err)
		}
		m := wave(d2, axes[1]).Mul(wave(d1, axes[0]))
		want := 20 * math.Log10(cmplx.Abs(m[0][0])/cmplx.Abs(m[1][0]))
		if got := p.ExtinctionRatio(); math.Abs(got-want) > 2e-3 { // the beam spreads a little differently in o and e
			t.Errorf("axes %v: %.4f dB, want %.4f", axes, got, want)
		}
	}
}

// The powers by axes follow from the Mueller matrix, which is summed up on its own: half of S(arriving) M S(launched),
// of random stacks with ghosts and linewidths; and all of what is launched along an axis is what H says of it.
func TestAxesAgainstMueller(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 1))
	for done := 0; done < 150; {
		s := randomStack(t, rng)
		if s == nil || s.ghosts == GhostsRipple {
			continue
		}
		done++
		a, b := 360*rng.Float64(), 360*rng.Float64()
		s.spec.Beam.Pigtails = ends(a, b, math.Inf(1), math.Inf(1))
		for _, d := range []Direction{Forward, Backward} {
			p := point(t, s, d)
			m, err := s.Mueller(d, at, room)
			if err != nil {
				t.Fatal(err)
			}
			from, to := a, b
			if d == Backward {
				from, to = b, a
			}
			for j := range 2 {
				launched, all := stokesOf(from+90*float64(j)), 0.0
				for i := range 2 {
					arriving, want := stokesOf(to+90*float64(i)), 0.0
					for r := range 4 {
						for k := range 4 {
							want += arriving[r] * m[r][k] * launched[k] / 2
						}
					}
					all += p.Axes[i][j]
					if math.Abs(p.Axes[i][j]-want) > 1e-12*max(p.T1, 1e-12) {
						t.Fatalf("%s, %d to %d: %g, by the Mueller matrix %g\n%s", d, j, i, p.Axes[i][j], want,
							kinds(s))
					}
				}
				x, y := math.Cos((from+90*float64(j))*deg), math.Sin((from+90*float64(j))*deg)
				h := p.H.XX*x*x + p.H.YY*y*y + 2*real(p.H.XY)*x*y
				if math.Abs(all-h) > 1e-12*max(p.T1, 1e-12) {
					t.Fatalf("%s: %g arrives of what is launched along %d, by H %g", d, all, j, h)
				}
			}
		}
	}
}

// stokesOf is the Stokes vector of linear light at an azimuth in degrees.
func stokesOf(azimuth float64) [4]float64 {
	s, c := math.Sincos(2 * azimuth * deg)
	return [4]float64{1, c, s, 0}
}

// Light that comes back through a stack whose rotations are reversed goes the same way: powers by axes are transposed,
// fibres included.
func TestAxesReverse(t *testing.T) {
	film := plain.spec(t).Elements[2].(element.Rotator)
	film.Garnet.Extinction = ratio(30)
	reversed := film
	reversed.Angle = -film.Angle
	parts := func(r element.Element) []element.Element {
		return []element.Element{element.Polarizer{Axis: 3 * deg, Extinction: 300}, element.Gap{Length: 1e-4}, r,
			element.Gap{Length: 1e-4}, element.Plate{As: "plate", Crystal: crystal(t, "quartz"), Thickness: 0.2e-3,
				Axis: 70 * deg, Cut: math.Pi / 2, Coating: element.Coating{Reflectance: 0.004}}}
	}
	p := ends(2, 44, 25, 31)
	f, b := point(t, fibred(t, p, parts(film)...), Forward), point(t, fibred(t, p, parts(reversed)...), Backward)
	for i := range 2 {
		for j := range 2 {
			if math.Abs(f.Axes[i][j]-b.Axes[j][i]) > 1e-9 {
				t.Errorf("%d to %d: forward %g, backward with the film reversed %g", j, i, f.Axes[i][j], b.Axes[j][i])
			}
		}
	}
}

// The parameters of the fibres are those of the stack, and ordinary fibres have none.
func TestPigtailParameters(t *testing.T) {
	s := fibred(t, ends(0, 45, 30, math.Inf(1)), still)
	got, err := s.Adjusted(map[string]quantity.Quantity{
		"collimator1.axis": quantity.Of(2, "deg"), "collimator1.extinction": quantity.Of(25, "dB"),
		"collimator2.axis": quantity.Of(2, "deg"),
	})
	if err != nil {
		t.Fatal(err)
	}
	if er := point(t, got, Forward).ExtinctionRatio(); math.Abs(er-25) > 1e-9 {
		t.Errorf("adjusted fibres: %g dB, want that of the first, 25", er)
	}
	for path, want := range map[string]bool{"collimator1.axis": true, "collimator1.extinction": true,
		"collimator2.axis": true, "collimator2.extinction": false} {
		if _, err := s.Parameter(path); (err == nil) != want {
			t.Errorf("%s is a parameter: %v, want %v", path, err == nil, want)
		}
	}
	if _, err := assembled(t, still).Adjusted(map[string]quantity.Quantity{
		"collimator1.axis": quantity.Of(2, "deg")}); err == nil {
		t.Error("an ordinary fibre took an axis")
	}
	for _, p := range []element.Pigtails{
		{Ends: [2]element.Pigtail{{Extinction: 10}, {}}},
		{Ends: [2]element.Pigtail{{Extinction: 0.5}, {Extinction: 9}}},
		{Ends: [2]element.Pigtail{{Extinction: 9, Key: "up"}, {Extinction: 9}}}, {Launch: "both"},
	} {
		spec := s.Spec()
		spec.Beam.Pigtails = p
		if _, err := New(spec); err == nil {
			t.Errorf("%+v was accepted", p)
		}
	}
}
