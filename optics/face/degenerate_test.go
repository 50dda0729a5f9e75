package face

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// jones returns what the field x or y of unit flux from air becomes beyond the face, as a field: it must not
// depend on how s, p, o and e were chosen where they are free to choose.
func jones(t *testing.T, layers []Layer, out Side, tangential r3.Vec) (field [2][3]complex128) {
	t.Helper()
	z := r3.Vec{Z: 1}
	sc, ok := Scatter(air, layers, out, tangential, z, wavelength)
	if !ok {
		t.Fatal("no scattering")
	}
	for c, e := range [2]r3.Vec{{X: 1}, {Y: 1}} {
		for k := range 2 {
			for j := range 2 {
				a := sc.T[j][k] * complex(r3.Dot(e, sc.In[k].Field), 0)
				f := sc.Out[j].amplitude(z)
				field[c][0] += a * complex(f.X, 0)
				field[c][1] += a * complex(f.Y, 0)
				field[c][2] += a * complex(f.Z, 0)
			}
		}
	}
	return field
}

func apart(a, b [2][3]complex128) float64 {
	worst := 0.0
	for c := range 2 {
		for i := range 3 {
			worst = max(worst, math.Sqrt(abs2(a[c][i]-b[c][i])))
		}
	}
	return worst
}

// Towards normal incidence, from all sides, the fields beyond the face go over into those of normal incidence,
// also where the optic axis runs along the normal, so that o and e are one, and near it.
func TestNormalIncidenceIsApproached(t *testing.T) {
	rng := rand.New(rand.NewPCG(18, 19))
	layers := []Layer{{1.44, 250e-9}, {2.1 + 0.01i, 150e-9}}
	for _, axis := range []r3.Vec{
		{Z: 1}, {Z: -1}, {X: 1e-17, Z: 1}, {X: 1e-12, Y: 1e-12, Z: 1}, {Y: 1e-6, Z: -1}, {X: 1}, {Y: 1},
		{X: 0.3, Y: 0.4,
			Z: 1},
	} {
		out := yvo4(axis)
		for _, films := range [][]Layer{nil, layers} {
			middle := jones(t, films, out, r3.Vec{})
			for c := range 300 {
				size := math.Pow(10, -16+float64(c%14))
				phi := 2 * math.Pi * rng.Float64()
				beside := jones(t, films, out, r3.Vec{X: size * math.Cos(phi), Y: size * math.Sin(phi)})
				if d := apart(beside, middle); d > 2*size+1e-13 {
					t.Fatalf("axis %v, t %g: field moves by %g", axis, size, d)
				}
			}
		}
	}
}

// The same for light along an axis that lies at a slant to the normal.
func TestOpticAxisIsApproached(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 21))
	axis := r3.Unit(r3.Vec{X: 0.2, Y: -0.3, Z: 1})
	out := yvo4(axis)
	along := r3.Vec{X: out.Crystal.O * axis.X, Y: out.Crystal.O * axis.Y}
	middle := jones(t, nil, out, along)
	for c := range 1000 {
		size := math.Pow(10, -16+float64(c%14))
		phi := 2 * math.Pi * rng.Float64()
		beside := jones(t, nil, out, r3.Add(along, r3.Vec{X: size * math.Cos(phi), Y: size * math.Sin(phi)}))
		if d := apart(beside, middle); d > 2*size+1e-13 {
			t.Fatalf("%g off the axis: field moves by %g", size, d)
		}
	}
}

// The directions that the package comment promises, p along t for light that travels on, and a fixed choice at
// normal incidence.
func TestFieldDirections(t *testing.T) {
	z := r3.Vec{Z: 1}
	for _, tc := range []struct{ t, s, p, back r3.Vec }{
		{r3.Vec{X: 1e-8}, r3.Vec{Y: -1}, r3.Vec{X: 1}, r3.Vec{X: -1}},
		{r3.Vec{}, r3.Vec{Y: -1}, r3.Vec{X: 1}, r3.Vec{X: -1}},
		{r3.Vec{Y: 1e-8}, r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Y: -1}},
	} {
		sc, _ := Scatter(air, nil, glass(1.5), tc.t, z, wavelength)
		for _, c := range []struct {
			what      string
			got, want r3.Vec
		}{
			{"s", sc.In[0].Field, tc.s}, {"p", sc.In[1].Field, tc.p},
			{"s beyond", sc.Out[0].Field, tc.s}, {"p beyond", sc.Out[1].Field, tc.p},
			{"s back", sc.Back[0].Field, tc.s}, {"p back", sc.Back[1].Field, tc.back},
		} {
			if r3.Norm(r3.Sub(c.got, c.want)) > 1e-7 {
				t.Errorf("t %v: %s along %v, want %v", tc.t, c.what, c.got, c.want)
			}
		}
	}
	rng := rand.New(rand.NewPCG(22, 23))
	for range 1000 {
		u, normal := randomCrystal(rng), direction(rng)
		sc, _ := Scatter(u, nil, air, tangentUpTo(rng, normal, 0.9), normal, wavelength)
		for _, m := range [][2]Mode{sc.In, sc.Back} {
			o, e := m[0], m[1]
			if d := r3.Norm(r3.Sub(o.Field, u.Crystal.OrdinaryField(o.N))); d > 1e-9 {
				t.Fatalf("o along %v, %g from package ray's", o.Field, d)
			}
			if math.Abs(r3.Norm(e.Field)-1) > 1e-14 || math.Abs(r3.Dot(e.Field, e.S)) > 1e-12 ||
				r3.Dot(r3.Cross(r3.Cross(e.N, u.Crystal.Axis), e.Field), e.S) <= 0 {
				t.Fatalf("e along %v with S %v", e.Field, e.S)
			}
		}
	}
}

// The two evanescent waves become one where the axis lies in the face and its component of t is no: there Scatter
// says so, and beside it the energy returned is right to what rounding leaves, 1e-16 over the distance.
func TestEvanescentWavesBecomeOne(t *testing.T) {
	for _, off := range []float64{0, 1e-12, 1e-10, 1e-7, 1e-5, 1e-3} {
		sc, ok := Scatter(glass(2), nil, crystal(1.5, 1.6, r3.Vec{X: 1}), r3.Vec{X: 1.5 + off, Y: 0.9}, r3.Vec{Z: 1},
			wavelength)
		if ok != (off > 1e-9) {
			t.Errorf("%g beside the one wave: ok %v", off, ok)
		}
		for k := range 2 {
			if _, returned := sc.shares(k); ok && math.Abs(returned-1) > 1e-14/off {
				t.Errorf("%g beside the one wave: share returned %.17g", off, returned)
			}
		}
	}
}
