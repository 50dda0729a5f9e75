package ray

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

func direction(rng *rand.Rand) r3.Vec {
	for {
		v := r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		if n := r3.Norm(v); n > 0.1 {
			return r3.Scale(1/n, v)
		}
	}
}

func random(rng *rand.Rand) (u *Uniaxial, t, normal r3.Vec) {
	u = &Uniaxial{O: 1.3 + rng.Float64(), E: 1.3 + rng.Float64(), Axis: direction(rng)}
	u.GroupO, u.GroupE = u.O+0.05*rng.Float64(), u.E+0.05*rng.Float64()
	normal = direction(rng)
	t = Tangential(r3.Scale(rng.Float64(), direction(rng)), normal)
	return u, t, normal
}

// Maxwell's equations for a plane wave, k x (k x E) + eps E = 0 with k over k0, leave a residual below 1e-12
// for 100,000 random axes and incidences. The field is built here from the wave vector alone: D lies in
// the plane of N and the axis, across N, and E is D over the tensor.
func TestWavesSatisfyMaxwell(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	worst := 0.0
	for range 100_000 {
		u, tangent, normal := random(rng)
		o, ok := u.Ordinary(tangent, normal)
		if !ok {
			t.Fatal("a wave from a medium of index 1 was totally reflected")
		}
		worst = max(worst, residual(u, o.N, u.OrdinaryField(o.N)))
		e, ok := u.Extraordinary(tangent, normal)
		if !ok {
			t.Fatal("a wave from a medium of index 1 was totally reflected")
		}
		d := r3.Cross(e.N, r3.Cross(e.N, u.Axis))
		along := r3.Dot(d, u.Axis)
		field := r3.Add(r3.Scale(1/(u.O*u.O), r3.Sub(d, r3.Scale(along, u.Axis))), r3.Scale(along/(u.E*u.E), u.Axis))
		worst = max(worst, residual(u, e.N, r3.Unit(field)))
		// Energy flows along E x (N x E), the Poynting vector; S must agree, and cross the face.
		s := r3.Unit(r3.Cross(field, r3.Cross(e.N, field)))
		if d := r3.Norm(r3.Sub(s, e.S)); d > 1e-12 || r3.Dot(e.S, normal) <= 0 {
			t.Fatalf("energy flows along %v, want %v", e.S, s)
		}
		// The component along the face is kept: Snell's law.
		for _, n := range []r3.Vec{o.N, e.N} {
			if d := r3.Norm(r3.Sub(Tangential(n, normal), tangent)); d > 1e-13 {
				t.Fatalf("component along the face changed by %g", d)
			}
		}
	}
	if worst > 1e-12 {
		t.Errorf("residual of Maxwell's equations %g, want below 1e-12", worst)
	}
}

func residual(u *Uniaxial, n, e r3.Vec) float64 {
	along := r3.Dot(e, u.Axis)
	eps := r3.Add(r3.Scale(u.O*u.O, r3.Sub(e, r3.Scale(along, u.Axis))), r3.Scale(u.E*u.E*along, u.Axis))
	return r3.Norm(r3.Add(r3.Cross(n, r3.Cross(n, e)), eps))
}

// A plate cut at 45 deg: tan(walk-off) = |ne^2 - no^2|/(ne^2 + no^2), the textbook closed form.
func TestWalkOffOfAPlateCutAt45(t *testing.T) {
	for _, u := range []*Uniaxial{{O: 1.9447, E: 2.1486}, {O: 1.6337, E: 1.4772}} {
		u.Axis = r3.Vec{X: math.Sqrt(0.5), Z: math.Sqrt(0.5)}
		u.GroupO, u.GroupE = u.O, u.E
		w, _ := u.Extraordinary(r3.Vec{}, r3.Vec{Z: 1})
		got := math.Atan2(math.Abs(w.S.X), w.S.Z)
		o2, e2 := u.O*u.O, u.E*u.E
		want := math.Atan(math.Abs(e2-o2) / (e2 + o2))
		if math.Abs(got-want) > 1e-14 {
			t.Errorf("walk-off %.15f, want %.15f", got, want)
		}
		// The ray of a positive crystal leans towards its axis, that of a negative one away from it.
		if (w.S.X > 0) != (u.E > u.O) {
			t.Errorf("no %g, ne %g: the ray leans to the wrong side, S = %v", u.O, u.E, w.S)
		}
	}
}

