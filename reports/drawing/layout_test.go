package drawing

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Long ways through air are cut at one scale: a millimetre is as long on either side of a cut, and a line keeps its
// slope.
func TestAxisIsCut(t *testing.T) {
	for name, cuts := range map[string]int{"single": 0, "magnet": 2, "dependent": 2} {
		d := drawn(t, designs(t)[name])
		a := d.axis(100, 400)
		if len(a.cuts()) != cuts {
			t.Errorf("%s: %d cuts, want %d", name, len(a.cuts()), cuts)
		}
		if x, y := a.at(d.out.Launching), a.at(d.out.Receiving); math.Abs(float64(x-100)) > 1e-9 ||
			math.Abs(float64(y-400)) > 1e-9 {
			t.Errorf("%s: the lens faces stand at %g and %g", name, x, y)
		}
		length := 0.0
		from, to := end{d.out.Receiving, 1e-3}, end{d.out.Launching, -1e-3} // backward
		want := (to.x - from.x) / (to.z - from.z)
		last := math.Inf(1)
		for _, s := range a.visible(from, to) {
			length += math.Abs(float64(a.at(s[1].z) - a.at(s[0].z)))
			if slope := (s[1].x - s[0].x) / (s[1].z - s[0].z); math.Abs(slope-want) > 1e-12 || s[0].z > last ||
				s[1].z >= s[0].z {
				t.Errorf("%s: a stretch from %v to %v, want slope %g and backward order", name, s[0], s[1], want)
			}
			last = s[1].z
			if across, along := float64(a.at(s[0].z)-a.at(s[1].z)),
				(s[0].z-s[1].z)*a.scale; math.Abs(across-along) > 1e-9 {
				t.Errorf("%s: %g points for %g", name, across, along)
			}
		}
		if full := 300 - float64(cutWide)*float64(cuts); math.Abs(length-full) > 1e-9 {
			t.Errorf("%s: %g points are drawn, want %g", name, length, full)
		}
	}
}

// To scale means the same scale along and across; the stretched views state their factor.
func TestScales(t *testing.T) {
	for name, s := range designs(t) {
		d := drawn(t, s)
		if v := d.scaled(); v.scale != v.z.scale {
			t.Errorf("%s: to scale, %g along and %g across", name, v.z.scale, v.scale)
		}
		for _, b := range []bundle{d.forward, d.backward} {
			v := d.stretched(b)
			if math.Abs(v.scale/v.z.scale-v.times) > 1e-9*v.times || v.times != whole(v.times) {
				t.Errorf("%s %s: stretched %g times, stated as %g", name, b.direction, v.scale/v.z.scale, v.times)
			}
			lo, hi := v.edges()
			for _, tr := range b.drawn {
				for _, p := range tr.Points {
					if x := d.along(p); x < lo || x > hi {
						t.Errorf("%s %s %s leaves the view at %g of %g to %g", name, b.direction, tr.Label, x, lo, hi)
					}
				}
			}
		}
	}
	for x, want := range map[float64]float64{1: 1, 1.4: 1, 1.5: 1.5, 7.9: 6, 10: 10, 99: 80, 0.07: 0.06, 5000: 1000} {
		if got := whole(x); math.Abs(got-want) > 1e-12 {
			t.Errorf("whole(%g) = %g, want %g", x, got, want)
		}
	}
}

// Rays are seen in the x-z plane as long as most of them happens there, and otherwise where it does.
func TestPlaneOfTheView(t *testing.T) {
	for _, c := range []struct {
		roll float64 // deg
		want float64
	}{{0, 0}, {30, 0}, {60, 60}, {90, 90}, {-60, 120}, {180, 0}} {
		var parts []element.Element
		for _, e := range core(t) {
			parts = append(parts, e.Rolled(quantity.Angle(c.roll*deg)))
		}
		d := drawn(t, assembled(t, element.Collimator{Waist: 200e-6, WorkingDistance: 6e-3}, parts...))
		got := math.Atan2(d.up.Y, d.up.X) / deg
		if math.Abs(got-c.want) > 3 { // the extraordinary ray walks off a little to the side
			t.Errorf("rolled by %g deg it is seen at azimuth %g, want %g", c.roll, got, c.want)
		}
		if math.Abs(r3.Norm(d.up)-1) > 1e-12 {
			t.Errorf("the axis of the view has length %g", r3.Norm(d.up))
		}
	}
}

