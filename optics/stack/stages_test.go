package stack

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// twoStage is a core followed by the same core turned rigidly about z.
func twoStage(t testing.TB, p design, turn float64) *Stack {
	t.Helper()
	spec := p.spec(t)
	core := spec.Elements
	spec.Elements = append([]element.Element{}, core...)
	spec.Elements = append(spec.Elements, element.Gap{Length: 0.3e-3})
	for _, e := range core {
		spec.Elements = append(spec.Elements, e.Rolled(quantity.Angle(turn*deg)))
	}
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The same core turned rigidly about z as a second stage. At -45 deg it cancels the first stage's delay, at -135
// deg it adds to it, and both give twice the single stage's dB (common practice, no source). At the same azimuth
// the wedges that face each other have their axes 45 deg apart: half of each rejected beam changes its ray type
// there, is rejected back the other way and arrives on axis, so that isolation is 3 dB.
func TestTwoStages(t *testing.T) {
	p := plain
	p.apex, p.rotation = 5, 45.6
	single := p.stack(t)
	one := point(t, single, Backward).Isolation()
	delay := point(t, single, Forward).DGD()
	for _, c := range []struct {
		turn, delay float64
	}{{-45, 0}, {-135, 2 * delay}} {
		s := twoStage(t, p, c.turn)
		if got := point(t, s, Backward).Isolation(); math.Abs(got-2*one) > 0.5 {
			t.Errorf("second stage at %g deg: %.2f dB, want twice %.2f", c.turn, got, one)
		}
		if got := point(t, s, Forward).DGD(); math.Abs(got-c.delay) > 0.005e-12 {
			t.Errorf("second stage at %g deg: DGD %.4f ps, want %.4f", c.turn, got*1e12, c.delay*1e12)
		}
	}
	// A second stage at the azimuth of the first with its axes 45 deg on meets the rejected beams with axes along their
	// polarization: all of them is sent back on axis, and what is left of the isolation, within 1 dB, is the sideways
	// step between the stages.
	spec := p.spec(t)
	spec.Elements = append(spec.Elements, element.Gap{Length: 0.3e-3})
	for _, e := range p.spec(t).Elements {
		if w, ok := e.(element.Wedge); ok {
			w.Axis += 45 * deg
			e = w
		}
		spec.Elements = append(spec.Elements, e)
	}
	back, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	if got := point(t, back, Backward).Isolation(); got > 1 {
		t.Errorf("rejected beams re-collimated in full: %.2f dB, want less than 1", got)
	}
	if c := back.Cautions(); len(c) != 1 || !strings.Contains(c[0], "on the path oeeo") && !strings.Contains(c[0],
		"on the path eooe") {
		t.Errorf("cautions %q, want one that names the path", c)
	}
	same := twoStage(t, p, 0)
	if got := point(t, same, Backward).Isolation(); math.Abs(got-3) > 0.2 {
		t.Errorf("second stage at the same azimuth: %.2f dB, want 3", got)
	}
	if c := same.Cautions(); len(c) != 1 || !strings.Contains(c[0], "on the path eooe") && !strings.Contains(c[0],
		"on the path oeeo") {
		t.Errorf("cautions %q, want one that names the path", c)
	}
}

// The line turns wedge 2 until isolation peaks: the turn undoes the rotation error, since the leak is sin^2(d+e),
// and costs forward at least what the closed form says, sin^2(2d); turning the slant with the axis adds a little.
func TestAssembleUndoesARotationError(t *testing.T) {
	p := plain
	p.apex, p.rotation = 4, 44.2
	s := p.stack(t)
	turned, a, err := s.Assemble(context.Background(), "wedge2", PeakIsolation, at, room)
	if err != nil {
		t.Fatal(err)
	}
	// 0.03 deg: the azimuth law at this apex, and the slant turned with the part.
	if got := float64(a.Turn) / deg; math.Abs(got-0.8) > 0.03 {
		t.Errorf("wedge 2 turned by %.4f deg, want 0.8", got)
	}
	if a.After < 60 || math.Abs(point(t, turned, Backward).Isolation()-a.After) > 1e-9 || a.Before > 38 {
		t.Errorf("isolation %.2f dB before and %.2f dB after", a.Before, a.After)
	}
	cost := -10*math.Log10(1-math.Pow(math.Sin(1.6*deg), 2)) + 10*math.Log10(1-math.Pow(math.Sin(0.8*deg), 2))
	if got := a.LossAfter - a.LossBefore; got < cost || got > cost+0.01 {
		t.Errorf("the turn costs %.5f dB, want %.5f and up to 0.01 more", got, cost)
	}
	if a.Rising {
		t.Error("the peak was said to lie out of reach")
	}
	// A film 14 deg short asks for a turn of 14 deg: out of reach, which is said.
	p.rotation = 31
	if _, a, err := p.stack(t).Assemble(context.Background(), "wedge2", PeakIsolation, at, room); err != nil ||
		!a.Rising {
		t.Errorf("a peak out of reach: %+v, %v", a, err)
	}
	// Cancelled while it looks and while it closes in.
	for _, steps := range []int{0, 3, 2*turnSteps + 1} {
		ctx, cancel := context.WithCancel(context.Background())
		watched := WithProgress(ctx, func(done, _ int) {
			if done >= steps {
				cancel()
			}
		})
		if steps == 0 {
			cancel()
		}
		if _, _, err := s.Assemble(watched, "wedge2", PeakIsolation, at, room); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled after %d steps: %v", steps, err)
		}
		cancel()
	}
	if _, _, err := s.Assemble(context.Background(), "wedge9", PeakIsolation, at, room); err == nil {
		t.Error("a part that is not there was turned")
	}
}