// With equal indices the two waves are one, and Snell's law has its scalar form.
func TestReducesToSnell(t *testing.T) {
	u := &Uniaxial{O: 1.7, E: 1.7, GroupO: 1.75, GroupE: 1.75, Axis: r3.Unit(r3.Vec{X: 1, Y: 2, Z: 3})}
	in := 0.6
	tangent, normal := r3.Vec{X: math.Sin(in)}, r3.Vec{Z: 1}
	o, _ := u.Ordinary(tangent, normal)
	e, _ := u.Extraordinary(tangent, normal)
	want := math.Asin(math.Sin(in) / 1.7)
	for _, w := range []Wave{o, e} {
		if got := math.Atan2(w.N.X, w.N.Z); math.Abs(got-want) > 1e-14 {
			t.Errorf("refracted to %.15f, want %.15f", got, want)
		}
		if d := w.Delay * quantity.LightSpeed; math.Abs(d-1.75) > 1e-14 {
			t.Errorf("delay %.15f of the vacuum's, want the group index", d)
		}
	}
}

// The group delay along S against a frequency difference of the phase at a fixed point.
func TestDelayIsTheFrequencyDerivative(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for range 200 {
		u, tangent, normal := random(rng)
		w, ok := u.Extraordinary(tangent, normal)
		if !ok {
			continue
		}
		phase := func(scale float64) float64 { // at frequency scale times w0, over w0/c, a metre along S
			v := *u
			v.O = u.O + (u.GroupO-u.O)*(scale-1)
			v.E = u.E + (u.GroupE-u.E)*(scale-1)
			x, ok := v.Extraordinary(tangent, normal)
			if !ok {
				t.Fatal("lost the wave")
			}
			return scale * r3.Dot(x.N, w.S)
		}
		const h = 1e-5
		// The plane of arrival is fixed by S at w0, so the tangential part is fixed too: both are as for a
		// ray through plane faces lit along a fixed direction.
		want := (phase(1+h) - phase(1-h)) / (2 * h)
		if got := w.Delay * quantity.LightSpeed; math.Abs(got-want) > 1e-8 {
			t.Errorf("delay %.10f, want %.10f", got, want)
		}
	}
}

func TestTotalReflection(t *testing.T) {
	u := &Uniaxial{O: 1.5, E: 1.6, GroupO: 1.5, GroupE: 1.6, Axis: r3.Vec{Y: 1}}
	graze := r3.Vec{X: 1.55}
	if _, ok := u.Ordinary(graze, r3.Vec{Z: 1}); ok {
		t.Error("the ordinary wave crossed beyond its critical angle")
	}
	if _, ok := u.Extraordinary(graze, r3.Vec{Z: 1}); !ok {
		t.Error("the extraordinary wave did not cross below its critical angle")
	}
	if _, ok := u.Extraordinary(r3.Vec{X: 1.61}, r3.Vec{Z: 1}); ok {
		t.Error("the extraordinary wave crossed beyond its critical angle")
	}
}

func TestTurnKeepsSAndP(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for range 1000 {
		a, b := direction(rng), direction(rng)
		if r3.Dot(a, b) < -0.9 {
			continue
		}
		s := r3.Unit(r3.Cross(a, b))
		pa, pb := r3.Cross(s, a), r3.Cross(s, b)
		for _, c := range [][2]r3.Vec{{a, b}, {s, s}, {pa, pb}} {
			if d := r3.Norm(r3.Sub(Turn(c[0], a, b), c[1])); d > 1e-12 {
				t.Fatalf("turned %g away from where it should be", d)
			}
		}
	}
}

// Spread against second differences of N.z over the transverse components, for any axis.
func TestSpreadIsTheCurvature(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	up := r3.Vec{Z: 1}
	for range 300 {
		u, _, _ := random(rng)
		tangent := r3.Vec{X: 0.2 * rng.NormFloat64(), Y: 0.2 * rng.NormFloat64()}
		nz := func(x, y float64) float64 {
			w, ok := u.Extraordinary(r3.Add(tangent, r3.Vec{X: x, Y: y}), up)
			if !ok {
				t.Fatal("lost the wave")
			}
			return w.N.Z
		}
		w, _ := u.Extraordinary(tangent, up)
		const h = 1e-4
		want := -(nz(h, 0) + nz(-h, 0) + nz(0, h) + nz(0, -h) - 4*nz(0, 0)) / (2 * h * h)
		if math.Abs(w.Spread-want) > 1e-6 { // rounding of the second difference
			t.Errorf("spread %.8f, want %.8f", w.Spread, want)
		}
	}
}
