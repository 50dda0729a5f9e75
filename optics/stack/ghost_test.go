package stack

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// layered is the power that faces of equal reflectance in a row transmit at normal incidence, all reflections counted:
// the product of transfer matrices (textbook), with a face's two sides of opposite sign. indices and lengths are those
// of the media between the faces, entering says whether the face is met from the thinner medium.
func layered(reflectance float64, indices, lengths []float64, entering []bool, l float64) float64 {
	t := complex(1/math.Sqrt(1-reflectance), 0)
	m := [2][2]complex128{{1, 0}, {0, 1}}
	mul := func(b [2][2]complex128) {
		a := m
		for i := range 2 {
			for k := range 2 {
				m[i][k] = a[i][0]*b[0][k] + a[i][1]*b[1][k]
			}
		}
	}
	for i := range entering {
		r := complex(math.Sqrt(reflectance), 0)
		if entering[i] {
			r = -r
		}
		mul([2][2]complex128{{t, r * t}, {r * t, t}})
		if i < len(indices) {
			phase := complex(0, 2*math.Pi*indices[i]*lengths[i]/l)
			mul([2][2]complex128{{cmplx.Exp(-phase), 0}, {0, cmplx.Exp(phase)}})
		}
	}
	return 1 / real(m[0][0]*cmplx.Conj(m[0][0]))
}

// The double bounces of coated faces, one each of every pair, against all reflections: they differ by what is left out,
// the square of the sum of R over the pairs, so that the series conserves energy to the order it is carried to. The
// pairs reach over crystals of any cut and over glass, and every ray must keep its sign where it turns round inside.
func TestDoubleBouncesConserveEnergy(t *testing.T) {
	const reflectance = 1e-3
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	plate := element.Plate{As: "plate", Thickness: 0.5e-3, Cut: 90 * deg,
		Coating: element.Coating{Reflectance: reflectance}}
	for _, c := range []struct {
		name, crystal string
		cut           quantity.Angle
	}{{"glass", "", 0}, {"across the axis", "YVO4", 90 * deg}, {"along the axis", "YVO4", 0}, {"negative", "calcite",
		90 * deg}} {
		p := plate
		p.Cut = c.cut
		var o, e float64
		if c.crystal == "" {
			p.Glass = silica
			n, err := silica.At(at, room)
			if err != nil {
				t.Fatal(err)
			}
			o, e = n.N, n.N
		} else {
			p.Crystal = crystal(t, c.crystal)
			n, err := p.Crystal.At(at, room)
			if err != nil {
				t.Fatal(err)
			}
			o, e = n.O, n.E
			if c.cut == 0 {
				e = o
			}
		}
		least, most := 1.0, 0.0
		for i := range 25 { // a gap in fine steps brings the pairs over it in and out of step
			gap := 0.3e-3 + float64(i)*at/50
			s := assembled(t, p, element.Gap{Length: quantity.Length(gap)}, p)
			got := point(t, s, Forward)
			d := s.lay(room).faces[1].Z         // grown by three kelvin
			for k, n := range []float64{e, o} { // the axis is at azimuth 0: x is the e ray
				want := layered(reflectance, []float64{n, 1, n}, []float64{d, gap, d}, []bool{true, false, true, false},
					at)
				m := got.M[k][k]
				power := real(m)*real(m) + imag(m)*imag(m)
				// 36e-6 is (6 R)^2; the Gaussian beam's own phase over a double bounce adds 1e-5.
				if math.Abs(power-want) > 5e-5 {
					t.Fatalf("%s, gap %.3f um, index %.4f: transmits %.7f, want %.7f", c.name, gap*1e6, n, power, want)
				}
				least, most = min(least, power), max(most, power)
			}
		}
		if most > 1+4e-5 || most-least < reflectance/4 {
			t.Errorf("%s: transmission runs from %.6f to %.6f", c.name, least, most)
		}
	}
}

// Four bare plates bounce more light than one double bounce of each pair can tell of, and the stack says so; coated to
// 0.1 %, or with ghosts left out, it has nothing to say.
func TestCautionForEchoes(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	stack := func(c element.Coating) *Stack {
		plate, gap := element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3, Coating: c},
			element.Gap{Length: 0.2e-3}
		return assembled(t, plate, gap, plate, gap, plate, gap, plate)
	}
	bare := stack(element.Coating{Bare: true})
	// 28 pairs of (n-1)^2/(n+1)^2 each, with n of fused silica from Malitson: 28 * 0.0330 = 0.924.
	if c := bare.Cautions(); len(c) != 1 || !strings.Contains(c[0], "add up to 0.92 of the amplitude") {
		t.Errorf("bare: %q", c)
	}
	if c := bare.WithGhosts(GhostsNone).Cautions(); len(c) != 0 {
		t.Errorf("bare, without ghosts: %q", c)
	}
	if c := stack(element.Coating{Reflectance: 0.001}).Cautions(); len(c) != 0 {
		t.Errorf("coated: %q", c)
	}
}

