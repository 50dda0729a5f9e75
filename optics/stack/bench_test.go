package stack

import (
	"context"
	"math/rand/v2"
	"testing"

	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// One point of the two-wedge isolator, tuned and evaluated, by the tracer and by the path sum.
func BenchmarkPoint(b *testing.B) {
	depolarizing := plain
	depolarizing.extinction = 1e4
	ghosts := depolarizing
	ghosts.reflectance = 1e-3
	for _, c := range []struct {
		name string
		d    design
	}{{"coated", plain}, {"depolarizing", depolarizing}, {"ghosts", ghosts}} {
		s := c.d.stack(b)
		course := s.lay(room)
		q := new(tracer)
		run := func(name string, evaluate func()) {
			b.Run(c.name+"/"+name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := course.tune(at); err != nil {
						b.Fatal(err)
					}
					evaluate()
				}
			})
		}
		run("tracer", func() { q.evaluate(s, course, Backward, at) })
		run("path sum", func() { s.evaluate(course, Backward, at) })
	}
}

// A grid of 2,001 wavelengths and 9 temperatures, forward and backward with DGD.
func BenchmarkGrid(b *testing.B) {
	d := plain
	d.extinction = 1e4
	s := d.stack(b)
	ls := make([]quantity.Length, 2001)
	for i := range ls {
		ls[i] = quantity.Length(1500e-9 + 80e-9*float64(i)/2000)
	}
	var ts []quantity.Temperature
	for t := -10.0; t <= 70; t += 10 {
		ts = append(ts, quantity.Celsius(t))
	}
	for b.Loop() {
		for _, d := range []Direction{Forward, Backward} {
			if _, err := s.Over(context.Background(), d, ls, ts); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// The return loss of a port of the isolator with a film that depolarizes.
func BenchmarkReturnLoss(b *testing.B) {
	d := plain
	d.extinction, d.reflectance = 1e4, 1e-3
	s := d.stack(b)
	for b.Loop() {
		if _, err := s.ReturnLoss(Forward, at, room, false); err != nil {
			b.Fatal(err)
		}
	}
}

// What trials cost: units of a line, both directions, laid out, aligned and evaluated; in nanoseconds a unit.
func BenchmarkUnits(b *testing.B) {
	for _, l := range lines() {
		b.Run(l.name, func(b *testing.B) {
			_, u, _, sigma := l.units(b)
			batch, err := u.Batch()
			if err != nil {
				b.Fatal(err)
			}
			draw(batch, u, sigma, rand.New(rand.NewPCG(1, 2)))
			b.ReportAllocs()
			for b.Loop() {
				batch.Run(program.Width, func(int, *program.Passed) bool { return true })
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*program.Width), "ns/unit")
		})
	}
}
