package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// A bare plate across the beam sends back ((n-1)/(n+1))^2 from its first face, and from its second what the
// first lets through twice: closed forms (Fresnel). The free way to the plate and back unfolds the waist, which
// costs what the gap term of Joyce and DeLoach (1984) says.
func TestReturnLossOfAPlate(t *testing.T) {
	plate := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3, Cut: 0,
		Coating: element.Coating{Bare: true}}
	s := assembled(t, plate) // axis along the light: both waves see n_o
	r, err := s.ReturnLoss(Forward, at, room, false)
	if err != nil {
		t.Fatal(err)
	}
	n, err := plate.Crystal.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	share := math.Pow((n.O-1)/(n.O+1), 2)
	zr := math.Pi * 300e-6 * 300e-6 / at
	loss := func(there float64) float64 { // from the lens face there and back, the waist 10 mm away and 10 mm before
		gap := 2*there - 20e-3
		return 1 / (1 + math.Pow(gap/(2*zr), 2))
	}
	first := 20e-3/2 - 0.5e-3/2
	want := -10 * math.Log10(share*loss(first))
	if got := r.Parts[0]; got.Name != "plate1 front" || math.Abs(got.Loss-want) > 1e-6 {
		t.Errorf("%s sends back %.6f dB, want %.6f", got.Name, got.Loss, want)
	}
	want = -10 * math.Log10(share*math.Pow(1-share, 2)*loss(first+0.5e-3/n.O))
	if got := r.Parts[1].Loss; math.Abs(got-want) > 1e-4 {
		t.Errorf("the second face sends back %.6f dB, want %.6f", got, want)
	}
	// Together: the sum of the powers, or what an etalon returns at most, ((r1+r2)/(1+r1 r2))^2, and hardly anything
	// at least (Airy).
	a, b := math.Pow(10, -r.Parts[0].Loss/20), math.Pow(10, -r.Parts[1].Loss/20)
	scatter := math.Pow(10, -DefaultReturnFloor/10.)
	if want := -10 * math.Log10(a*a+b*b+scatter); math.Abs(r.Loss-want) > 1e-9 {
		t.Errorf("return loss %.6f dB, want %.6f", r.Loss, want)
	}
	least, most := math.Inf(1), 0.0
	for i := range 200 {
		q, err := s.ReturnLoss(Forward, quantity.Length(at*(1+1e-5*float64(i))), room, true)
		if err != nil {
			t.Fatal(err)
		}
		least, most = min(least, q.Loss), max(most, q.Loss)
	}
	b /= 1 - a*a // what the second face reflects of the light that comes to it
	if want := -20 * math.Log10((a+b)/(1+a*b)); math.Abs(least-want) > 0.005 || most < 45 {
		t.Errorf("the beat reaches %.3f and %.3f dB, want %.3f and more than 45", least, most, want)
	}
}

// A wedge isolator throws its own reflections out of the fibre: every face stands at an angle to the light, so
// that the return loss is that of scatter, 65 dB, from either port (common practice, no source).
func TestReturnLossOfAWedgeIsolator(t *testing.T) {
	p := plain
	p.reflectance = 0.002
	s := p.stack(t)
	for _, d := range []Direction{Forward, Backward} {
		r, err := s.ReturnLoss(d, at, room, false)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Loss-65) > 0.01 {
			t.Errorf("%s: %.3f dB", d, r.Loss)
		}
		first := "wedge1 front"
		if d == Backward {
			first = "wedge2 back"
		}
		if r.Parts[0].Name != first {
			t.Errorf("%s light meets %s first", d, r.Parts[0].Name)
		}
	}
}