// spread keeps order and room, moves nothing that has room, and splits what is asked for at one place evenly about it.
func TestSpread(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		n := 1 + rng.IntN(10)
		want, room := make([]vg.Length, n), make([]vg.Length, n)
		total := vg.Length(0)
		for i := range want {
			want[i], room[i] = vg.Length(300*rng.Float64()), vg.Length(2+18*rng.Float64())
			total += room[i]
		}
		slices.Sort(want)
		lo, hi := vg.Length(0), 300+total/3
		got := spread(want, room, lo, hi)
		free := true
		for i, x := range got {
			if x-room[i]/2 < lo-1e-9 || x+room[i]/2 > hi+1e-9 {
				t.Fatalf("%v of room %v: %v leaves %g to %g", want, room, got, lo, hi)
			}
			if i > 0 && x-got[i-1] < (room[i]+room[i-1])/2-1e-9 {
				t.Fatalf("%v of room %v: %v overlaps", want, room, got)
			}
			if i > 0 && want[i]-want[i-1] < (room[i]+room[i-1])/2 || want[i] < room[i]/2 {
				free = false
			}
		}
		if free && !slices.EqualFunc(got, want, func(a, b vg.Length) bool { return math.Abs(float64(a-b)) < 1e-9 }) {
			t.Fatalf("%v has room, but became %v", want, got)
		}
	}
	got := spread([]vg.Length{50, 50, 50}, []vg.Length{10, 10, 10}, 0, 100)
	if !slices.Equal(got, []vg.Length{40, 50, 60}) {
		t.Errorf("three at 50 became %v", got)
	}
}

// A line against a box, held to sampling it.
func TestCrosses(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	p := func() vg.Point { return at(vg.Length(10*rng.Float64()), vg.Length(10*rng.Float64())) }
	met := 0
	for range 2000 {
		a, b := p(), p()
		if rng.IntN(4) == 0 {
			b.X = a.X
		}
		r := vg.Rectangle{Min: at(3, 4), Max: at(6, 8)}
		inside := false
		for i := range 4001 {
			f := vg.Length(i) / 4000
			x, y := a.X+(b.X-a.X)*f, a.Y+(b.Y-a.Y)*f
			inside = inside || x >= r.Min.X && x <= r.Max.X && y >= r.Min.Y && y <= r.Max.Y
		}
		got := crosses(a, b, r)
		if inside {
			met++
		}
		// Sampling misses a corner that is cut by less than its step.
		grown := vg.Rectangle{Min: at(2.99, 3.99), Max: at(6.01, 8.01)}
		if inside && !got || !crosses(a, b, grown) && inside {
			t.Fatalf("%v to %v meets the box, found %v", a, b, got)
		}
		if got && !inside && crosses(a, b, vg.Rectangle{Min: at(3.01, 4.01), Max: at(5.99, 7.99)}) {
			t.Fatalf("%v to %v does not meet the box", a, b)
		}
	}
	if met < 200 || met > 1800 {
		t.Errorf("%d of 2000 lines met the box: the test says little", met)
	}
}

func TestOfWhole(t *testing.T) {
	for _, c := range []struct {
		part, whole float64
		want        string
	}{{45.7, 45.7, "45.7 µm"}, {0, 0, "0.0 µm"}, {0.01, 0.04, "0.0 µm"}, {94.8, 105.8, "94.8 of 106 µm"},
		{99.96, 100, "100 µm"}, {1, 6.2, "1.0 of 6.2 µm"}} {
		if got := ofWhole(c.part, c.whole, tenths, " µm"); got != c.want {
			t.Errorf("%g of %g is written %q, want %q", c.part, c.whole, got, c.want)
		}
	}
}

// What is left out is counted, with the strongest of it.
func TestChoose(t *testing.T) {
	var all []stack.Trace
	for i := range 12 {
		all = append(all, stack.Trace{Path: stack.Path{Label: "x", Sent: float64(70 - 5*i)}})
	}
	b := choose(stack.Forward, all) // 70, 65, 60, ... 15
	if len(b.drawn) != most || b.faint != 2 || b.crowded != 2 || b.greatest != 55 || b.drawn[0].Sent != 15 ||
		len(b.main()) != 2 {
		t.Errorf("%d drawn, %d faint, %d crowded, the strongest of them at %g, %d strong", len(b.drawn), b.faint,
			b.crowded, b.greatest, len(b.main()))
	}
	want := " Not drawn forward: 2 paths that carry less than −60 dB of the power launched; 2 paths weaker than the " +
		"8 drawn, the strongest at −55.0 dB."
	if got := b.omitted(); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	nothing := stack.Trace{Path: stack.Path{Sent: math.Inf(1)}}
	if b := choose(stack.Forward, []stack.Trace{nothing}); len(b.drawn) != 0 || b.faint != 1 {
		t.Errorf("a path that carries nothing is drawn: %+v", b)
	}
}
