package face

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

var sink Scattering

// bench runs one face and reports it; it must not allocate.
func bench(b *testing.B, in Side, layers []Layer, out Side) {
	t := r3.Vec{X: 0.05, Y: 0.1}
	normal := r3.Unit(r3.Vec{X: 0.1, Y: -0.02, Z: 1})
	b.ReportAllocs()
	for b.Loop() {
		sink, _ = Scatter(in, layers, out, t, normal, 1550e-9)
	}
}

func BenchmarkBareGlass(b *testing.B) { bench(b, air, nil, Side{Index: 1.5, Group: 1.5}) }

func BenchmarkBareCrystal(b *testing.B) { bench(b, air, nil, yvo4(r3.Vec{X: 1, Y: 0.5})) }

func BenchmarkBareCrystalExit(b *testing.B) { bench(b, yvo4(r3.Vec{X: 1, Y: 0.5}), nil, air) }

func BenchmarkBareCrystalToCrystal(b *testing.B) {
	bench(b, yvo4(r3.Vec{X: 1, Y: 0.5}), nil, yvo4(r3.Vec{X: 1, Z: 0.5}))
}

func BenchmarkTwoLayersOnCrystal(b *testing.B) {
	bench(b, air, []Layer{{1.38, 280e-9}, {2.1, 60e-9}}, yvo4(r3.Vec{X: 1, Y: 0.5}))
}

func TestScatterDoesNotAllocate(t *testing.T) {
	layers := []Layer{{1.38, 280e-9}, {2.1 + 0.01i, 60e-9}}
	for _, tc := range []struct {
		name string
		in   Side
		t    r3.Vec
	}{
		{"from air", air, r3.Vec{X: 0.3}},
		{"from glass", Side{Index: 1.9, Group: 1.9}, r3.Vec{X: 1.8}},
	} {
		n := testing.AllocsPerRun(100, func() {
			sink, _ = Scatter(tc.in, layers, crystal(1.5, 1.6, r3.Vec{Y: 1}), tc.t, r3.Vec{Z: 1}, 1550e-9)
		})
		if n != 0 {
			t.Errorf("%s: %g allocations, want none", tc.name, n)
		}
	}
}
