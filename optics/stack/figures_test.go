package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/polar"
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
		assembled(t, element.Plate{As: "plate", Crystal: crystal(t, "calcite"), Thickness: 1e-3, Cut: 60 * deg,
			Tilt: 20 * deg, Azimuth: 15 * deg, Coating: element.Coating{Bare: true}}),
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
		if s == nil || s.rotates() {
			continue
		}
		planes, clear := true, true
		for _, e := range s.spec.Elements {
			switch e := e.(type) {
			case element.Wedge:
				planes = false
			case element.Plate:
				clear = clear && e.Aperture == 0
			case element.Polarizer:
				planes, clear = planes && e.Slab.Slant.Wedge == 0, clear && e.Slab.Aperture == 0
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
		t.Errorf("through apertures between parallel planes backward differs from the transpose of forward by %.3g",
			clipped)
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

// rotates reports whether a stack has a Faraday rotator at all.
func (s *Stack) rotates() bool {
	return slices.ContainsFunc(s.spec.Elements, func(e element.Element) bool { return e.Kind() == "rotator" })
}

// The Mueller matrix holds all that arrives: its first row gives the transmissions of the response, whatever
// depolarizes and however double bounces add up, and for light that nothing has depolarized it is that of the Jones
// matrix.
func TestMuellerOfRandomStacks(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 4))
	depolarized := 0
	for done := 0; done < 200; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		for _, d := range []Direction{Forward, Backward} {
			p := point(t, s, d)
			m, err := s.Mueller(d, at, room)
			if err != nil {
				t.Fatal(err)
			}
			r := math.Hypot(m[0][1], math.Hypot(m[0][2], m[0][3]))
			if math.Abs(m[0][0]+r-p.T1) > 1e-12*p.T1 || math.Abs(m[0][0]-r-p.T2) > 1e-12*p.T1 {
				t.Fatalf("%s: %.15g and %.15g, want %.15g and %.15g\n%s", d, m[0][0]+r, m[0][0]-r, p.T1, p.T2, kinds(s))
			}
			if p.Depolarized() > 1e-3 {
				depolarized++
				continue
			}
			if p.Depolarized() > 1e-12 {
				continue
			}
			var of polar.Mueller
			of.Add(p.M)
			for i := range 4 {
				for j := range 4 {
					if math.Abs(m[i][j]-of[i][j]) > 1e-9*p.T1 {
						t.Fatalf("%s: element %d %d is %.12g, that of the Jones matrix %.12g\n%s", d, i, j, m[i][j],
							of[i][j], kinds(s))
					}
				}
			}
		}
	}
	if depolarized < 50 {
		t.Errorf("%d responses are depolarized, too few to tell", depolarized)
	}
}

// The extinction of what leaves a film of 20 dB is 20 dB: power along the axis that the light arrives in over the
// power across it, from the whole of the light. The Jones matrix alone knows nothing of it, and Depolarized says how
// much it lacks.
func TestOutputExtinctionOfAFilm(t *testing.T) {
	p := plain
	p.extinction = 100
	s := assembled(t, p.spec(t).Elements[2]) // turns by 45 deg
	m, err := s.Mueller(Forward, at, room)
	if err != nil {
		t.Fatal(err)
	}
	// Launched along x: S = (1, 1, 0, 0). What arrives along 45 deg and across it is (S0 +- S2)/2.
	s0, s2 := m[0][0]+m[0][1], m[2][0]+m[2][1]
	if got := quantity.Decibels((s0 + s2) / (s0 - s2)); math.Abs(got-20) > 1e-6 {
		t.Errorf("extinction %.6f dB, want 20", got)
	}
	if got, want := point(t, s, Forward).Depolarized(), 1.0/101; math.Abs(got-want) > 1e-9 {
		t.Errorf("a share of %.9f is depolarized, want %.9f", got, want)
	}
	for state, m := range map[string]polar.Matrix{"Jones matrix": point(t, s, Forward).M} {
		x, y := m[0][0], m[1][0]
		if across := power(x-y) / power(x+y); across > 1e-12 {
			t.Errorf("%s: extinction %.1f dB, want that of undepolarized light", state, -quantity.Decibels(across))
		}
	}
}

// What an instrument finds that steps the wavelength is the delay itself for a plate, whose principal states stand
// still: thickness times the difference of the group indices over c.
func TestStepDGDOfAPlate(t *testing.T) {
	plate := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 1.3e-3, Axis: 33 * deg, Cut: 90 * deg}
	s := assembled(t, plate)
	want := point(t, s, Forward).DGD()
	for _, step := range []float64{0.05e-9, 0.5e-9, 2e-9} {
		got, err := s.StepDGD(Forward, quantity.Length(at-step/2), quantity.Length(at+step/2), room)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got/want-1) > 1e-5 {
			t.Errorf("a step of %g nm finds %.6f ps, want %.6f", step*1e9, got*1e12, want*1e12)
		}
	}
	if _, err := s.StepDGD(Forward, at, at, room); err == nil {
		t.Error("a step of nothing was accepted")
	}
}
