package stack

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

const (
	deg  = math.Pi / 180
	at   = 1550e-9
	room = quantity.Temperature(23 + 273.15)
)

// design is a single-stage wedge isolator, by the numbers the tests turn.
type design struct {
	crystal      string
	apex         float64 // deg
	axis1, axis2 float64 // deg
	rotation     float64 // deg
	reflectance  float64 // of every face
	film         float64 // reflectance of the rotator's faces, when not that of every face
	extinction   float64 // power ratio
	waist        float64 // m
	thickness    float64 // m
}

// plain has ideal coatings and a film without slopes, loss or depolarization: what closed forms speak of.
var plain = design{crystal: "YVO4", apex: 5, axis1: 22.5, axis2: 67.5, rotation: 45,
	extinction: math.Inf(1), waist: 200e-6, thickness: 0.5e-3}

func (p design) spec(t testing.TB) Spec {
	t.Helper()
	c, err := material.Named(p.crystal)
	if err != nil {
		t.Fatal(err)
	}
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	g.Extinction, g.Absorption, g.PerKelvin, g.PerMetre = p.extinction, 0, 0, 0
	coat := element.Coating{Reflectance: p.reflectance}
	w1 := element.Wedge{Crystal: c, Slanted: element.Front, Apex: quantity.Angle(p.apex * deg),
		Thickness: quantity.Length(p.thickness), Axis: quantity.Angle(p.axis1 * deg), Coating: coat}
	w2 := w1
	w2.Slanted, w2.Axis = element.Back, quantity.Angle(p.axis2*deg)
	r := element.Rotator{Garnet: g, Angle: quantity.Angle(p.rotation * deg), At: at, Temperature: room, Coating: coat}
	if p.film > 0 {
		r.Coating.Reflectance = p.film
	}
	gap := element.Gap{Length: 0.1e-3}
	return Spec{
		Elements: []element.Element{w1, gap, r, gap, w2},
		Beam:     element.Collimator{Waist: quantity.Length(p.waist), WorkingDistance: 8e-3},
		AlignAt:  at, AlignTemperature: room,
	}
}

