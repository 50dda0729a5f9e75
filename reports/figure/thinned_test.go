package figure

import (
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// TestThinned: a long run keeps its ends, its extremes and the extremes of every column; points of a short one all
// stay.
func TestThinned(t *testing.T) {
	const n = 200_000
	run := make([]vg.Point, n)
	for i := range run {
		run[i] = vg.Point{X: vg.Length(i) * 480 / n, Y: vg.Length(math.Sin(float64(i) / 7))}
	}
	run[77_777].Y = 9 // one reading that sticks out
	got := thinned(run)
	if len(got) > 4*481*4 {
		t.Errorf("%d points are left of %d, want at most four for each quarter point", len(got), n)
	}
	if got[0] != run[0] || got[len(got)-1] != run[n-1] {
		t.Error("the ends are gone")
	}
	peak := vg.Length(0)
	extremes := func(run []vg.Point) map[int][2]vg.Length {
		m := map[int][2]vg.Length{}
		for _, p := range run {
			k := int(p.X / column)
			v, ok := m[k]
			if !ok {
				v = [2]vg.Length{p.Y, p.Y}
			}
			m[k] = [2]vg.Length{min(v[0], p.Y), max(v[1], p.Y)}
			peak = max(peak, p.Y)
		}
		return m
	}
	want := extremes(run)
	for k, v := range extremes(got) {
		if v != want[k] {
			t.Fatalf("column %d spans %v, want %v", k, v, want[k])
		}
	}
	if peak != 9 {
		t.Error("the reading that sticks out is gone")
	}
	for i := 1; i < len(got); i++ {
		if got[i].X < got[i-1].X {
			t.Fatal("the points have changed their order")
		}
	}
	if short := run[:thinFrom]; len(thinned(short)) != len(short) {
		t.Error("a short run has lost points")
	}
}
