package face

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// quarter returns a layer a quarter wave thick for light whose component of N along the face is tangential.
func quarter(n, tangential float64) Layer {
	return Layer{complex(n, 0), wavelength / quantity.Length(4*math.Sqrt(n*n-tangential*tangential))}
}

// R = ((n0 ns - n1^2)/(n0 ns + n1^2))^2 for a quarter wave at normal incidence (Born and Wolf 1.6.4; from
// memory). The figures for magnesium fluoride on crown glass are the reference tables' ar-mgf2.
func TestQuarterWave(t *testing.T) {
	s, _ := Coating(1, []Layer{quarter(1.38, 0)}, 1.52, 0, wavelength)
	want := math.Pow((1.52-1.38*1.38)/(1.52+1.38*1.38), 2)
	if got := s.Reflectance(); math.Abs(got-want) > 1e-15 || math.Abs(got-0.0126008) > 1e-7 {
		t.Errorf("R = %.9f, want %.9f, printed as 0.0126008", got, want)
	}
	s, _ = Coating(1, nil, 1.52, 0, wavelength)
	if got := s.Reflectance(); math.Abs(got-0.0425800) > 1e-7 {
		t.Errorf("bare R = %.7f, want 0.0425800", got)
	}
	s, _ = Coating(1, []Layer{quarter(math.Sqrt(1.52), 0)}, 1.52, 0, wavelength)
	if s.Reflectance() > 1e-30 {
		t.Errorf("a layer of index sqrt(n0 ns) leaves R = %g", s.Reflectance())
	}
}

// A half wave changes the sign of the field and nothing else, at its own angle.
func TestHalfWaveIsAbsent(t *testing.T) {
	for _, degrees := range []float64{0, 40, 75} {
		angle := quantity.Angle(degrees) * quantity.Degree
		l := quarter(2.1, math.Sin(float64(angle)))
		l.Thickness *= 2
		tangential := r3.Vec{X: math.Sin(float64(angle))}
		got, _ := Scatter(air, []Layer{l}, glass(1.52), tangential, r3.Vec{Z: 1}, wavelength)
		want, _ := Scatter(air, nil, glass(1.52), tangential, r3.Vec{Z: 1}, wavelength)
		for i := range 2 {
			near(t, "R", got.R[i][i], want.R[i][i], closed)
			near(t, "T", got.T[i][i], -want.T[i][i], closed)
		}
	}
}

// A V-coat: layers 1 and 2 on a substrate, no reflection at normal incidence. With the characteristic
// matrices M1 M2 (1, ns) = (B, C) the condition n0 B = C gives for t = tan(k0 n d), real and imaginary part,
//
//	t1 t2 = n1 n2 (ns - n0)/(n1^2 ns - n0 n2^2)
//	t2/t1 = n2 (n1^2 - n0 ns)/(n1 (n0 ns - n2^2))
//
// as H. A. Macleod, Thin-Film Optical Filters, has it for the two-layer antireflection coating (from memory,
// derived anew).
func TestVCoat(t *testing.T) {
	for _, tc := range []struct{ n0, n1, n2, ns float64 }{
		{1, 1.44, 2.1, 1.52},
		{1, 1.44, 2.1, 1.9447},
		{1, 1.38, 1.9, 2.1486},
		{1.1, 1.38, 1.75, 2.1486},
	} {
		both := tc.n1 * tc.n2 * (tc.ns - tc.n0) / (tc.n1*tc.n1*tc.ns - tc.n0*tc.n2*tc.n2)
		ratio := tc.n2 * (tc.n1*tc.n1 - tc.n0*tc.ns) / (tc.n1 * (tc.n0*tc.ns - tc.n2*tc.n2))
		if both/ratio < 0 {
			t.Fatalf("%+v has no V-coat", tc)
		}
		t1 := math.Sqrt(both / ratio)
		turn := func(tan float64) float64 { return math.Mod(math.Atan(tan)+math.Pi, math.Pi) }
		thick := func(n, tan float64) Layer {
			return Layer{complex(n, 0), quantity.Length(turn(tan)/(2*math.Pi*n)) * wavelength}
		}
		for _, sign := range []float64{1, -1} { // both roots serve
			layers := []Layer{thick(tc.n1, sign*t1), thick(tc.n2, sign*ratio*t1)}
			s, _ := Coating(tc.n0, layers, tc.ns, 0, wavelength)
			if s.Reflectance() > 1e-29 {
				t.Errorf("%+v, layers %v: R = %g, want none", tc, layers, s.Reflectance())
			}
			layers[0].Thickness *= 1.01
			if s, _ = Coating(tc.n0, layers, tc.ns, 0, wavelength); s.Reflectance() < 1e-7 {
				t.Errorf("%+v: R = %g with a layer 1 %% thick, the test has no grip", tc, s.Reflectance())
			}
		}
	}
}

