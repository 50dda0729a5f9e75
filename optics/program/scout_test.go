package program

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The least angle at which paths arrive that were dropped, which share the way where they begin alike, is that of the
// paths followed one by one, each with all of its light.
func TestNearestIsThatOfEachPath(t *testing.T) {
	crystal := func(front, back bool) []Part {
		return []Part{{Flat: front, Crystal: true}, {Flat: back}}
	}
	parts := append(crystal(false, true), crystal(true, false)...)
	parts = append(parts, crystal(false, false)...)
	parts = append(parts, crystal(true, true)...)
	p, err := New(parts, false)
	if err != nil {
		t.Fatal(err)
	}
	p.live, p.dropped = p.all(), p.all()
	s, l, at := p.Scene(), p.Light(), &Pose{}
	random := rand.New(rand.NewPCG(1, 2))
	l.Wavelength = 1.55e-6
	for j := range parts {
		f := &s.Faces[j]
		l.Media[j] = Medium{Index: 1, O: 1.94, E: 2.15}
		f.At.Fill(float64(j) * 5e-4)
		for i := range Width {
			f.Z[i] = 1
			if !parts[j].Flat {
				f.X[i], f.Y[i] = 0.2*random.NormFloat64(), 0.2*random.NormFloat64()
				f.Z[i] = math.Sqrt(1 - f.X[i]*f.X[i] - f.Y[i]*f.Y[i])
			}
		}
	}
	for c := range s.Axes {
		for i := range Width {
			sin, cos := math.Sincos(random.Float64() * math.Pi)
			s.Axes[c].X[i], s.Axes[c].Y[i], s.Axes[c].Z[i] = cos*0.8, sin*0.8, 0.6
			at.TiltX[i], at.TiltY[i] = 0.1*random.NormFloat64(), 0.1*random.NormFloat64()
		}
	}
	s.Out.Fill(1e-2)
	m := p.Machine()
	m.survey(m.lost, s, l, at)
	var want Lane
	want.Fill(math.Inf(1))
	for _, kinds := range p.dropped {
		a := p.path(kinds)
		p.follow(a, s, l, &zero, &zero, false)
		for i := range Width {
			if d := math.Hypot(a.kx[i]-at.TiltX[i], a.ky[i]-at.TiltY[i]); d < want[i] {
				want[i] = d
			}
		}
	}
	for i := range Width {
		if got := math.Sqrt(m.dropped[i]); got != want[i] && !(math.Abs(got-want[i]) <= 1e-13) {
			t.Errorf("stack %d: paths come as near as %.16g rad, one by one %.16g rad", i, got, want[i])
		}
	}
	m.chiefs(s, l)
	for n, a := range m.paths {
		alone := p.path(p.dropped[n])
		p.follow(alone, s, l, &zero, &zero, false)
		for i := range Width {
			got, want := [4]float64{a.px[i], a.py[i], a.ptx[i], a.pty[i]}, [4]float64{alone.x[i], alone.y[i], alone.kx[i],
				alone.ky[i]}
			if got != want && !math.IsNaN(want[2]) {
				t.Errorf("stack %d, path %v: chief ray %v, by itself %v", i, a.kinds, got, want)
			}
		}
	}
	m.Hold(s, l, at)
	for _, a := range m.paths {
		alone := p.path(a.kinds)
		p.follow(alone, s, l, &zero, &zero, false)
		for i := range Width {
			if d := math.Hypot(a.ptx[i]-alone.kx[i], a.pty[i]-alone.ky[i]); d > 1e-13 {
				t.Errorf("stack %d, path %v: its direction is off by %.3g rad", i, a.kinds, d)
			}
		}
	}
}

// The bound on a path that was dropped falls no lower than its floor, and is not a number where the angle is not.
func TestBoundHasAFloor(t *testing.T) {
	for _, e := range []float64{0, 1, 30, least - 1e-9, least, least + 1, 1e6, math.Inf(1)} {
		if got, want := bound(e), math.Exp(-math.Min(e, least)); got != want {
			t.Errorf("bound(%g) = %g, want %g", e, got, want)
		}
	}
	if got := bound(math.NaN()); !math.IsNaN(got) {
		t.Errorf("bound(NaN) = %g", got)
	}
}
