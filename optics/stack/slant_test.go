package stack

import (
	"math"
	"math/cmplx"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// steadyFilm is a film without slopes that depolarizes nothing.
func steadyFilm(t testing.TB) element.Rotator {
	t.Helper()
	film := plain.spec(t).Elements[2].(element.Rotator)
	film.Garnet.PerKelvin, film.Garnet.PerMetre, film.Garnet.Extinction = 0, 0, math.Inf(1)
	return film
}

// Through a film tilted by a, light goes at r = asin(sin a/n) to its normal and at a-r to z (Snell): it is displaced by
// d sin(a-r)/cos r, leaves as it came, and is turned in proportion to its way along z, d cos(a-r)/cos r, the film being
// magnetized along z. A film square to the light turns it whatever the direction of the light: the way is longer as its
// share of the magnetization is less.
func TestTiltedFilm(t *testing.T) {
	for _, tilt := range []float64{0, 2, 8, 15, -8} {
		for _, azimuth := range []float64{0, 70} {
			film := steadyFilm(t)
			d, err := film.Thickness()
			if err != nil {
				t.Fatal(err)
			}
			film.Slant = element.Slant{Tilt: quantity.Angle(tilt * deg), Azimuth: quantity.Angle(azimuth * deg)}
			s := assembled(t, film).Posed(Pose{})
			ps, err := s.Paths(Forward, at, room)
			if err != nil {
				t.Fatal(err)
			}
			r := math.Asin(math.Sin(tilt*deg) / film.Garnet.Index)
			aside := float64(d) * math.Sin(tilt*deg-r) / math.Cos(r)
			// Light bends towards the normal, and so goes the way that it leans.
			sin, cos := math.Sincos(azimuth * deg)
			if x, y := ps[0].Offset.X-aside*cos, ps[0].Offset.Y-aside*sin; math.Hypot(x, y) > 1e-15 {
				t.Errorf("tilt %g deg: light arrives at %v um, want %.6f um towards %g deg", tilt,
					ps[0].Offset.Scale(1e6), aside*1e6, azimuth)
			}
			if math.Hypot(ps[0].Tilt.X, ps[0].Tilt.Y) > 1e-15 {
				t.Errorf("tilt %g deg: light leaves at %v rad", tilt, ps[0].Tilt)
			}
			want := float64(film.Angle) * math.Cos(tilt*deg-r) / math.Cos(r)
			for _, dir := range []Direction{Forward, Backward} {
				m := point(t, s, dir).M
				got := math.Atan2(real(m[1][0]/m[0][0]), 1)
				if math.Abs(got-want) > 1e-9 {
					t.Errorf("tilt %g deg, %s: turned by %.8f deg, want %.8f", tilt, dir, got/deg, want/deg)
				}
			}
		}
	}
}

// A film that is a wedge deflects light as a prism does, and turns it by the thickness that it passes: off its middle
// towards the azimuth by x, x tan(wedge) less for a back face whose normal leans that way.
func TestWedgedFilm(t *testing.T) {
	film := steadyFilm(t)
	d, _ := film.Thickness()
	const wedge = 1.0 * deg
	film.Slant = element.Slant{Wedge: wedge}
	s := assembled(t, film)
	ps, err := s.Posed(Pose{}).Paths(Forward, at, room)
	if err != nil {
		t.Fatal(err)
	}
	// Inside along z; at the back face Snell's law between n sin(wedge) and sin(wedge + deflection).
	bent := math.Asin(film.Garnet.Index*math.Sin(wedge)) - wedge
	if got := ps[0].Tilt.X; math.Abs(got+math.Sin(bent)) > 1e-12 { // towards the thick side
		t.Errorf("a wedge of 1 deg deflects by %.9f rad, want %.9f", got, -math.Sin(bent))
	}
	// A plate of glass before it, tilted, moves the light off the film's middle.
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	plate := element.Plate{As: "plate", Glass: silica, Thickness: 2e-3, Tilt: 20 * deg}
	n, err := silica.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	in := math.Asin(math.Sin(20*deg) / n.N)
	off := 2e-3 * math.Cos(20*deg) * math.Sin(20*deg-in) / math.Cos(in) // 2 mm along z
	s = assembled(t, plate, element.Gap{}, film)
	m := point(t, s, Forward).M
	x, y := cmplx.Abs(m[0][0]), cmplx.Abs(m[1][0])
	want := float64(film.Angle) * (float64(d) - off*math.Tan(wedge)) / float64(d)
	if got := math.Atan2(y, x); math.Abs(got-want) > 2e-5 { // the path's own ray is found to 2e-5 rad
		t.Errorf("%.3f um off the middle: turned by %.6f deg, want %.6f, in the middle %.6f", off*1e6, got/deg,
			want/deg, float64(film.Angle)/deg)
	}
}

// Two slabs follow Malus's law in power, the transmission of unpolarized light through a parallel pair of extinctions e
// is (1+e^2)/2 and through a crossed one e, each with the loss of both. Faces come on top: of a bare face at normal
// incidence ((n-1)/(n+1))^2 is reflected (Fresnel), one slab passing (1-R)^2 without ghosts.
func TestSlabsFollowMalus(t *testing.T) {
	const e, n = 1e-3, 1.51
	slab := func(axis float64, c element.Coating) element.Polarizer {
		return element.Polarizer{Axis: quantity.Angle(axis * deg), Extinction: 1 / e, Loss: 0.1,
			Slab: element.Slab{Thickness: 0.2e-3, Index: n, Coating: c}}
	}
	reflected := math.Pow((n-1)/(n+1), 2)
	for _, coat := range []element.Coating{{}, {Bare: true}} {
		through := 1.0
		if coat.Bare {
			through = math.Pow(1-reflected, 4)
		}
		through *= ratio(-0.2)
		for _, angle := range []float64{0, 30, 60, 90} {
			s := assembled(t, slab(10, coat), element.Gap{Length: 1e-3}, slab(10+angle, coat)).WithGhosts(GhostsNone)
			none := assembled(t, still, element.Gap{Length: 1.2e-3}).WithGhosts(GhostsNone)
			p, empty := point(t, s, Forward), point(t, none, Forward)
			s2, c2 := math.Pow(math.Sin(angle*deg), 2), math.Pow(math.Cos(angle*deg), 2)
			mean := through * (c2*(1+e*e) + s2*2*e) / 2
			if got := (p.T1 + p.T2) / (empty.T1 + empty.T2); math.Abs(got/mean-1) > 1e-3 { // diffraction over 2 mm
				t.Errorf("%g deg, bare %t: %.8f of unpolarized light passes, want %.8f", angle, coat.Bare, got, mean)
			}
		}
	}
}

// A dichroic slab absorbs what of its axis lies across the light inside. Tilted by a about the line at 45 deg to its
// axis, the light inside goes at r = asin(sin a/n) to the normal; in the frame of the faces the absorbing axis has the
// components cos r/sqrt 2 along p and 1/sqrt 2 along s, and s and p pass faces without reflection as they are.
func TestTiltedSlab(t *testing.T) {
	for _, tilt := range []float64{0, 5, 20} {
		p := element.Polarizer{Axis: 0, Extinction: 1e12, Slab: element.Slab{Thickness: 0.2e-3, Index: 1.5,
			Slant: element.Slant{Tilt: quantity.Angle(tilt * deg), Azimuth: 45 * deg}}}
		m := point(t, assembled(t, p), Forward).M
		r := math.Asin(math.Sin(tilt*deg) / 1.5)
		// Blocked: b = (p cos r + s)/norm with p towards 45 deg and s towards 135 deg; it was (p + s), along y.
		size := math.Hypot(math.Cos(r), 1)
		along, across := math.Cos(r)/size, 1/size // of b
		passed := [2]float64{across, -along}      // in (p, s)
		want := math.Atan2(passed[0]+passed[1], passed[0]-passed[1])
		got := math.Atan2(real(m[1][0]/m[0][0]), 1)
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("tilt %g deg: passes light at %.6f deg, want %.6f", tilt, got/deg, want/deg)
		}
	}
}

