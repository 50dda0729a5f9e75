package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// A latched film beside a magnet: it keeps its remanence until the field that opposes it passes its coercivity, and is
// reversed then; a field along its magnetization does nothing. The fields are the ring's own, on a grid.
func TestLatchedFilm(t *testing.T) {
	room := quantity.Celsius(20)
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	g.Latch = &material.Latch{Constant: 0.02, Remanence: 0.97}
	film := Rotator{Name: "film", Garnet: g, Angle: math.Pi / 4, At: 1550e-9, Temperature: room}
	rotation := func(e Element) float64 {
		media := e.Place(room).Media
		if err := e.Tune(1550e-9, room, media); err != nil {
			t.Fatal(err)
		}
		return media[0].Rotation
	}
	if got := rotation(film); math.Abs(got-0.97*math.Pi/4) > 1e-3 {
		t.Errorf("alone: %.5g rad", got)
	}
	for _, remanence := range []float64{1.2, -1.2} {
		for _, away := range []quantity.Length{4e-3, 8e-3, 20e-3} {
			ring := magnet.Ring{Inner: 1.5e-3, Outer: 3e-3, Length: 4e-3, Remanence: remanence, Position: away}
			f := WithNeighbours(film, magnet.Assembly{ring}).(Rotator)
			f.Stray = 1e-3
			against := 0.0
			for k := range 41 {
				for j := range 41 {
					_, b, err := ring.Polar(usualFootprint*quantity.Length(k)/40,
						quantity.Length(float64(j-20)/40)*quantity.Length(mustThickness(t, f)), room)
					if err != nil {
						t.Fatal(err)
					}
					against = max(against, -b)
				}
			}
			m, err := f.Margin(room)
			if want := 0.02 / (against + 1e-3); err != nil || math.Abs(m.Ratio-want) > 1e-6*want {
				t.Errorf("%g T at %g mm: margin %.6g, want %.6g, %v", remanence, float64(away)*1e3, m.Ratio, want, err)
			}
			centre, _ := ring.OnAxis(0, room)
			sign := 1.0
			if -centre > 0.02 {
				sign = -1
			}
			if got := rotation(f); math.Abs(got-sign*0.97*math.Pi/4) > 1e-3 {
				t.Errorf("%g T at %g mm, %g mT: %.5g rad", remanence, float64(away)*1e3, centre*1e3, got)
			}
			said := strings.Join(f.Cautions(room), "\n")
			if (m.Ratio <= 1) != strings.Contains(said, "may be reversed") {
				t.Errorf("margin %.3g: %q", m.Ratio, said)
			}
		}
	}
}

func mustThickness(t *testing.T, r Rotator) float64 {
	t.Helper()
	d, err := r.Thickness()
	if err != nil {
		t.Fatal(err)
	}
	return float64(d)
}
