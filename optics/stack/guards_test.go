package stack

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func newStack(t testing.TB, spec Spec) *Stack {
	t.Helper()
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A receiver whose pointing drifts stands, warmer by 20 K, as if it had been tilted by that towards +x: the response
// is that of a stack without a drift whose receiver is posed so, and not that of one tilted the other way. The
// stack's beam leaves it askew, so that the two signs differ.
func TestPointingDriftsTowardsX(t *testing.T) {
	p := plain
	p.waist = 300e-6
	spec := p.spec(t)
	w := spec.Elements[4].(element.Wedge)
	w.Apex = 4 * deg
	spec.Elements[4] = w
	still := newStack(t, spec)
	spec.Beam.Pointing = 10e-6
	drifting := newStack(t, spec)
	warm := quantity.Celsius(43)
	tilted := func(x float64) Point {
		pose := still.Pose()
		pose.Tilt.X += x
		q, err := still.Posed(pose).At(Forward, at, warm)
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	got, err := drifting.At(Forward, at, warm)
	if err != nil {
		t.Fatal(err)
	}
	there, back := tilted(200e-6), tilted(-200e-6)
	if math.Abs(got.T1/there.T1-1) > 1e-9 || math.Abs(there.T1/back.T1-1) < 1e-3 {
		t.Errorf("t1 %.12g, want %.12g (and not %.12g)", got.T1, there.T1, back.T1)
	}
	if o := outline(t, drifting, warm); math.Abs(o.Pose.Tilt.X-still.Pose().Tilt.X-200e-6) > 1e-12 {
		t.Errorf("the outline tilts the receiver by %g rad, want 0.0002 more than %g", o.Pose.Tilt.X,
			still.Pose().Tilt.X)
	}
}

// Two glass plates bounce light between them while they are parallel to half a milliradian: a double bounce turns the
// light by twice the angle, which at 5 mrad is six times the divergence of this beam (1.6 mrad) and brings nothing to
// the receiver.
func TestHowParallelFacesMustBe(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	ghosts := func(tilt float64) (n int) {
		plate := element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3,
			Coating: element.Coating{Reflectance: 0.01}}
		other := plate
		other.Tilt = quantity.Angle(tilt)
		ps, err := assembled(t, plate, element.Gap{Length: 0.3e-3}, other).Paths(Forward, at, quantity.Celsius(20))
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range ps {
			if p.Ghost {
				n++
			}
		}
		return n
	}
	for tilt, want := range map[float64]int{0: 6, 0.4e-3: 6, 0.6e-3: 2, 3e-3: 2} { // all pairs, or those of each plate
		if got := ghosts(tilt); got != want {
			t.Errorf("tilted by %g mrad: %d double bounces, want %d", tilt*1e3, got, want)
		}
	}
}

// A tilted glass plate moves the beam by d sin(a) (1 - cos a/(n cos a')), the textbook closed form; beyond a waist
// that is a caution, and short of it none.
func TestCautionForADisplacedBeam(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	n, err := silica.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		waists float64
		want   bool
	}{{0.9, false}, {1.1, true}, {2, true}, {2.9, true}} {
		const tilt = 20 * deg
		inside := math.Asin(math.Sin(tilt) / n.N)
		perThickness := math.Sin(tilt) * (1 - math.Cos(tilt)/(n.N*math.Cos(inside))) // along the normal
		const thick = 1.5e-3
		w := thick * math.Cos(tilt) * perThickness / c.waists
		plate := element.Plate{As: "plate", Glass: silica, Thickness: thick, Tilt: tilt}
		s := newStack(t, Spec{Elements: []element.Element{plate}, Beam: element.Collimator{Waist: quantity.Length(w),
			WorkingDistance: 4e-3}, AlignAt: at, AlignTemperature: room})
		says := fmt.Sprintf("leaves the stack %.0f um off axis, more than the waist of %.0f um", c.waists*w*1e6, w*1e6)
		if said := strings.Join(s.Cautions(), "\n"); strings.Contains(said, says) != c.want {
			t.Errorf("displaced by %g waists of %.0f um: cautions %q", c.waists, w*1e6, said)
		}
	}
}