// A fibre and a lens make the waist their closed form says, midway at the wavelength of alignment, and a clear
// aperture costs what Marcum's Q says it cuts off.
func TestCollimatorOfFibreAndLens(t *testing.T) {
	spec := plain.spec(t)
	spec.Beam = element.Collimator{Fibre: element.Fibre{ModeRadius: 5.2e-6}, Focal: 2e-3, WorkingDistance: 8e-3}
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	c := s.lay(room)
	if err := c.tune(at); err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.ahead-4e-3) > 1e-9 || math.Abs(c.waist/(at*2e-3/(math.Pi*5.2e-6))-1) > 0.01 {
		t.Errorf("waist %g m at %g m", c.waist, c.ahead)
	}
	if got := point(t, s, Forward).InsertionLoss(); got > 0.1 {
		t.Errorf("insertion loss %.3f dB", got)
	}
	bare := plain.stack(t)
	spec = plain.spec(t)
	w := spec.Elements[0].(element.Wedge)
	w.Aperture = 220e-6
	spec.Elements[0] = w
	clipped, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	loss := point(t, clipped, Forward).InsertionLoss() - point(t, bare, Forward).InsertionLoss()
	// The beam leaves the wedge near its waist and off axis by thickness times the internal tilt, 2.5 deg; a mode
	// couples through an aperture with the share of its power as amplitude.
	want := -20 * math.Log10(beam.Clip(0.5e-3*math.Tan(2.55*deg), 220e-6, 200e-6))
	if math.Abs(loss-want) > 0.02*want {
		t.Errorf("the aperture costs %.4f dB, want %.4f", loss, want)
	}
}

// A wedge thinner than its angle takes over the beam has its faces meet inside it, and a slanted face may run into the
// next part: worked out by hand, (200 um + offset) tan(apex).
func TestCautionForFacesThatMeet(t *testing.T) {
	thin := element.Wedge{Crystal: crystal(t, "YVO4"), Slanted: element.Front, Apex: 10 * deg, Thickness: 20e-6}
	glass := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3, Cut: 90 * deg}
	thick := thin
	thick.Thickness, thick.Slanted = 0.5e-3, element.Back
	for _, c := range []struct {
		name, want string
		parts      []element.Element
	}{
		// 300 tan 10 deg - 20
		{"thin", "wedge1 front and wedge1 back meet within the beam, 300 um in radius: what lies between them is 33 " +
			"um too thin", []element.Element{thin}},
		{"close", "wedge1 back and plate1 front meet within the beam", []element.Element{thick,
			element.Gap{Length: 0.02e-3}, glass}},
		{"room", "", []element.Element{thick, element.Gap{Length: 0.2e-3}, glass}},
	} {
		all := strings.Join(assembled(t, c.parts...).Cautions(), "\n")
		if c.want == "" && strings.Contains(all, "meet within") || !strings.Contains(all, c.want) {
			t.Errorf("%s: cautions %q, want %q", c.name, all, c.want)
		}
	}
	small, err := New(Spec{Elements: []element.Element{glass}, Beam: element.Collimator{Waist: 2e-6,
		WorkingDistance: 1e-3}, AlignAt: at, AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	// atan(1.55/(2 pi))
	if c := small.Cautions(); len(c) != 1 || !strings.Contains(c[0], "a waist of 2 um spreads by 14 deg") {
		t.Errorf("cautions %q, want one about the waist", c)
	}
}

// A ray that misses a clear aperture is named with the face.
func TestCautionForAnEdge(t *testing.T) {
	p := plain
	p.apex = 8
	spec := p.spec(t)
	w := spec.Elements[4].(element.Wedge)
	w.Aperture = 30e-6
	spec.Elements[4] = w
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, c := range s.Cautions() {
		found = found || strings.Contains(c, "wedge2 back") &&
			strings.Contains(c, "outside its clear aperture of 30 um")
	}
	if !found {
		t.Errorf("cautions %q, want one about the edge of wedge2", s.Cautions())
	}
}

// An axis 45 deg from the first on the wrong side of the rotation exchanges o and e forward instead of backward: the
// beams part by twice (ne - no) times the apex, and the aligned fibre has one of them. With the film turning the
// other way all is well again.
func TestCautionForAPartedBeam(t *testing.T) {
	const said = "receives one polarization of the forward light and loses the other, more than 99 dB down"
	for _, c := range []struct {
		axis, turn float64
		want       bool
	}{{67.5, 45, false}, {-22.5, 45, true}, {-22.5, -45, false}, {67.5, -45, true}} {
		spec := plain.spec(t)
		for i, e := range spec.Elements {
			switch e := e.(type) {
			case element.Rotator:
				e.Angle = quantity.Angle(c.turn * deg)
				spec.Elements[i] = e
			case element.Wedge:
				if i > 0 {
					e.Axis = quantity.Angle(c.axis * deg)
					spec.Elements[i] = e
				}
			}
		}
		s, err := New(spec)
		if err != nil {
			t.Fatal(err)
		}
		if all := strings.Join(s.Cautions(), "\n"); strings.Contains(all, said) != c.want {
			t.Errorf("axis %g deg, film %+g deg: cautions %q", c.axis, c.turn, all)
		}
	}
}
