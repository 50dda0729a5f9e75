package stack

import (
	"fmt"
	"math"
	"testing"
	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func demo(t *testing.T, name string, apex float64, a1, a2, rot float64, R float64, ext float64) *Stack {
	c, err := material.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	g, _ := material.NamedGarnet("Bi:RIG")
	g.Extinction = ext
	d := float64(quantity.Degree)
	w1 := element.Wedge{Crystal: c, Slanted: element.Front, Apex: quantity.Angle(apex * d), Thickness: 0.5e-3, Axis: quantity.Angle(a1 * d), Coating: element.Coating{R}}
	w2 := w1
	w2.Slanted = element.Back
	w2.Axis = quantity.Angle(a2 * d)
	r := element.Rotator{Garnet: g, Angle: quantity.Angle(rot * d), At: 1550e-9, Temperature: quantity.Celsius(23), Coating: element.Coating{R}}
	s, err := New(Spec{Elements: []element.Element{w1, element.Gap{Length: 0.1e-3}, r, element.Gap{Length: 0.1e-3}, w2}, Beam: element.Collimator{Waist: 200e-6, WorkingDistance: 6e-3}, AlignAt: 1550e-9, AlignTemperature: quantity.Celsius(23)})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
func TestTry(t *testing.T) {
	s := demo(t, "YVO4", 5, 22.5, 67.5, 45, 0.001, math.Inf(1))
	fmt.Println(s.Pose())
	for _, dir := range []Direction{Forward, Backward} {
		p, err := s.WithGhosts(GhostsNone).At(dir, 1550e-9, quantity.Celsius(23))
		fmt.Println(dir, p.InsertionLoss(), p.InsertionLossMin(), p.PDL(), p.DGD()*1e12, err)
		ps, _ := s.WithGhosts(GhostsNone).Paths(dir, 1550e-9, quantity.Celsius(23))
		for _, q := range ps {
			fmt.Printf("%+v\n", q)
		}
	}
	for _, ap := range []float64{.1, 5, 13} {
		for _, a := range []float64{22.5, 0, -22.5} {
			s := demo(t, "YVO4", ap, a, a+45, 45, 0, math.Inf(1))
			p, _ := s.At(Backward, 1550e-9, quantity.Celsius(23))
			fmt.Println(ap, a, p.Isolation())
		}
	}
	s = demo(t, "YVO4", 5, 22.5, 67.5, 44.67, 0.001, math.Inf(1))
	s = demo(t, "YVO4", 5, 22.5, 67.5, 44.67, 0, math.Inf(1))
	g := s.spec.Elements[2].(element.Rotator)
	g.Coating.Reflectance = .001
	s.spec.Elements[2] = g
	s, _ = New(s.spec)
	lo, hi := 1e9, 0.
	for i := 0; i < 100; i++ {
		p, _ := s.At(Backward, quantity.Length(1550e-9+float64(i)*.02e-9), quantity.Celsius(23))
		lo = min(lo, p.Isolation())
		hi = max(hi, p.Isolation())
	}
	fmt.Println(lo, hi)
}
func BenchmarkAt(b *testing.B) {
	s := demo(&testing.T{}, "YVO4", 5, 22.5, 67.5, 45, 0, 1e4)
	c := s.lay(quantity.Celsius(23))
	b.ReportAllocs()
	for b.Loop() {
		c.tune(1550e-9)
		s.evaluate(c, Backward, 1550e-9)
	}
}
func BenchmarkGhost(b *testing.B) {
	s := demo(&testing.T{}, "YVO4", 5, 22.5, 67.5, 45, 0.001, 1e4)
	c := s.lay(quantity.Celsius(23))
	b.ReportAllocs()
	for b.Loop() {
		c.tune(1550e-9)
		s.evaluate(c, Backward, 1550e-9)
	}
}