// What lets light through is named: an angle (40 deg where 45 are needed leak sin^2 5 deg, 21.2 dB), the extinction
// ratio, or a second stage, which is blamed only where there is one. A film by itself, which nothing isolates, has
// nothing to say.
func TestCautionsNameWhatLeaks(t *testing.T) {
	changed := func(f func(*design)) *Stack {
		p := plain
		f(&p)
		return p.stack(t)
	}
	rod := plain.spec(t)
	tgg, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	rod.Elements[2] = element.Rod{Material: tgg.Extrapolated(), Length: 3e-3, Field: -0.5}
	back := twoStage(t, plain, 0)
	polarized := func(turn, axis2 float64) *Stack {
		r := plain.spec(t).Elements[2].(element.Rotator)
		r.Angle = quantity.Angle(turn * deg)
		a := element.Polarizer{Extinction: 1e6}
		b := a
		b.Axis = quantity.Angle(axis2 * deg)
		return assembled(t, a, element.Gap{Length: 0.2e-3}, r, element.Gap{Length: 0.2e-3}, b)
	}
	for name, c := range map[string]struct {
		s    *Stack
		want []string // of the one caution about it; none where there is nothing to say
	}{
		"sound":         {changed(func(*design) {}), nil},
		"half a degree": {changed(func(p *design) { p.rotation = 44.5 }), nil},
		"40 deg": {changed(func(p *design) { p.rotation = 40 }), []string{"only 21.2 dB at 1550 nm and 23 °C",
			"corresponds to an angle error of 5.0 deg", "rotator1 rotates the polarization by 40.0 deg"}},
		"50 deg": {changed(func(p *design) { p.rotation = 50 }),
			[]string{"corresponds to an angle error of 5.0 deg", "rotates the polarization by 50.0 deg"}},
		"axis": {changed(func(p *design) { p.axis2 = 72.5 }),
			[]string{"corresponds to an angle error of 5.0 deg"}},
		"20 dB film": {changed(func(p *design) { p.extinction = 100 }),
			[]string{"depolarizes (its extinction ratio)"}},
		"rod":              {newStack(t, rod), []string{"rotator1 rotates the polarization by"}},
		"second stage":     {back, []string{"on the path", "a second stage at the azimuth of the first"}},
		"polarizers":       {polarized(45, 45), nil},
		"polarizers, 41":   {polarized(41, 45), []string{"corresponds to an angle error of 4.0 deg"}},
		"a film by itself": {assembled(t, plain.spec(t).Elements[2]), nil},
	} {
		var said []string
		for _, text := range c.s.Cautions() {
			if strings.Contains(text, "the isolation is only") {
				said = append(said, text)
			}
			if strings.Contains(text, "second stage") && name != "second stage" {
				t.Errorf("%s: %q", name, text)
			}
		}
		if (len(said) == 1) != (c.want != nil) {
			t.Errorf("%s: cautions %q", name, said)
		}
		for _, w := range c.want {
			if !strings.Contains(strings.Join(said, "\n"), w) {
				t.Errorf("%s: cautions %q lack %q", name, said, w)
			}
		}
	}
}

// Apertures that take much of the light are named with what they take, by Clip on the axis (closed form), also where
// every ray passes; those that take little are not. An alignment far from room temperature is told of too.
func TestCautionsForClippingAndHeat(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	stop := func(radius quantity.Length, celsius float64) *Stack {
		plate := element.Plate{As: "plate", Glass: silica, Thickness: 0.1e-3, Aperture: radius}
		return newStack(t, Spec{Elements: []element.Element{plate}, Beam: element.Collimator{Waist: 300e-6,
			WorkingDistance: 1e-3}, AlignAt: at, AlignTemperature: quantity.Celsius(celsius)})
	}
	for _, radius := range []float64{800e-6, 500e-6, 300e-6, 189e-6, 120e-6} {
		want := ""
		// The share of a Gaussian that the aperture passes is the factor on its amplitude.
		if loss := -20 * math.Log10(1-math.Exp(-2*radius*radius/(300e-6*300e-6))); loss > 0.1 {
			want = fmt.Sprintf("clear apertures cost %.1f dB", loss)
		}
		said := strings.Join(stop(quantity.Length(radius), 23).Cautions(), "\n")
		if strings.Contains(said, "clear apertures cost") != (want != "") || !strings.Contains(said, want) {
			t.Errorf("radius %g um: cautions %q, want %q", radius*1e6, said, want)
		}
	}
	for celsius, want := range map[float64]bool{-40: false, 23: false, 125: false, 500: true, -100: true} {
		said := strings.Join(stop(0, celsius).Cautions(), "\n")
		if strings.Contains(said, "far from room temperature") != want {
			t.Errorf("aligned at %g degC: cautions %q", celsius, said)
		}
	}
}

// A lens face leans towards +x of its collimator: with the receiver tilted by as much the other way it stands square
// to the light and sends all of it back, and tilted the same way it sends it past the fibre, by exp(-(2
// angle/divergence)^2).
func TestLensFaceLeansTowardsX(t *testing.T) {
	const angle = 2e-3
	s := newStack(t, Spec{
		Elements: []element.Element{element.Polarizer{Extinction: 1 + 1e-9}},
		Beam:     element.Collimator{Waist: 300e-6, WorkingDistance: 20e-3, FacetReflectance: 0.01, Facet: angle},
		AlignAt:  at, AlignTemperature: room,
	})
	returned := func(tilt float64) float64 {
		r, err := s.Posed(Pose{Tilt: vec(tilt, 0)}).ReturnLoss(Forward, at, room, false)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(r.Parts, func(p ReturnPart) bool { return p.Name == "far lens" })
		return r.Parts[i].Loss
	}
	if got := returned(-angle); math.Abs(got-20.1) > 0.1 { // 1 %, through the near lens face twice
		t.Errorf("square to the light it sends back %.3f dB, want 20.1", got)
	}
	if got := returned(angle); got < 100 {
		t.Errorf("twice as far askew it sends back %.3f dB", got)
	}
}