// An angled ferrule: R exp(-(2 pi w n theta/l)^2), the tilt term of Joyce and DeLoach for twice the angle, worked out
// for 8 deg and a mode of 5.2 um: 14.78 dB of the bare end and 78.66 dB of the tilt, with the phase index of a mode of
// standard fibre, 1.44627 at 1550 nm from the characteristic equation. The
// group index, 1.468, would give 14.44 and 81.1 dB.
func TestReturnLossOfAFerrule(t *testing.T) {
	c := element.Collimator{Fibre: element.Fibre{ModeRadius: 5.2e-6}, Focal: 2e-3, WorkingDistance: 10e-3,
		FerruleReflectance: math.Pow((1.446-1)/(1.446+1), 2)}
	square := c.FerruleReturn(at)
	if got := -10 * math.Log10(square); math.Abs(got-14.78) > 0.005 { // 20 log10(2.446/0.446)
		t.Errorf("square-cut end: %.4f dB, want 14.78 (n = 1.446 to air)", got)
	}
	c.Ferrule = 8 * deg
	added := func(n float64) float64 {
		x := 2 * math.Pi * 5.2e-6 * n * 8 * deg / at
		return 10 * math.Log10(math.E) * x * x
	}
	if got, want := -10*math.Log10(c.FerruleReturn(at)/square), added(1.446); math.Abs(got-want) > 1e-9 ||
		math.Abs(want-78.66) > 0.01 {
		t.Errorf("the angle adds %.4f dB, want %.4f", got, want)
	}
	c.Fibre.Index = 1.468
	if got, want := -10*math.Log10(c.FerruleReturn(at)/square), added(1.468); math.Abs(got-want) > 1e-9 {
		t.Errorf("with a stated index the angle adds %.4f dB, want %.4f", got, want)
	}
}

// Every face counts once, whatever the number of films that could depolarize light behind it: a glass plate alone, and
// before one film and two, sends back the same (a film that light has not met cannot change it). The films are coated
// without reflection, so that the plate is all that sends anything back.
func TestReturnLossCountsAFaceOnce(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	plate := element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3, Coating: element.Coating{Reflectance: 0.001}}
	gap := element.Gap{Length: 0.2e-3}
	p := plain
	p.extinction = 100
	film := p.spec(t).Elements[2]
	for _, parts := range [][]element.Element{{plate}, {plate, gap, film}, {plate, gap, film, gap, film}} {
		s := assembled(t, parts...)
		for _, coherent := range []bool{false, true} {
			r, err := s.WithLinewidth(1e15).ReturnLoss(Forward, at, room, coherent)
			if err != nil {
				t.Fatal(err)
			}
			// R + R (1-R)^2, and 0.02 dB for the waist that the way there and back unfolds.
			want := -10 * math.Log10(0.001*(1+0.999*0.999)+quantity.Ratio(-DefaultReturnFloor))
			if math.Abs(r.Loss-want) > 0.02 {
				t.Errorf("%d parts, coherent %t: %.3f dB, want %.3f", len(parts), coherent, r.Loss, want)
			}
		}
	}
}

// Behind a film light is depolarized twice. A polarizer, a film of 45 deg and a mirror of reflectance R: what comes
// back is turned by 90 deg and blocked, but for the light that one of the two passes has turned a further 90 deg: 2 q
// (1-q) R of the polarization that the polarizer passes, q = 1/(1+ER) (closed form).
func TestReturnLossThroughADepolarizingFilm(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	p := plain
	p.extinction = 100
	gap := element.Gap{Length: 0.2e-3}
	mirror := element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3, Coating: element.Coating{Reflectance: 0.04}}
	s := assembled(t, element.Polarizer{Axis: 30 * deg, Extinction: 1e12}, gap, p.spec(t).Elements[2], gap, mirror)
	r, err := s.ReturnLoss(Forward, at, room, false)
	if err != nil {
		t.Fatal(err)
	}
	q := 1.0 / 101
	want := -10 * math.Log10(0.04*2*q*(1-q))
	if got := r.Parts[3]; got.Name != "plate1 front" || math.Abs(got.Loss-want) > 0.03 { // the waist unfolds
		t.Errorf("%s sends back %.4f dB, want %.4f", got.Name, got.Loss, want)
	}
}

