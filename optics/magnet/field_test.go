package magnet

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// sheet is the field of the current around a mantle of radius a by the law of Biot and Savart, for a
// remanence of one tesla: loops along z by Gauss-Legendre, each summed around by the trapezoidal rule, which
// converges exponentially on a circle. Nothing of it is shared with the elliptic integrals.
func sheet(a, half, rho, z float64) (radial, axial float64) {
	const around, along = 1200, 200
	zs, ws := make([]float64, along), make([]float64, along)
	quad.Legendre{}.FixedLocations(zs, ws, -half, half)
	for i := range zs {
		h := z - zs[i]
		for j := range around {
			cos := math.Cos(2 * math.Pi * float64(j) / around)
			d2 := a*a + rho*rho - 2*a*rho*cos + h*h
			w := ws[i] * a / (d2 * math.Sqrt(d2))
			radial += w * h * cos
			axial += w * (a - rho*cos)
		}
	}
	return radial / (2 * around), axial / (2 * around)
}

func TestFieldEqualsBiotSavart(t *testing.T) {
	// Bore, film, beside, above, in the material, and far away. At 0.3 mm from a sheet of 1.5 mm the sum
	// above has converged to 1e-12.
	for _, p := range [][2]float64{
		{0, 0}, {0.1e-3, 0.3e-3}, {0.4e-3, 0}, {0.9e-3, 1.9e-3}, {1.1e-3, -1.2e-3}, {0.2e-3, 2e-3},
		{2.2e-3, 0.4e-3}, {2.3e-3, -1.5e-3}, {3.6e-3, 0}, {3.7e-3, 1.9e-3}, {1e-3, 3e-3}, {2.5e-3, 2.6e-3},
		{5e-3, -4e-3}, {12e-3, 9e-3}, {0.5e-3, 20e-3}, {25e-3, 0},
	} {
		ir, ia := sheet(1.5e-3, 2e-3, p[0], p[1])
		or, oa := sheet(3e-3, 2e-3, p[0], p[1])
		wantR, wantZ := 1.2*(or-ir), 1.2*(oa-ia)
		gotR, gotZ, err := published.Polar(quantity.Length(p[0]), quantity.Length(p[1]), room)
		if err != nil {
			t.Fatal(err)
		}
		if e := math.Hypot(gotR-wantR, gotZ-wantZ) / math.Hypot(wantR, wantZ); e > 1e-9 {
			t.Errorf("at rho %g, z %g: got (%.12g, %.12g) T, want (%.12g, %.12g), relative %.2g", p[0], p[1], gotR,
				gotZ, wantR,
				wantZ, e)
		}
	}
}

func TestAxisEqualsClosedForm(t *testing.T) {
	for z := -12e-3; z <= 12e-3; z += 0.37e-3 {
		want, err := published.OnAxis(quantity.Length(z), room)
		if err != nil {
			t.Fatal(err)
		}
		b, err := published.field(r3.Vec{Z: z}, room)
		if err != nil {
			t.Fatal(err)
		}
		// The field passes through zero on the axis, so 1e-12 is of the greatest field and not of each.
		if b.X != 0 || b.Y != 0 || math.Abs(b.Z-want) > 1e-12*0.3 {
			t.Errorf("z = %g: got %v T, want Bz %.15g", z, b, want)
		}
	}
}

// Far away the field is that of a dipole of moment Br V/mu0; the next multipole is smaller by (size/distance)^2.
func TestFarFieldIsADipole(t *testing.T) {
	volume := math.Pi * (9e-6 - 2.25e-6) * 4e-3
	for _, distance := range []float64{0.1, 0.2, 0.4} {
		for deg := 0.0; deg <= 180; deg += 15 {
			s, c := math.Sincos(deg * math.Pi / 180)
			b, err := published.field(r3.Vec{X: distance * s, Z: distance * c}, room)
			if err != nil {
				t.Fatal(err)
			}
			k := 1.2 * volume / (4 * math.Pi * math.Pow(distance, 3))
			want := r3.Vec{X: k * 3 * s * c, Z: k * (3*c*c - 1)}
			bound := 2 * math.Pow(4e-3/distance, 2)
			if e := r3.Norm(r3.Sub(b, want)) / k; e > bound {
				t.Errorf("%g m at %g deg: got %v, want %v within %.2g, relative %.2g", distance, deg, b, want, bound, e)
			}
		}
	}
}

