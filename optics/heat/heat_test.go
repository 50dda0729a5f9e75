package heat

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s: got %.10g, want %.10g", what, got, want)
	}
}

// Ein against its integral.
func TestEin(t *testing.T) {
	for _, x := range []float64{1e-6, 0.1, 1, 5, 20, 34.9, 35.1, 80} {
		want := 0.0
		for k := range 40 {
			want += quad.Fixed(func(v float64) float64 { return -math.Expm1(-v) / v }, x*float64(k)/40,
				x*float64(k+1)/40, 20, nil, 0)
		}
		near(t, "Ein", Ein(x), want, 1e-12)
	}
}

var load = Load{Power: 0.01, Length: 0.4e-3, Waist: 0.2e-3, Rim: 0.6e-3, Conductivity: 5}

// A film's rise against the series of radial conduction in Bessel functions: k (1/r)(r T')' = -q(r), T(Rim) = 0, has
// T = sum q_n/(k (j_n/R)^2) J0(j_n r/R), with q_n the coefficient of q; another route than the closed form.
func TestConductionAgainstItsSeries(t *testing.T) {
	for _, rho := range []float64{0, 0.1e-3, 0.2e-3, 0.45e-3} {
		sum := 0.0
		heat := func(r float64) float64 { // W/m^3
			return load.Power / load.Length * 2 / (math.Pi * load.Waist * load.Waist) *
				math.Exp(-2*r*r/(load.Waist*load.Waist))
		}
		for n := 1; n <= 60; n++ {
			j := zero(n)
			q := quad.Fixed(func(r float64) float64 { return r * heat(r) * math.J0(j*r/load.Rim) }, 0, load.Rim, 200,
				nil, 0)
			q /= load.Rim * load.Rim / 2 * math.J1(j) * math.J1(j)
			sum += q / (load.Conductivity * j * j / (load.Rim * load.Rim)) * math.J0(j*rho/load.Rim)
		}
		near(t, "rise", load.At(rho), sum, 1e-7)
	}
	got := 0.0
	got = quad.Fixed(func(r float64) float64 { return r * math.Exp(-load.u(r)) * load.At(r) }, 0, load.Rim, 80, nil, 0) /
		quad.Fixed(func(r float64) float64 { return r * math.Exp(-load.u(r)) }, 0, load.Rim, 80, nil, 0)
	near(t, "mean", load.Mean(), got, 1e-10)
}

// zero is the n-th zero of J0, by Newton's steps from McMahon's.
func zero(n int) float64 {
	x := (float64(n) - 0.25) * math.Pi
	for range 6 {
		x += math.J0(x) / math.J1(x)
	}
	return x
}

// Through the thickness of a film with insulated faces the temperature is nowhere far from its mean: 1-D conduction of
// light absorbed as exp(-a z), in closed form and by its cosine series; and its mean over the thickness is what At holds.
func TestThroughTheThickness(t *testing.T) {
	const a, d, k, p = 800.0, 0.4e-3, 5.0, 0.01 / (math.Pi * 0.2e-3 * 0.2e-3) // 1/m, m, W/(m K), W/m^2
	mean := p * Absorbed(a, d) / d
	closed := func(z float64) float64 { // -k T'' = p a exp(-a z) - mean, T'(0) = T'(d) = 0, no mean
		f := func(z float64) float64 { return (-p/a*math.Exp(-a*z) + mean*z*z/2 - p*z) / k }
		return f(z) - quad.Fixed(f, 0, d, 30, nil, 0)/d
	}
	for _, z := range []float64{0, d / 3, d} {
		sum := 0.0
		for n := 1; n <= 20000; n++ {
			w := float64(n) * math.Pi / d
			q := 2 / d * p * a * (a - math.Pow(-1, float64(n))*a*math.Exp(-a*d)) / (a*a + w*w)
			sum += q / (k * w * w) * math.Cos(w*z)
		}
		near(t, "through the thickness", closed(z), sum, 1e-4)
	}
	if span := closed(0) - closed(d); span > 0.2*load.Mean() {
		t.Errorf("the faces differ by %.3g K, beside a mean rise of %.3g K", span, load.Mean())
	}
}

// A1 is the mean of h^2 over a Gaussian beam.
const a1 = 0.1369538