// With films and slabs tilted, with wedges, bare and coated, light comes back through the stack with reversed rotations
// as it went: the matrix is the transpose, ghosts included, to what the search for a path's own ray leaves.
func TestSlantedPartsReverse(t *testing.T) {
	film := steadyFilm(t)
	film.Slant = element.Slant{Tilt: 4 * deg, Azimuth: 30 * deg}
	film.Coating = element.Coating{Reflectance: 0.01}
	slab := element.Polarizer{Axis: 20 * deg, Extinction: 50, Slab: element.Slab{Thickness: 0.3e-3, Index: 1.51,
		Coating: element.Coating{Bare: true},
		Slant:   element.Slant{Tilt: 6 * deg, Wedge: 0.1 * deg, Azimuth: -50 * deg}}}
	reversed := film
	reversed.Angle = -film.Angle
	f := point(t, assembled(t, slab, element.Gap{Length: 1e-4}, film), Forward)
	b := point(t, assembled(t, slab, element.Gap{Length: 1e-4}, reversed), Backward)
	size := math.Sqrt(f.T1)
	phase := f.M[0][0] / b.M[0][0]
	if off := math.Abs(cmplx.Abs(phase) - 1); off > 1e-6 {
		t.Errorf("backward with the film reversed differs by %.3g in size", off)
	}
	for i := range 2 {
		for k := range 2 {
			if off := cmplx.Abs(f.M[i][k]-b.M[k][i]*phase) / size; off > 1e-6 {
				t.Errorf("element %d %d: forward %v, transposed backward %v", i, k, f.M[i][k], b.M[k][i]*phase)
			}
		}
	}
}