// Without currents div B = 0 and curl B = 0; in the material, where the sheets are not met, as well.
func TestDivergenceAndCurl(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	const h = 20e-6
	at := func(p r3.Vec) r3.Vec {
		b, err := published.field(p, room)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	for n := 0; n < 400; {
		p := r3.Vec{X: 10e-3 * (random.Float64() - 0.5), Y: 10e-3 * (random.Float64() - 0.5),
			Z: 10e-3 * (random.Float64() - 0.5)}
		rho := math.Hypot(p.X, p.Y)
		if math.Abs(rho-1.5e-3) < 0.3e-3 || math.Abs(rho-3e-3) < 0.3e-3 {
			continue
		}
		n++
		slope := func(d r3.Vec) r3.Vec { // central difference, five points: error h^4
			one := r3.Sub(at(r3.Add(p, r3.Scale(h, d))), at(r3.Sub(p, r3.Scale(h, d))))
			two := r3.Sub(at(r3.Add(p, r3.Scale(2*h, d))), at(r3.Sub(p, r3.Scale(2*h, d))))
			return r3.Scale(1/(12*h), r3.Sub(r3.Scale(8, one), two))
		}
		dx, dy, dz := slope(r3.Vec{X: 1}), slope(r3.Vec{Y: 1}), slope(r3.Vec{Z: 1})
		size := r3.Norm(dx) + r3.Norm(dy) + r3.Norm(dz)
		// 5e-5: what (h / 0.3 mm)^4 leaves of the steepest place, with its factor.
		const bound = 5e-5
		if e := math.Abs(dx.X+dy.Y+dz.Z) / size; e > bound {
			t.Errorf("%v: divergence %.2g of its terms", p, e)
		}
		if e := math.Sqrt(square(dy.Z-dz.Y)+square(dz.X-dx.Z)+square(dx.Y-dy.X)) / size; e > bound {
			t.Errorf("%v: curl %.2g of its terms", p, e)
		}
	}
}

func square(x float64) float64 { return x * x }

func TestSymmetry(t *testing.T) {
	moved, reversed := published, published
	moved.Position = 7e-3
	reversed.Remanence = -published.Remanence
	at := func(r Ring, p r3.Vec) r3.Vec {
		b, err := r.field(p, room)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	for _, p := range []r3.Vec{{X: 0.3e-3, Y: 0.4e-3, Z: 1.1e-3}, {X: 2e-3, Y: -1e-3, Z: 0.3e-3},
		{X: -4e-3, Z: -2.5e-3}} {
		b := at(published, p)
		for what, c := range map[string]struct{ got, want r3.Vec }{
			"mirrored in z": {at(published, r3.Vec{X: p.X, Y: p.Y, Z: -p.Z}), r3.Vec{X: -b.X, Y: -b.Y, Z: b.Z}},
			"half turn":     {at(published, r3.Vec{X: -p.X, Y: -p.Y, Z: p.Z}), r3.Vec{X: -b.X, Y: -b.Y, Z: b.Z}},
			"quarter turn":  {at(published, r3.Vec{X: -p.Y, Y: p.X, Z: p.Z}), r3.Vec{X: -b.Y, Y: b.X, Z: b.Z}},
			"magnet moved":  {at(moved, r3.Vec{X: p.X, Y: p.Y, Z: p.Z + 7e-3}), b},
			"magnet turned": {at(reversed, p), r3.Scale(-1, b)},
			"on its radius": {r3.Vec{X: b.X * p.Y, Y: 0, Z: 0}, r3.Vec{X: b.Y * p.X, Y: 0, Z: 0}},
		} {
			if e := r3.Norm(r3.Sub(c.got, c.want)); e > 1e-15*1.2*4 { // rounding of the moved coordinate
				t.Errorf("%v %s: got %v, want %v", p, what, c.got, c.want)
			}
		}
	}
	if b := at(published, r3.Vec{}); b.Z >= 0 {
		t.Errorf("Bz in the bore of a positive remanence: got %g T, want it negative", b.Z)
	}
}

// On a mantle Bz is the mean of both sides and jumps by the remanence; on an edge there is no field.
func TestMantleAndEdge(t *testing.T) {
	const step = 1e-12
	at := func(rho, z float64) (float64, float64) {
		r, b, err := published.Polar(quantity.Length(rho), quantity.Length(z), room)
		if err != nil {
			t.Fatal(err)
		}
		return r, b
	}
	for _, c := range []struct{ radius, z, jump float64 }{
		{1.5e-3, 0.5e-3, 1.2}, {3e-3, 0.5e-3, -1.2}, {1.5e-3, 3e-3, 0}, {3e-3, -2.5e-3, 0},
	} {
		innerR, innerZ := at(c.radius-step, c.z)
		onR, onZ := at(c.radius, c.z)
		outerR, outerZ := at(c.radius+step, c.z)
		// 1e-7: the slope of the field over the step, and the integral as p goes to 0.
		if got := outerZ - innerZ; math.Abs(got-c.jump) > 1e-7 {
			t.Errorf("Bz at radius %g, z %g jumps by %.9g T, want %g", c.radius, c.z, got, c.jump)
		}
		if want := (innerZ + outerZ) / 2; math.Abs(onZ-want) > 1e-7 {
			t.Errorf("Bz on radius %g, z %g: got %.9g T, want the mean %.9g", c.radius, c.z, onZ, want)
		}
		if math.Abs(innerR-onR) > 1e-7 || math.Abs(outerR-onR) > 1e-7 {
			t.Errorf("Brho at radius %g, z %g: %.9g, %.9g, %.9g T, want no jump", c.radius, c.z, innerR, onR, outerR)
		}
	}
	for _, p := range [][2]float64{{1.5e-3, 2e-3}, {1.5e-3, -2e-3}, {3e-3, 2e-3}, {3e-3, -2e-3}} {
		if _, _, err := published.Polar(quantity.Length(p[0]), quantity.Length(p[1]), room); !errors.Is(err, ErrEdge) {
			t.Errorf("edge at %v: got %v, want ErrEdge", p, err)
		}
	}
	if _, err := published.field(r3.Vec{X: math.NaN()}, room); err == nil || errors.Is(err, ErrEdge) {
		t.Errorf("field at NaN: got %v, want an error of its own", err)
	}
}

// The integrals against Simpson's sum of their definition, and a series where the sum would cancel.
func TestCelAgainstItsDefinition(t *testing.T) {
	simpson := func(k, p, c, s float64) float64 {
		const n = 20000
		f := func(x float64) float64 {
			sin, cos := math.Sincos(x)
			sin, cos = sin*sin, cos*cos
			return (c*cos + s*sin) / ((cos + p*sin) * math.Sqrt(cos+k*k*sin))
		}
		sum := f(0) + f(math.Pi/2)
		for i := 1; i < n; i++ {
			sum += float64(2+2*(i%2)) * f(math.Pi/2*float64(i)/n)
		}
		return sum * math.Pi / 2 / n / 3
	}
	for _, v := range [][4]float64{
		{1, 1, 1, 1}, {0.5, 1, 1, 1}, {0.05, 1, 1, 0.0025}, {0.2, 0.3, 1, -0.5}, {0.9, 2, 1, 1}, {0.7, 0.01, 1, 0.1},
		{0.6, 0,
			1, 0},
	} {
		got, want := cel(v[0], v[1], v[2], v[3]), simpson(v[0], v[1], v[2], v[3])
		if v[1] == 0 { // p = 0 with s = 0 is K, whose definition has 0/0 at one end
			want = simpson(v[0], 1, 1, 1)
		}
		if math.Abs(got-want) > 1e-13*max(1, math.Abs(want)) {
			t.Errorf("C%v: got %.15g, want %.15g", v, got, want)
		}
		if got, want := celBend(v[0], 1-v[0]*v[0]), simpson(v[0], 1, 1, -1); math.Abs(got-want) > 1e-13 {
			t.Errorf("C(%g, 1, 1, -1): got %.15g, want %.15g", v[0], got, want)
		}
	}
	// As k goes to 1, C(k, 1, 1, -1) = -pi/16 m (1 + 3m/4 ...), m = 1-k^2: no digit is lost.
	const m = 1e-9
	if got, want := celBend(math.Sqrt(1-m), m), -math.Pi/16*m*(1+0.75*m); math.Abs(got/want-1) > 1e-15 {
		t.Errorf("C near k = 1: got %.17g, want %.17g", got, want)
	}
}

func TestFieldDoesNotAllocate(t *testing.T) {
	got := testing.AllocsPerRun(100, func() {
		if _, err := published.field(r3.Vec{X: 1e-4, Y: 2e-4, Z: 3e-4}, room); err != nil {
			t.Error(err)
		}
	})
	if got != 0 {
		t.Errorf("Field allocates %g times, want never", got)
	}
}

func BenchmarkField(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := published.field(r3.Vec{X: 1e-4, Y: 2e-4, Z: 3e-4}, room); err != nil {
			b.Fatal(err)
		}
	}
}
