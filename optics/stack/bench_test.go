package stack

import "testing"

func benchmark(b *testing.B, p plan) {
	s := p.stack(b)
	c := s.lay(room)
	b.ReportAllocs()
	for b.Loop() {
		if err := c.tune(at); err != nil {
			b.Fatal(err)
		}
		s.evaluate(c, Backward, at)
	}
}

func BenchmarkPathSum(b *testing.B) {
	b.Run("coated", func(b *testing.B) { benchmark(b, plain) })
	depolarizing := plain
	depolarizing.extinction = 1e4
	b.Run("depolarizing", func(b *testing.B) { benchmark(b, depolarizing) })
	ghosts := depolarizing
	ghosts.reflectance = 1e-3
	b.Run("ghosts", func(b *testing.B) { benchmark(b, ghosts) })
}