// Depolarization by thermal stress: the four values at p = 0.2 and the one at p = 1 were worked out with numpy from the
// exact rotation of the Stokes vector; the formula of small p was derived from plane strain.
func TestCrossed(t *testing.T) {
	near(t, "A1", 1-6*math.Ln2+3*math.Log(3), a1, 1e-6)
	quarter := math.Pi / 4
	for _, c := range []struct{ p, best, worst, tolerance float64 }{
		{0.2, 5.564e-4, 2.8003e-3, 1e-4}, {1, 1.461e-2, 0, 2e-4},
	} {
		best := Rotator{Rotation: quarter, Phase: c.p, Shear: 2.25, Azimuth: quarter}
		near(t, "best azimuth", best.Crossed(), c.best, c.tolerance)
		if c.worst > 0 {
			worst := best
			worst.Azimuth = 0
			near(t, "worst azimuth", worst.Crossed(), c.worst, c.tolerance)
		}
	}
	// Without rotation: A1 p^2/8 at 45 deg, and the square of the shear times that along the axes.
	near(t, "no rotation", Rotator{Phase: 0.2, Shear: 2.25, Azimuth: quarter}.Crossed(), 6.834e-4, 3e-4)
	near(t, "no rotation", Rotator{Phase: 0.2, Shear: 2.25}.Crossed(), 3.4523e-3, 3e-4)
	for _, angle := range []float64{0.3, quarter, 1.2} {
		for _, azimuth := range []float64{0, 0.2, quarter} {
			const p = 1e-3
			cut := math.Cos(2 * azimuth)
			want := a1 * p * p / 8 * math.Pow(math.Sin(angle)/angle, 2) * (1 + (2.25*2.25-1)*cut*cut)
			r := Rotator{Rotation: angle, Phase: p, Shear: 2.25, Azimuth: azimuth}
			near(t, "small p", r.Crossed(), want, 2e-5)
			r.Phase = 2 * p
			near(t, "p^2", r.Crossed(), 4*want, 3e-5)
		}
	}
	r := Rotator{Rotation: quarter, Phase: 1e-3, Shear: 2.25}.Along111()
	near(t, "[111]", r.Crossed(), a1*1e-6/math.Pow(math.Pi, 2)*math.Pow((1+2*2.25)/3, 2), 2e-5)
}

// A rotation that falls across the beam: the share across is the variance of Ein times the square of the spread.
func TestSpread(t *testing.T) {
	u, share := ringed()
	variance, whole := 0.0, 0.0
	for i := range u {
		variance += share[i] * math.Pow(Ein(u[i])-math.Ln2, 2)
		whole += share[i]
	}
	near(t, "power", whole, 1, 1e-12)
	near(t, "spread", Rotator{Rotation: 0.7, Spread: 1e-3}.Crossed(), 1e-6*variance, 1e-4)
}

// The worked rod of terbium gallium garnet: 18 mm, 0.2 1/m, 4.4 W/(m K), Q 17e-7 1/K, shear 2.25, 1.064 um; the
// absorbed share is 0.2 % less than absorption times length.
func TestWorkedRod(t *testing.T) {
	at := func(power float64) Rotator {
		return Rotator{Rotation: math.Pi / 4, Shear: 2.25,
			Phase: Phase(power, 0.2, 18e-3, 1.064e-6, -17e-7, 4.4)}
	}
	near(t, "p", at(1).Phase, 0.0013073, 2e-3)
	for _, c := range []struct{ watts, best, worst float64 }{{10, 56.3, 49.2}, {100, 36.3, 29.2}, {400, 24.2, 17.2}} {
		r := at(c.watts)
		worst := -10 * math.Log10(r.Crossed())
		along := -10 * math.Log10(r.Along111().Crossed())
		r.Azimuth = math.Pi / 4
		if best := -10 * math.Log10(r.Crossed()); math.Abs(best-c.best) > 0.15 || math.Abs(worst-c.worst) > 0.15 {
			t.Errorf("%g W: %.2f and %.2f dB, want %.1f and %.1f", c.watts, best, worst, c.best, c.worst)
		}
		if c.watts == 100 && math.Abs(along-31.0) > 0.1 {
			t.Errorf("[111] at 100 W: %.2f dB, want 31.0", along)
		}
	}
}

// Focus is the curvature of the rise on the axis; a weak lens costs the variance of its phase.
func TestLens(t *testing.T) {
	const slope, l, r = 2e-5, 1.55e-6, 2e-6
	curvature := (load.At(r) - load.Peak()) / (r * r) // of T = T0 + c r^2; a lens has the path -r^2/(2f)
	near(t, "focus", load.Focus(slope), -2*curvature*slope*load.Length, 1e-3)
	rise := quad.Fixed(func(v float64) float64 { return math.Exp(-v) * math.Pow(Ein(v)-math.Ln2, 2) }, 0, 30, 80, nil, 0)
	phase := 2 * math.Pi / l * slope * load.Length * load.Scale()
	near(t, "coupled", 1-load.Coupled(slope, l), phase*phase*rise, 1e-2)
	if math.Abs(phase) > 0.1 {
		t.Errorf("a phase of %.3g is not small", phase)
	}
}

func TestRefused(t *testing.T) {
	for _, l := range []Load{
		{Power: -1, Length: 1, Waist: 1e-3, Rim: 1, Conductivity: 1}, {Power: 1, Waist: 1e-3, Rim: 1, Conductivity: 1},
		{Power: 1, Length: 1, Waist: 1, Rim: 1.4, Conductivity: 1}, {Power: 1, Length: 1, Waist: 1, Rim: 2},
		{Power: math.Inf(1), Length: 1, Waist: 1, Rim: 2, Conductivity: 1},
	} {
		if l.Check() == nil {
			t.Errorf("%+v passes", l)
		}
	}
	if err := load.Check(); err != nil {
		t.Error(err)
	}
}
