package stack

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func TestRnd(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	d := float64(quantity.Degree)
	g, _ := material.NamedGarnet("Bi:RIG")
	worst := 0.0
	for i := 0; i < 10000; i++ {
		c, _ := material.Named([]string{"YVO4", "calcite", "LiNbO3", "rutile"}[rng.IntN(4)])
		g.Extinction = 1e3 * math.Pow(10, 2*rng.Float64())
		if rng.IntN(2) == 0 {
			g.Extinction = math.Inf(1)
		}
		g.Absorption = 0
		ap := 13 * rng.Float64()
		if rng.IntN(3) == 0 {
			ap = 0.1
		}
		mk := func(side element.Side) element.Wedge {
			return element.Wedge{Crystal: c, Slanted: side, Apex: quantity.Angle((ap + 0.2*rng.NormFloat64()) * d), Thickness: quantity.Length(0.2e-3 + 1e-3*rng.Float64()), Axis: quantity.Angle(180 * rng.Float64() * d), Azimuth: quantity.Angle(360 * float64(rng.IntN(2)) * rng.Float64() * d)}
		}
		w1 := mk(element.Front)
		w2 := mk(element.Back)
		r := element.Rotator{Garnet: g, Angle: quantity.Angle((rng.Float64()*180 - 90) * d), At: 1550e-9, Temperature: quantity.Celsius(23)}
		s, err := New(Spec{Elements: []element.Element{w1, element.Gap{Length: quantity.Length(rng.Float64() * 1e-3)}, r, element.Gap{Length: quantity.Length(rng.Float64() * 1e-3)}, w2}, Beam: element.Collimator{Waist: quantity.Length(100e-6 + 300e-6*rng.Float64()), WorkingDistance: 10e-3}, AlignAt: 1550e-9, AlignTemperature: quantity.Celsius(23)})
		if err != nil {
			t.Fatal(err)
		}
		for _, dir := range []Direction{Forward, Backward} {
			p, err := s.At(dir, quantity.Length(1500e-9+80e-9*rng.Float64()), quantity.Celsius(23))
			if err != nil {
				t.Fatal(err)
			}
			if p.T1-1 > worst {
				worst = p.T1 - 1
				fmt.Println(i, dir, worst, ap)
			}
		}
	}
	fmt.Println("worst", worst)
}
func TestRecip(t *testing.T) {
	for _, sc := range []float64{0, 0.1, 0.3, 1} {
		recip(t, sc)
	}
}
func recip(t *testing.T, sc float64) {
	fmt.Println("scale", sc)
	rng := rand.New(rand.NewPCG(1, 2))
	d := float64(quantity.Degree)
	for _, ap := range []float64{0, 0.1, 3, 6, 13} {
		worst := 0.0
		wp := 0.0
		for i := 0; i < 2000; i++ {
			c, _ := material.Named([]string{"YVO4", "calcite", "LiNbO3", "rutile"}[rng.IntN(4)])
			mk := func(side element.Side) element.Wedge {
				return element.Wedge{Crystal: c, Slanted: side, Apex: quantity.Angle(ap * d), Thickness: quantity.Length(0.2e-3 + 1e-3*rng.Float64()), Axis: quantity.Angle(180 * rng.Float64() * d), Coating: element.Coating{0.001}}
			}
			w1 := mk(element.Front)
			w2 := mk(element.Back)
			g, _ := material.NamedGarnet("Bi:RIG")
			g.PerKelvin, g.PerMetre = 0, 0
			g.Extinction = math.Inf(1)
			r := element.Rotator{Garnet: g, Angle: 0, At: 1550e-9, Temperature: quantity.Celsius(23), Coating: element.Coating{0.001}}
			s, err := New(Spec{Elements: []element.Element{w1, element.Gap{Length: quantity.Length(rng.Float64() * 1e-3)}, r, element.Gap{Length: quantity.Length(rng.Float64() * 1e-3)}, w2}, Beam: element.Collimator{Waist: quantity.Length(100e-6 + 300e-6*rng.Float64()), WorkingDistance: 10e-3}, AlignAt: 1550e-9, AlignTemperature: quantity.Celsius(23)})
			if err != nil {
				t.Fatal(err)
			}
			s.pose.Offset = s.pose.Offset.Add(beam.Vec{sc * 40e-6 * (rng.Float64() - .5), sc * 40e-6 * (rng.Float64() - .5)})
			s.pose.Tilt = s.pose.Tilt.Add(beam.Vec{sc * 2e-3 * (rng.Float64() - .5), sc * 2e-3 * (rng.Float64() - .5)})
			l := quantity.Length(1500e-9 + 80e-9*rng.Float64())
			f, _ := s.At(Forward, l, quantity.Celsius(23))
			b, _ := s.At(Backward, l, quantity.Celsius(23))
			s1 := math.Sqrt(f.T1)
			bt := b.M.Transpose()
			// remove common phase
			var ov complex128
			for i := range 2 {
				for j := range 2 {
					ov += cmplx.Conj(bt[i][j]) * f.M[i][j]
				}
			}
			ph := ov / complex(cmplx.Abs(ov), 0)
			m := 0.0
			for i := range 2 {
				for j := range 2 {
					m = max(m, cmplx.Abs(bt[i][j]*ph-f.M[i][j])/s1)
				}
			}
			if m > worst {
				worst = m
				if sc == 0 {
					fmt.Println(ap, m, f.T1, c.Name(), s.spec.Beam.Waist, w1.Axis/quantity.Degree, w2.Axis/quantity.Degree)
				}
			}
			wp = max(wp, math.Abs(b.T1/f.T1-1))
		}
		fmt.Println(ap, "worst M", worst, "T1", wp)
	}
}