// Light that goes to and fro in a tilted film with coated faces: between its passes the etalon's phase is
// 2 n d k cos r, of the closed form of an etalon to the first double bounce, in either circular polarization.
func TestGhostsOfATiltedFilm(t *testing.T) {
	film := steadyFilm(t)
	const tilt, reflectance = 1 * deg, 0.02
	film.Slant.Tilt, film.Coating.Reflectance = tilt, reflectance
	film.Angle = 10 * deg
	d, err := film.Thickness()
	if err != nil {
		t.Fatal(err)
	}
	n := film.Garnet.Index
	r := math.Asin(math.Sin(tilt) / n)
	turn := float64(film.Angle) * math.Cos(tilt-r) / math.Cos(r)
	back := float64(film.Angle) * math.Cos(tilt+r) / math.Cos(r) // inside, light on its way back goes at a+r to z
	spec := assembled(t, film).Spec()
	spec.Beam.Waist = 2e-3 // aside by 2 d sin r there and back, a thousandth of the beam
	spec.Beam.WorkingDistance = 1e-3
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []float64{1549.2e-9, 1550e-9, 1551.1e-9} {
		film.Garnet.PerMetre = 0
		p, err := s.At(Forward, quantity.Length(l), room)
		if err != nil {
			t.Fatal(err)
		}
		for _, sign := range []float64{1, -1} { // circular: +-turn of phase a pass
			phase := 2 * 2 * math.Pi / l * n * float64(d) * math.Cos(r)
			once := complex(1-reflectance, 0) * cmplx.Exp(complex(0, -sign*turn))
			want := once * (1 + complex(reflectance, 0)*cmplx.Exp(complex(0, phase-sign*(turn+back))))
			got := circular(p.M, sign)
			if math.Abs(cmplx.Abs(got)-cmplx.Abs(want)) > 2e-5 {
				t.Errorf("%g nm, %+g: amplitude %.7f, want %.7f", l*1e9, sign, cmplx.Abs(got), cmplx.Abs(want))
			}
		}
	}
}

// circular is the diagonal element of a matrix for light (1, i sign)/sqrt 2.
func circular(m polar.Matrix, sign float64) complex128 {
	u := [2]complex128{complex(1/math.Sqrt2, 0), complex(0, sign/math.Sqrt2)}
	var sum complex128
	for i := range 2 {
		for k := range 2 {
			sum += cmplx.Conj(u[i]) * m[i][k] * u[k]
		}
	}
	return sum
}