// The thresholds of the cautions, a little to either side: a milliradian off axis (a wedge deviates light by (n-1)
// apex), 10 dB between the polarizations of the forward light, and double bounces of a tenth of the amplitude.
func TestThresholdsOfCautions(t *testing.T) {
	says := func(s *Stack, what string) bool { return strings.Contains(strings.Join(s.Cautions(), "\n"), what) }
	for apex, want := range map[float64]bool{0.03: false, 0.1: true} { // 0.5 and 1.8 mrad
		w := element.Wedge{Crystal: crystal(t, "YVO4"), Slanted: element.Front, Apex: quantity.Angle(apex * deg),
			Thickness: 0.5e-3}
		if says(assembled(t, w), "mrad off axis") != want {
			t.Errorf("apex %g deg: said %t", apex, !want)
		}
	}
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	// Pairs of two plates: 6 R; of one: R.
	plate := func(r float64) element.Plate {
		return element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3, Coating: element.Coating{Reflectance: r}}
	}
	for r, want := range map[float64]bool{0.015: false, 0.019: true} {
		if says(assembled(t, plate(r), element.Gap{Length: 0.3e-3}, plate(r)),
			"double bounces between parallel faces") != want {
			t.Errorf("two plates of R = %g: said %t", r, !want)
		}
	}
	seen := map[bool]int{}
	// the axis on the wrong side: o and e part by more, the steeper the wedges
	for apex := 0.2; apex < 2; apex += 0.02 {
		p := plain
		p.apex, p.axis2 = apex, -22.5
		s := p.stack(t)
		pdl := point(t, s.WithGhosts(GhostsNone), Forward).PDL()
		if pdl > 35 || math.Abs(pdl-10) < 0.1 {
			continue
		}
		seen[pdl > 10]++
		if says(s, "loses the other") != (pdl > 10) {
			t.Errorf("apex %.2f deg, PDL %.1f dB: cautions %q", apex, pdl, s.Cautions())
		}
	}
	if seen[true] == 0 || seen[false] == 0 {
		t.Errorf("stacks above and below the threshold: %v", seen)
	}
}

// An adjusted or assembled stack treats double bounces and the source as the one it was made from.
func TestCopiesKeepGhostsAndLinewidth(t *testing.T) {
	s := plain.stack(t).WithGhosts(GhostsIncoherent).WithLinewidth(5e9)
	adjusted, err := s.Adjusted(map[string]quantity.Quantity{"wedge2.axis": quantity.Of(68, "deg")})
	if err != nil {
		t.Fatal(err)
	}
	turned, _, err := s.Assemble(context.Background(), "wedge2", PeakIsolation, at, room)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]*Stack{"adjusted": adjusted, "assembled": turned} {
		if c.Ghosts() != GhostsIncoherent || c.Linewidth() != 5e9 {
			t.Errorf("%s: ghosts %d and a linewidth of %g Hz", name, c.Ghosts(), c.Linewidth())
		}
	}
}

// Light goes to the far fibre one way and comes back the other: behind a polarizer and a film of 45 deg it has been
// turned by 90 deg when it meets the polarizer again, and nothing of it returns. From the far port it is turned by 90
// deg before any polarizer has seen it, so that one polarization goes through the near one twice: all of it returns.
func TestFarFerruleBehindAPolarizerAndAFilm(t *testing.T) {
	gap := element.Gap{Length: 0.2e-3}
	s := newStack(t, Spec{
		Elements: []element.Element{element.Polarizer{Extinction: 1e9}, gap, plain.spec(t).Elements[2]},
		Beam: element.Collimator{Waist: 300e-6, WorkingDistance: 20e-3, Fibre: element.Fibre{ModeRadius: 5.2e-6},
			FerruleReflectance: 0.01},
		AlignAt: at, AlignTemperature: room,
	})
	for d, want := range map[Direction]bool{Forward: false, Backward: true} {
		r, err := s.ReturnLoss(d, at, room, false)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(r.Parts, func(p ReturnPart) bool { return p.Name == "far ferrule" })
		if got := r.Parts[i].Loss; (got < 20.5) != want || !want && got < 80 {
			t.Errorf("%s: the far ferrule sends back %.2f dB", d, got)
		}
	}
}

// A film of 20 dB that turns 2.5 deg too little leaks five times more by depolarization than by its angle.
func TestCautionNamesTheLargerPart(t *testing.T) {
	p := plain
	p.extinction, p.rotation = 100, 42.5
	if said := strings.Join(p.stack(t).Cautions(), "\n"); !strings.Contains(said,
		"depolarizes (its extinction ratio)") {
		t.Errorf("cautions %q", said)
	}
}
