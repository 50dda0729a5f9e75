package magnet

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

func TestRemanenceOverTemperature(t *testing.T) {
	for _, c := range []struct {
		coefficient, celsius, want float64
	}{
		{-0.001, 20, 1.2}, {-0.001, 70, 1.14}, {-0.001, -30, 1.26}, {0, 70, 1.2}, {-0.0003, 120, 1.164},
	} {
		r := published
		r.Coefficient = c.coefficient
		got, err := r.RemanenceAt(quantity.Celsius(c.celsius))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g/K at %g degC: got %.12g T, want %g", c.coefficient, c.celsius, got, c.want)
		}
		cold, err := r.field(r3.Vec{X: 1e-4, Z: 1e-3}, room)
		if err != nil {
			t.Fatal(err)
		}
		hot, err := r.field(r3.Vec{X: 1e-4, Z: 1e-3}, quantity.Celsius(c.celsius))
		if err != nil {
			t.Fatal(err)
		}
		if e := r3.Norm(r3.Sub(hot, r3.Scale(got/1.2, cold))); e > 1e-15 {
			t.Errorf("field at %g degC does not scale with the remanence: off by %.2g T", c.celsius, e)
		}
	}
	r := published
	if _, err := r.RemanenceAt(quantity.Celsius(1100)); err == nil || !strings.Contains(err.Error(), "leaves none") {
		t.Errorf("at 1100 degC: got %v, want an error", err)
	}
}

func TestRingCheck(t *testing.T) {
	for _, c := range []struct {
		change func(*Ring)
		want   string
	}{
		{func(*Ring) {}, ""},
		{func(r *Ring) { r.Inner = 0 }, ""},
		{func(r *Ring) { r.Remanence = -1 }, ""},
		{func(r *Ring) { r.Inner = 3e-3 }, "radii"},
		{func(r *Ring) { r.Inner = -1e-3 }, "radii"},
		{func(r *Ring) { r.Outer = quantity.Length(math.Inf(1)) }, "radii"},
		{func(r *Ring) { r.Length = 0 }, "length"},
		{func(r *Ring) { r.Remanence = 0 }, "remanence"},
		{func(r *Ring) { r.Remanence = math.NaN() }, "remanence"},
		{func(r *Ring) { r.Coefficient = -0.12 }, "coefficient"},
		{func(r *Ring) { r.Temperature = 0 }, "temperature"},
		{func(r *Ring) { r.Position = quantity.Length(math.NaN()) }, "position"},
	} {
		r := published
		c.change(&r)
		err := r.Check()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", r, err, c.want)
		}
	}
}

func TestMaterials(t *testing.T) {
	if m, err := Named("ndfeb"); err != nil || m.Name != "NdFeB" {
		t.Errorf("Named ignores case: got %v, %v", m, err)
	}
	if _, err := Named("ferrite"); err == nil || !strings.Contains(err.Error(), "SmCo5") {
		t.Errorf("unknown material: got %v, want the known names", err)
	}
}

// A solid cylinder is a ring without a bore.
func TestSolidCylinder(t *testing.T) {
	r := published
	r.Inner = 0
	want := 1.2 * 2e-3 / math.Hypot(2e-3, 3e-3) // Br (L/2) / sqrt((L/2)^2 + R^2) at the centre
	got, err := r.OnAxis(0, room)
	if err != nil {
		t.Fatal(err)
	}
	off, err := r.field(r3.Vec{}, room)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(got-want) > 1e-15 || math.Abs(off.Z-want) > 1e-15 {
		t.Errorf("centre: got %.15g and %.15g T, want %.15g", got, off.Z, want)
	}
}

// Along the axis the integral is a closed form: int z/sqrt(z^2+R^2) dz = sqrt(z^2+R^2).
func TestIntegralOnAxis(t *testing.T) {
	closed := func(from, to float64) (sum float64) {
		for _, m := range []struct{ radius, sign float64 }{{3e-3, 1}, {1.5e-3, -1}} {
			f := func(z float64) float64 { return math.Hypot(z+2e-3, m.radius) - math.Hypot(z-2e-3, m.radius) }
			sum += m.sign * 0.6 * (f(to) - f(from))
		}
		return sum
	}
	for _, c := range [][2]float64{{-1e-3, 1e-3}, {-2.5e-3, 0.1e-3}, {1e-3, -1e-3}, {-0.5, 0.5}, {3e-3, 9e-3}} {
		got, err := published.Integral(r3.Vec{Z: c[0]}, r3.Vec{Z: c[1]}, room)
		if err != nil {
			t.Fatal(err)
		}
		// The stated accuracy: 1e-12 of remanence times the length of the line.
		if want := closed(c[0], c[1]); math.Abs(got-want) > 1e-12*1.2*math.Abs(c[1]-c[0]) {
			t.Errorf("from %g to %g: got %.15g T m, want %.15g", c[0], c[1], got, want)
		}
	}
}