func (p design) stack(t testing.TB) *Stack {
	t.Helper()
	s, err := New(p.spec(t))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func point(t testing.TB, s *Stack, d Direction) Point {
	t.Helper()
	p, err := s.At(d, at, room)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func paths(t testing.TB, s *Stack, d Direction) map[string]Path {
	t.Helper()
	ps, err := s.Paths(d, at, room)
	if err != nil {
		t.Fatal(err)
	}
	m := map[string]Path{}
	for _, p := range ps {
		m[p.Label] = p
	}
	return m
}

// Greatest power transmission over 10,000 random stacks: never above one.
func TestNoStackAmplifies(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 10_000 {
		p := design{
			crystal: []string{"YVO4", "calcite", "LiNbO3", "rutile"}[rng.IntN(4)],
			apex:    13 * rng.Float64(), axis1: 180 * rng.Float64(), axis2: 180 * rng.Float64(),
			rotation: 180*rng.Float64() - 90, extinction: math.Pow(10, 2+3*rng.Float64()),
			waist: 100e-6 + 300e-6*rng.Float64(), thickness: 0.2e-3 + 1e-3*rng.Float64(),
		}
		if rng.IntN(3) == 0 {
			p.apex = 0.1 // where all four paths overlap and interfere
		}
		s := p.stack(t)
		for _, d := range []Direction{Forward, Backward} {
			q, err := s.At(d, quantity.Length(1500e-9+80e-9*rng.Float64()), room)
			if err != nil {
				t.Fatal(err)
			}
			if !(q.T1 <= 1+1e-9 && q.T2 >= 0 && q.T2 <= q.T1) {
				t.Fatalf("stack %d %+v %s: transmissions %.12g and %.12g", i, p, d, q.T1, q.T2)
			}
		}
	}
}

// The receiver's pose collects most: no small step in offset or tilt gains forward power.
func TestAlignmentIsAMaximum(t *testing.T) {
	for _, p := range []design{plain, {crystal: "calcite", apex: 8, axis1: 10, axis2: 57, rotation: 43,
		extinction: 300, waist: 150e-6, thickness: 0.8e-3}} {
		s := p.stack(t)
		mean := func(s *Stack) float64 { q := point(t, s, Forward); return q.T1 + q.T2 }
		best := mean(s)
		for _, step := range []Pose{{Offset: vec(1e-6, 0)}, {Offset: vec(-1e-6, 0)}, {Offset: vec(0, 1e-6)},
			{Offset: vec(0,
				-1e-6)},
			{Tilt: vec(1e-5, 0)}, {Tilt: vec(-1e-5, 0)}, {Tilt: vec(0, 1e-5)}, {Tilt: vec(0, -1e-5)}} {
			q := s.Pose()
			q.Offset, q.Tilt = q.Offset.Add(step.Offset), q.Tilt.Add(step.Tilt)
			if got := mean(s.Posed(q)); got > best {
				t.Errorf("%s: a step of %+v gains %.3g of the power", p.crystal, step, got/best-1)
			}
		}
	}
}

// Over agrees with At, whatever the number of workers, and stops with its context.
func TestOver(t *testing.T) {
	s := plain.stack(t)
	ls := make([]quantity.Length, 150)
	for i := range ls {
		ls[i] = quantity.Length(1500e-9 + 0.5e-9*float64(i))
	}
	ts := []quantity.Temperature{quantity.Celsius(-5), room}
	r, err := s.Over(context.Background(), Backward, ls, ts)
	if err != nil {
		t.Fatal(err)
	}
	for i, temperature := range ts {
		for j := range ls {
			want, err := s.At(Backward, ls[j], temperature)
			if err != nil {
				t.Fatal(err)
			}
			if r.Points[i][j] != want {
				t.Fatalf("point %d %d differs from At", i, j)
			}
		}
	}
	calls, last := 0, 0
	if _, err := s.Over(WithProgress(context.Background(), func(done, total int) {
		calls++
		if done <= last || done > total {
			t.Errorf("point %d of %d follows point %d", done, total, last)
		}
		last = done
	}), Backward, ls, ts); err != nil || calls != 6 || last != 300 { // two rows of 150 points in chunks of 64
		t.Errorf("%d reports of progress, the last at point %d, %v", calls, last, err)
	}
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.Over(stopped, Backward, ls, ts); err != context.Canceled {
		t.Errorf("stopped: %v", err)
	}
	if _, err := s.Over(context.Background(), Forward, []quantity.Length{1700e-9}, ts); err == nil ||
		!strings.Contains(err.Error(), "wedge1: YVO4: wavelength 1700 nm is outside") {
		t.Errorf("outside the fit: %v", err)
	}
}

func TestParameterPaths(t *testing.T) {
	s := plain.stack(t)
	turned, err := s.Adjusted(map[string]quantity.Quantity{"wedge2.axis": quantity.Of(68, "deg"),
		"beam.waist": quantity.Of(150, "um")})
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{"wedge2.axis": "68 deg", "beam.waist": "150 µm",
		"wedge1.axis": "22.5 deg",
		"gap2.length": "0.1 mm"} {
		if q, err := turned.Parameter(path); err != nil || q.String() != want {
			t.Errorf("%s = %s, %v, want %s", path, q, err, want)
		}
	}
	if q, _ := s.Parameter("wedge2.axis"); q.String() != "67.5 deg" {
		t.Errorf("the original changed to %s", q)
	}
	for path, want := range map[string]string{"wedge3.axis": "its elements are wedge1",
		"wedge2.axes": "wedge2 has wedge2.apex"} {
		if _, err := s.Adjusted(map[string]quantity.Quantity{path: quantity.Of(1, "deg")}); err == nil ||
			!strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", path, err, want)
		}
	}
}

func TestBadStacks(t *testing.T) {
	spec := plain.spec(t)
	w := spec.Elements[0]
	for _, c := range []struct {
		name   string
		change func(*Spec)
		want   string
	}{
		{"too long", func(s *Spec) { s.Beam.WorkingDistance = 1e-3 }, "does not fit a working distance of 1 mm"},
		{"crystals touch", func(s *Spec) { s.Elements = []element.Element{w, w} },
			"wedge1 and wedge2 are both crystals and touch"},
		{"nothing", func(s *Spec) { s.Elements = nil }, "at least one element"},
		{"one name twice", func(s *Spec) { s.Elements[0] = w.Labelled("a"); s.Elements[4] = s.Elements[4].Labelled("a") },
			`element 5: the name "a" is already taken`},
		{"name with a point", func(s *Spec) { s.Elements[0] = w.Labelled("a.b") }, "must not hold"},
		{"aligned outside the fit", func(s *Spec) { s.AlignAt = 1800e-9 }, "alignment: wedge1"},
	} {
		s := plain.spec(t)
		c.change(&s)
		if _, err := New(s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// Two wedges slanted the same way add their deviations, and the stack says so.
func TestCautionForACrookedBeam(t *testing.T) {
	if c := plain.stack(t).Cautions(); len(c) != 0 {
		t.Errorf("cautions of a sound design: %q", c)
	}
	spec := plain.spec(t)
	w := spec.Elements[4].(element.Wedge)
	w.Slanted = element.Front
	spec.Elements[4] = w
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	if c := s.Cautions(); len(c) == 0 || !strings.Contains(c[0], "off axis") {
		t.Errorf("cautions %q, want one about the axis", c)
	}
}