// Behind a wedge paths are traced again along their own rays, and double bounces that pass a crystal three times are
// longer than the path that is sought: both routes must keep to it. Bare faces turn o into e where they reflect, so
// that several double bounces enter the crystals alike; the stack is reciprocal only if each is told from the others.
func TestDoubleBouncesBehindAWedge(t *testing.T) {
	w := element.Wedge{Crystal: crystal(t, "YVO4"), Slanted: element.Front, Apex: 5 * deg, Thickness: 0.5e-3,
		Axis: 20 * deg}
	gap := element.Gap{Length: 0.1e-3}
	for _, coating := range []element.Coating{{Reflectance: 0.01}, {Bare: true}} {
		w.Coating = coating
		half := element.Retarder{Crystal: crystal(t, "quartz"), Retardance: math.Pi, At: at, Axis: 12 * deg,
			Coating: coating}
		displacer := element.Plate{As: "displacer", Crystal: crystal(t, "YVO4"), Thickness: 0.4e-3, Cut: 45 * deg,
			Axis: 50 * deg, Coating: coating}
		for _, parts := range [][]element.Element{{w, gap, half, gap, half}, {w, gap, displacer}} {
			s := assembled(t, parts...)
			f, b := point(t, s, Forward), point(t, s, Backward) // an error where a path is lost
			if off := untransposed(f.M, b.M) / math.Sqrt(f.T1); off > 5e-4 {
				t.Errorf("bare %t, %d parts: backward differs from the transpose of forward by %.3g", coating.Bare,
					len(parts), off)
			}
			c := s.lay(room)
			if err := c.tune(at); err != nil {
				t.Fatal(err)
			}
			if want := s.evaluate(c, Forward, at); math.Abs(f.T1/want.T1-1) > 1e-9 {
				t.Errorf("bare %t: tracer %.12g, path sum %.12g", coating.Bare, f.T1, want.T1)
			}
		}
	}
}

// Heat turns the faces of a displacer by microradians against those of other parts: they stay parallel enough to bounce
// light, and the ripple is what it was.
func TestDoubleBouncesOutliveHeat(t *testing.T) {
	displacer := element.Plate{As: "displacer", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3, Cut: 45 * deg,
		Coating: element.Coating{Reflectance: 0.01}}
	glass, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	s := assembled(t, displacer, element.Gap{Length: 0.3e-3}, element.Plate{As: "plate", Glass: glass,
		Thickness: 0.4e-3,
		Coating:   element.Coating{Reflectance: 0.01}})
	count := func(celsius float64) (n int) {
		paths, err := s.Paths(Forward, at, quantity.Celsius(celsius))
		if err != nil {
			t.Fatal(err)
		}
		return len(paths)
	}
	// Two straight paths, and of each of them one double bounce or more by each of the six pairs of faces.
	if at20, at70 := count(20), count(70); at20 != at70 || at20 < 14 {
		t.Errorf("%d paths at 20 degC and %d at 70 degC", at20, at70)
	}
}

// What a point says that double bounces bring in power is what it has more than one without them; where they interfere
// with the rest it says nothing.
func TestBouncedIsTheDifference(t *testing.T) {
	d := plain
	d.extinction, d.reflectance = 1e4, 1e-3
	s := d.stack(t)
	at := func(g Ghosts, d Direction) Point { return point(t, s.WithGhosts(g), d) }
	for _, d := range []Direction{Forward, Backward} {
		with, without := at(GhostsIncoherent, d), at(GhostsNone, d)
		near := 1e-13 * (with.H.XX + with.H.YY)
		if x, y := with.H.XX-without.H.XX-with.Bounced.XX, with.H.YY-without.H.YY-with.Bounced.YY; math.Abs(x) > near ||
			math.Abs(y) > near {
			t.Errorf("%v: off by %g and %g, want at most %g", d, x, y, near)
		}
		if z := with.H.XY - without.H.XY - with.Bounced.XY; cmplx.Abs(z) > near {
			t.Errorf("%v: the beat is off by %g, want at most %g", d, cmplx.Abs(z), near)
		}
		if with.Bounced.XX <= 0 || with.Bounced.YY <= 0 {
			t.Errorf("%v: double bounces bring %g and %g", d, with.Bounced.XX, with.Bounced.YY)
		}
		if b := at(GhostsCoherent, d).Bounced; b.XX != 0 || b.YY != 0 {
			t.Errorf("%v: double bounces that interfere bring %g and %g", d, b.XX, b.YY)
		}
	}
}