// Lens faces and fibre ends of both collimators: of a stack that sends nothing back, R and R once more through the pair
// and back; behind a stack that isolates, only that of the near ones. The waist 10 mm before or behind the face it is
// reflected by costs what the gap term of Joyce and DeLoach says.
func TestReturnLossOfTheFarCollimator(t *testing.T) {
	zr := math.Pi * 300e-6 * 300e-6 / at
	unfolded := 1 / (1 + math.Pow(20e-3/(2*zr), 2))
	faces := func(change func(*element.Collimator), parts ...element.Element) map[string]float64 {
		t.Helper()
		c := element.Collimator{Waist: 300e-6, WorkingDistance: 20e-3, Fibre: element.Fibre{ModeRadius: 5.2e-6}}
		change(&c)
		s, err := New(Spec{Elements: parts, Beam: c, AlignAt: at, AlignTemperature: room})
		if err != nil {
			t.Fatal(err)
		}
		r, err := s.ReturnLoss(Forward, at, room, false)
		if err != nil {
			t.Fatal(err)
		}
		m := map[string]float64{"all": r.Loss}
		for _, p := range r.Parts {
			m[p.Name] = p.Loss
		}
		return m
	}
	window := element.Polarizer{Extinction: 1 + 1e-9} // a sheet that does nothing
	lens := faces(func(c *element.Collimator) { c.FacetReflectance = 0.001 }, window)
	ferrule := faces(func(c *element.Collimator) { c.FerruleReflectance = 0.001 }, window)
	pass := math.Pow(1-0.001, 2) // through the near collimator and back
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"lens", lens["lens"], 0.001 * unfolded},
		{"far lens", lens["far lens"], 0.001 * unfolded * pass},
		{"both lenses and scatter", lens["all"], 0.001*unfolded*(1+pass) + quantity.Ratio(-DefaultReturnFloor)},
		{"ferrule", ferrule["ferrule"], 0.001},
		{"far ferrule", ferrule["far ferrule"], 0.001 * pass * pass},
		{"both ferrules and scatter", ferrule["all"], 0.001*(1+pass*pass) + quantity.Ratio(-DefaultReturnFloor)},
	} {
		if want := -10 * math.Log10(c.want); math.Abs(c.got-want) > 1e-6 {
			t.Errorf("%s: %.7f dB, want %.7f", c.name, c.got, want)
		}
	}
	// Both at 0.1 % and none isolated: twice the light, 26.99 dB where the near one alone gives 30.
	if math.Abs(lens["all"]-26.99) > 0.03 || math.Abs(ferrule["all"]-26.99) > 0.01 {
		t.Errorf("both collimators: %.3f and %.3f dB, want 26.99", lens["all"], ferrule["all"])
	}
	// An isolator stands between: the far ones are down by the isolation, here that of 1 deg of rotation error, 35.2
	// dB.
	p := plain
	p.apex, p.rotation, p.waist = 5, 44, 300e-6
	isolated := faces(func(c *element.Collimator) { c.FacetReflectance, c.FerruleReflectance = 0.001, 0.001 },
		p.spec(t).Elements...)
	if far := isolated["far ferrule"]; far < 60 || far > 80 {
		t.Errorf("behind the isolator the far ferrule sends back %.2f dB", far)
	}
	if far := isolated["far lens"]; far < 60 || far > 80 {
		t.Errorf("behind the isolator the far lens sends back %.2f dB", far)
	}
}

// What each face sends back, by the tracer and by the path sum: random stacks of every part, lens faces included.
func TestReturnedAgainstPathSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 3))
	worst := 0.0
	for done := 0; done < 120; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		spec := s.Spec()
		spec.Beam.FacetReflectance, spec.Beam.Facet = 0.1*rng.Float64(), quantity.Angle(rng.Float64()*0.1*deg)
		s, err := New(spec)
		if err != nil {
			t.Fatal(err)
		}
		c := tuned(t, s)
		for _, d := range []Direction{Forward, Backward} {
			want := s.sentBack(c, d, at)
			var got returned
			if err := s.WithGhosts(GhostsNone).traced(d, at, room, func(q *tracer) {
				got = q.returned(s, d, at,
					math.Inf(1))
			}); err != nil {
				t.Fatal(err)
			}
			for i, g := range append(got.faces, got.farLens) {
				off := math.Abs(g.XX-want[i].XX) + math.Abs(g.YY-want[i].YY) + cmplx.Abs(g.XY-want[i].XY)
				worst = max(worst, off)
				if off > 1e-9*(want[i].XX+want[i].YY)+1e-15 {
					t.Fatalf("%s, face %d: %+v, want %+v\n%s", d, i, g, want[i], kinds(s))
				}
			}
		}
	}
	t.Logf("worst %.2g", worst)
}