// Twenty quarter waves, high index first, have the admittance (yH/yL)^20 ys, with y = n cos for s and n/cos for
// p, and R = ((y0 - Y)/(y0 + Y))^2 (Born and Wolf 1.6.5, eq. 95; from memory).
func TestTwentyQuarterWaves(t *testing.T) {
	const n0, high, low, ns = 1.0, 2.1, 1.44, 1.52
	for _, degrees := range []float64{0, 30, 60} {
		angle := quantity.Angle(degrees) * quantity.Degree
		tangential := n0 * math.Sin(float64(angle))
		var layers []Layer
		for range 10 {
			layers = append(layers, quarter(high, tangential), quarter(low, tangential))
		}
		got, _ := Coating(n0, layers, ns, angle, wavelength)
		q := func(n float64) float64 { return math.Sqrt(n*n - tangential*tangential) }
		want := func(y func(n float64) float64) float64 {
			all := math.Pow(y(high)/y(low), 20) * y(ns)
			return 4 * y(n0) * all / math.Pow(y(n0)+all, 2)
		}
		ts, tp := want(q), want(func(n float64) float64 { return n * n / q(n) })
		// The transmitted share keeps its digits where R is nearly one.
		if math.Abs(got.TS/ts-1) > 1e-11 || math.Abs(got.TP/tp-1) > 1e-11 {
			t.Errorf("%g deg: T = %g and %g, want %g and %g", degrees, got.TS, got.TP, ts, tp)
		}
		if math.Abs(got.RS-(1-ts)) > closed || math.Abs(got.RP-(1-tp)) > closed {
			t.Errorf("%g deg: R = %.15f and %.15f, want %.15f and %.15f", degrees, got.RS, got.RP, 1-ts, 1-tp)
		}
	}
}

// Multiple reflections summed up layer by layer, from the substrate up (G. B. Airy; P. Rouard): a layer with
// coefficients r, t at its top, r', t' from within, and below it what returns b and passes a, has
//
//	r + t b e^2 t'/(1 - r' b e^2) and t a e/(1 - r' b e^2), e = exp(i delta)
//
// from Fresnel's coefficients for complex indices alone. No matrix of fields is involved.
func airy(n []complex128, layers []Layer, tangential float64, p bool) (r, tr complex128) {
	t := complex(tangential, 0)
	q := func(n complex128) complex128 { return cmplx.Sqrt(n*n - t*t) }
	edge := func(a, b complex128) (r, t complex128) { // E over E
		if p {
			d := b*b*q(a) + a*a*q(b)
			return (b*b*q(a) - a*a*q(b)) / d, 2 * a * b * q(a) / d
		}
		return (q(a) - q(b)) / (q(a) + q(b)), 2 * q(a) / (q(a) + q(b))
	}
	last := len(n) - 1
	r, tr = edge(n[last-1], n[last])
	for i := last - 1; i > 0; i-- {
		e := cmplx.Exp(1i * q(n[i]) * complex(2*math.Pi*float64(layers[i-1].Thickness/wavelength), 0))
		down, in := edge(n[i-1], n[i])
		up, out := edge(n[i], n[i-1])
		echo := 1 - up*r*e*e
		r, tr = down+in*r*e*e*out/echo, in*tr*e/echo
	}
	return r, tr
}

func TestAgreesWithAiry(t *testing.T) {
	rng := rand.New(rand.NewPCG(16, 17))
	for c := range 20_000 {
		in, out := 1+1.5*rng.Float64(), 1+1.5*rng.Float64()
		tangential := 0.99 * min(in, out) * rng.Float64()
		layers := clearLayers(rng)
		if c%2 == 1 {
			layers = lossyLayers(rng)
		}
		n := []complex128{complex(in, 0)}
		for _, l := range layers {
			n = append(n, l.Index)
		}
		n = append(n, complex(out, 0))
		sc, ok := Scatter(glass(in), layers, glass(out), r3.Vec{X: tangential}, r3.Vec{Z: 1}, wavelength)
		if !ok {
			t.Fatal("no scattering")
		}
		flux := complex(math.Pow((out*out-tangential*tangential)/(in*in-tangential*tangential), 0.25), 0)
		for i := range 2 {
			r, tr := airy(n, layers, tangential, i == 1)
			near(t, "R", sc.R[i][i], r, 1e-11) // echoes between thin walls of total reflection cost digits
			near(t, "T", sc.T[i][i], tr*flux, 1e-11)
		}
		if t.Failed() {
			t.Fatalf("%g to %g, t %g, %v", in, out, tangential, layers)
		}
	}
}

// Light tunnels through a gap of air between glasses: T = 1/(1 + ((y^2 + g^2)/(2 y g))^2 sinh^2(k0 k d)), with
// y = q, g = k for s and y = n^2/q, g = 1/k for p. Far apart it is total reflection again, without overflow.
func TestFrustratedTotalReflection(t *testing.T) {
	const n = 1.5
	angle := 50 * quantity.Degree
	tangential := n * math.Sin(float64(angle))
	q, k := n*math.Cos(float64(angle)), math.Sqrt(tangential*tangential-1)
	for _, gap := range []quantity.Length{0, 1e-9, 0.3e-6, 1e-6, 5e-6, 1e-3} {
		sinh := math.Sinh(2 * math.Pi * k * float64(gap/wavelength))
		tunnel := func(y, g float64) float64 { return 1 / (1 + math.Pow((y*y+g*g)/(2*y*g)*sinh, 2)) }
		got, ok := Coating(n, []Layer{{1, gap}}, n, angle, wavelength)
		if !ok {
			t.Fatal("no scattering")
		}
		for _, c := range []struct{ got, want, back float64 }{
			{got.TS, tunnel(q, k), got.RS}, {got.TP, tunnel(n*n/q, 1/k), got.RP},
		} {
			if math.Abs(c.got-c.want) > 1e-12*c.want || math.Abs(c.got+c.back-1) > energy {
				t.Errorf("gap %g: T = %g, want %g; T + R = %.15f", float64(gap), c.got, c.want, c.got+c.back)
			}
		}
	}
}

