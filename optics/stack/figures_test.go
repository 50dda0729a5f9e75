package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// PDL by eigenvalues against the four-state Mueller method (IEC 61300-3-2, ed. 3; TIA-455-198): the powers that four
// launch states would give are simulated, and reduced as an instrument does.
func TestPDLAgainstFourStates(t *testing.T) {
	p := plain
	p.rotation, p.apex, p.waist = 41, 1.5, 60e-6 // paths overlap in part: some PDL
	for _, s := range []*Stack{
		p.stack(t),
		assembled(t, element.Polarizer{Axis: 20 * deg, Extinction: 3, Loss: 0.2}),
		assembled(t, element.Plate{As: "plate", Crystal: crystal(t, "calcite"), Thickness: 1e-3, Cut: 60 * deg, Tilt: 20 * deg, Azimuth: 15 * deg, Coating: element.Coating{Bare: true}}),
	} {
		q := point(t, s, Forward)
		r := complex(math.Sqrt(0.5), 0)
		states := [4][2]complex128{{1, 0}, {0, 1}, {r, r}, {r, r * 1i}}
		var power [4]float64
		for i, u := range states {
			for row := range 2 {
				power[i] += math.Pow(cmplx.Abs(q.M[row][0]*u[0]+q.M[row][1]*u[1]), 2)
			}
		}
		m11, m12 := (power[0]+power[1])/2, (power[0]-power[1])/2
		m13, m14 := power[2]-m11, power[3]-m11
		root := math.Sqrt(m12*m12 + m13*m13 + m14*m14)
		want := 10 * math.Log10((m11+root)/(m11-root))
		if math.Abs(q.PDL()-want) > 1e-9 || want < 1e-4 {
			t.Errorf("PDL %.12f dB, by four states %.12f", q.PDL(), want)
		}
	}
}

// DGD of a plate with its axis across the beam: thickness times the difference of the group indices over c.
func TestDGDOfAPlate(t *testing.T) {
	for _, name := range []string{"YVO4", "calcite", "LiNbO3", "rutile"} {
		plate := element.Plate{As: "plate", Crystal: crystal(t, name), Thickness: 1.3e-3, Axis: 33 * deg, Cut: 90 * deg}
		s := assembled(t, plate)
		n, err := plate.Crystal.At(at, room)
		if err != nil {
			t.Fatal(err)
		}
		x, _ := plate.Crystal.Expansion()
		want := math.Abs(n.GroupE-n.GroupO) * 1.3e-3 * (1 + 3*x.A) / quantity.LightSpeed
		if got := point(t, s, Forward).DGD(); math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s: DGD %.9f ps, want %.9f", name, got*1e12, want*1e12)
		}
	}
}

// Every stack of reciprocal parts, whatever its faces, its clear apertures and its double bounces, the receiver up to
// half a waist and a quarter of the divergence off its best pose: backward is the transpose of forward, to 1e-9 between
// parallel planes and within what the Gaussian overlap leaves between slanted ones.
func TestReciprocityOfRandomStacks(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	parallel, clipped, slanted := 0.0, 0.0, 0.0
	for range 1500 {
		s := randomStack(t, rng)
		if s == nil || s.isolates() {
			continue
		}
		planes, clear := true, true
		for _, e := range s.spec.Elements {
			switch e := e.(type) {
			case element.Wedge:
				planes = false
			case element.Plate:
				clear = clear && e.Aperture == 0
			}
		}
		w := float64(s.spec.Beam.Waist)
		pose := s.Pose()
		pose.Offset = pose.Offset.Add(vec(w/2*(rng.Float64()-0.5), w/2*(rng.Float64()-0.5)))
		pose.Tilt = pose.Tilt.Add(vec(at/w/8*(rng.Float64()-0.5), at/w/8*(rng.Float64()-0.5)))
		s = s.Posed(pose)
		f, b := point(t, s, Forward), point(t, s, Backward)
		if f.T1 < 1e-6 {
			continue
		}
		off := untransposed(f.M, b.M) / math.Sqrt(f.T1)
		switch {
		case !planes:
			slanted = max(slanted, off)
		case clear:
			parallel = max(parallel, off)
		default:
			clipped = max(clipped, off)
		}
	}
	t.Logf("parallel planes %.2g, with apertures %.2g, slanted faces to 8 deg %.2g", parallel, clipped, slanted)
	if parallel > 1e-9 {
		t.Errorf("between parallel planes backward differs from the transpose of forward by %.3g", parallel)
	}
	if clipped > 1e-6 { // where a face is tilted, the two directions meet it at a slightly different z
		t.Errorf("through apertures between parallel planes backward differs from the transpose of forward by %.3g", clipped)
	}
	if slanted > 5e-3 {
		t.Errorf("between slanted faces backward differs from the transpose of forward by %.3g", slanted)
	}
}

// untransposed returns by how much b, the common phase apart, differs from the transpose of f.
func untransposed(f, b [2][2]complex128) float64 {
	var common complex128
	for i := range 2 {
		for j := range 2 {
			common += cmplx.Conj(b[j][i]) * f[i][j]
		}
	}
	common /= complex(cmplx.Abs(common), 0)
	worst := 0.0
	for i := range 2 {
		for j := range 2 {
			worst = max(worst, cmplx.Abs(b[j][i]*common-f[i][j]))
		}
	}
	return worst
}