// Ampere: H closes over any line that links no current, so from far to far the integral of B is that of the
// magnetization: zero through the bore, Br L through the material, zero outside.
func TestIntegralIsAmpere(t *testing.T) {
	const far = 20.0
	tail := 2 * 1.2 * (9e-6 - 2.25e-6) * 4e-3 / 4 / (far * far) // of the dipole beyond both ends
	for rho, want := range map[float64]float64{0: 0, 0.9e-3: 0, 1.4e-3: 0, 2e-3: 1.2 * 4e-3, 2.999e-3: 1.2 * 4e-3,
		3.2e-3: 0} {
		got, err := published.Integral(r3.Vec{X: rho, Z: -far}, r3.Vec{X: rho, Z: far}, room)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-want) > 1e-12*1.2*2*far+tail {
			t.Errorf("rho %g: got %.12g T m, want %.12g", rho, got, want)
		}
	}
}

// A slanted line against the sum of its halves, and its own direction: pieces add, and the way back is the
// negative. Some of the lines cross mantles and end planes.
func TestIntegralOfSlantedLines(t *testing.T) {
	integral := func(a, b r3.Vec) float64 {
		v, err := published.Integral(a, b, room)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range [][2]r3.Vec{
		{{X: 0.2e-3, Z: -1e-3}, {X: -0.1e-3, Y: 0.3e-3, Z: 1.3e-3}},
		{{X: -5e-3, Y: 1e-3, Z: -3e-3}, {X: 4e-3, Y: -0.2e-3, Z: 2.5e-3}},
		{{X: 1.5e-3, Z: -3e-3}, {X: 1.5e-3, Z: 3e-3}},
	} {
		a, b := c[0], c[1]
		middle := r3.Add(a, r3.Scale(0.37, r3.Sub(b, a)))
		whole, parts, back := integral(a, b), integral(a, middle)+integral(middle, b), integral(b, a)
		bound := 3e-12 * 1.2 * r3.Norm(r3.Sub(b, a)) // three integrals
		if math.Abs(whole-parts) > bound || math.Abs(whole+back) > bound {
			t.Errorf("%v to %v: whole %.15g, parts %.15g, back %.15g T m", a, b, whole, parts, back)
		}
		// A plain midpoint sum, which knows nothing of the cuts: 1e-4 of remanence times length.
		const n = 100000
		var sum float64
		for i := range n {
			p := r3.Add(a, r3.Scale((float64(i)+0.5)/n, r3.Sub(b, a)))
			field, err := published.field(p, room)
			if err != nil {
				t.Fatal(err)
			}
			sum += field.Z * (b.Z - a.Z) / n
		}
		if math.Abs(whole-sum) > 1e-4*1.2*r3.Norm(r3.Sub(b, a)) {
			t.Errorf("%v to %v: got %.9g T m, midpoint sum %.9g", a, b, whole, sum)
		}
	}
	if got := integral(r3.Vec{X: -1e-3}, r3.Vec{X: 1e-3}); got != 0 {
		t.Errorf("across the axis: got %g T m of Bz dz, want 0", got)
	}
}

func BenchmarkIntegral(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := published.Integral(r3.Vec{X: 1e-4, Z: -2e-4}, r3.Vec{X: 1e-4, Z: 2e-4}, room); err != nil {
			b.Fatal(err)
		}
	}
}

// field returns the flux density in tesla at a point in metres. It is Polar in the frame of the device.
func (r *Ring) field(at r3.Vec, t quantity.Temperature) (r3.Vec, error) {
	rho := math.Hypot(at.X, at.Y)
	radial, axial, err := r.Polar(quantity.Length(rho), quantity.Length(at.Z), t)
	if err != nil || rho == 0 {
		return r3.Vec{Z: axial}, err
	}
	return r3.Vec{X: radial * at.X / rho, Y: radial * at.Y / rho, Z: axial}, nil
}