// A metal too thick for light is a mirror with Fresnel's reflectance; nothing overflows.
func TestOpaqueLayer(t *testing.T) {
	const gold = 0.5 + 10i
	for _, d := range []quantity.Length{2e-6, 1e-3, 1} {
		sc, ok := Scatter(air, []Layer{{gold, d}}, yvo4(r3.Vec{X: 1, Y: 2, Z: 3}), r3.Vec{X: 0.7}, r3.Vec{Z: 1},
			wavelength)
		if !ok {
			t.Fatal("no scattering")
		}
		for i := range 2 {
			r, _ := airy([]complex128{1, gold}, nil, 0.7, i == 1)
			near(t, "R", sc.R[i][i], r, 1e-12)
			near(t, "R across", sc.R[i][1-i], 0, 1e-12)
		}
		if passed, _ := sc.shares(0); !(passed < 1e-12) {
			t.Errorf("%g m of metal pass %g", float64(d), passed)
		}
	}
}

// A layer of the media's own index is only a way to go: T = exp(i k0 n cos d), between the feet of the normal.
func TestPhaseReference(t *testing.T) {
	const n, degrees, d = 1.5, 25.0, 0.4e-6
	cos := math.Cos(degrees * math.Pi / 180)
	tangential := r3.Vec{Y: n * math.Sin(degrees*math.Pi/180)}
	sc, _ := Scatter(glass(n), []Layer{{n, d}}, glass(n), tangential, r3.Vec{Z: 1}, wavelength)
	want := cmplx.Exp(complex(0, 2*math.Pi/float64(wavelength)*n*cos*d))
	for i := range 2 {
		near(t, "T", sc.T[i][i], want, closed)
		near(t, "R", sc.R[i][i], 0, closed)
	}
}

// A film at its own critical angle: q goes to zero inside, from either side and at zero itself.
func TestGrazingWithinALayer(t *testing.T) {
	const n, film = 1.5, 1.25
	at := func(tangential float64) Scattering {
		sc, ok := Scatter(glass(n), []Layer{{film, 0.8e-6}}, glass(1.4), r3.Vec{X: tangential}, r3.Vec{Z: 1},
			wavelength)
		if !ok {
			t.Fatal("no scattering")
		}
		return sc
	}
	middle := at(film)
	for _, step := range []float64{-1e-10, 1e-10} {
		beside := at(film + step)
		for i := range 2 {
			near(t, "R", beside.R[i][i], middle.R[i][i], 1e-8)
			near(t, "T", beside.T[i][i], middle.T[i][i], 1e-8)
		}
	}
	if off := lost(&middle); off > energy {
		t.Errorf("energy off by %g", off)
	}
}

func TestShares(t *testing.T) {
	s, ok := Coating(1, []Layer{{2 + 0.1i, 200e-9}}, 1.5, 40*quantity.Degree, wavelength)
	if kept := 1 - s.Reflectance() - (s.TS+s.TP)/2; !ok || kept < 0.01 || s.RS+s.TS >= 1 || s.RP+s.TP >= 1 {
		t.Errorf("%+v, of which a layer that absorbs keeps %g", s, kept)
	}
	if _, ok := Coating(1, nil, 1.5, 90*quantity.Degree+1e-9, wavelength); ok {
		t.Error("light arrives from behind the face")
	}
}

func TestLayerCheck(t *testing.T) {
	for _, tc := range []struct {
		l    Layer
		want string
	}{
		{Layer{1.38, 280e-9}, ""},
		{Layer{0.5 + 10i, 0}, ""},
		{Layer{0, 1e-9}, "positive, finite real part"},
		{Layer{-1.4, 1e-9}, "positive, finite real part"},
		{Layer{complex(math.Inf(1), 0), 1e-9}, "positive, finite real part"},
		{Layer{cmplx.NaN(), 1e-9}, "positive, finite real part"},
		{Layer{0.5 - 10i, 1e-9}, "would amplify"},
		{Layer{1.38, -1e-9}, "thickness -1 nm"},
		{Layer{1.38, quantity.Length(math.NaN())}, "thickness NaN nm"},
		{Layer{1.38, quantity.Length(math.Inf(1))}, "thickness +Inf nm"},
	} {
		err := tc.l.Check()
		if tc.want == "" {
			if err != nil {
				t.Errorf("%v: %v", tc.l, err)
			}
		} else if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%v: %v, want %q", tc.l, err, tc.want)
		}
	}
}
