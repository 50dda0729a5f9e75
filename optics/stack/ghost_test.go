package stack

import (
	"math"
	"math/cmplx"
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
	plate := element.Plate{As: "plate", Thickness: 0.5e-3, Cut: 90 * deg, Coating: element.Coating{Reflectance: reflectance}}
	for _, c := range []struct {
		name, crystal string
		cut           quantity.Angle
	}{{"glass", "", 0}, {"across the axis", "YVO4", 90 * deg}, {"along the axis", "YVO4", 0}, {"negative", "calcite", 90 * deg}} {
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
				want := layered(reflectance, []float64{n, 1, n}, []float64{d, gap, d}, []bool{true, false, true, false}, at)
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
