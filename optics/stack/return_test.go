package stack

import (
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// A bare plate across the beam sends back ((n-1)/(n+1))^2 from its first face, and from its second what the
// first lets through twice: closed forms (Fresnel). The free way to the plate and back unfolds the waist, which
// costs what the gap term of Joyce and DeLoach (1984) says.
func TestReturnLossOfAPlate(t *testing.T) {
	plate := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3, Cut: 0, Coating: element.Coating{Bare: true}}
	s := assembled(t, plate) // axis along the light: both waves see n_o
	r, err := s.ReturnLoss(Forward, at, room, false)
	if err != nil {
		t.Fatal(err)
	}
	n, err := plate.Crystal.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	share := math.Pow((n.O-1)/(n.O+1), 2)
	zr := math.Pi * 300e-6 * 300e-6 / at
	loss := func(there float64) float64 { // from the lens face there and back, the waist 10 mm away and 10 mm before
		gap := 2*there - 20e-3
		return 1 / (1 + math.Pow(gap/(2*zr), 2))
	}
	first := 20e-3/2 - 0.5e-3/2
	want := -10 * math.Log10(share*loss(first))
	if got := r.Parts[0]; got.Name != "plate1 front" || math.Abs(got.Loss-want) > 1e-6 {
		t.Errorf("%s sends back %.6f dB, want %.6f", got.Name, got.Loss, want)
	}
	want = -10 * math.Log10(share*math.Pow(1-share, 2)*loss(first+0.5e-3/n.O))
	if got := r.Parts[1].Loss; math.Abs(got-want) > 1e-4 {
		t.Errorf("the second face sends back %.6f dB, want %.6f", got, want)
	}
	// Together: the sum of the powers, or the beat of an etalon between its extremes.
	a, b := math.Pow(10, -r.Parts[0].Loss/20), math.Pow(10, -r.Parts[1].Loss/20)
	scatter := math.Pow(10, -DefaultReturnFloor/10.)
	if want := -10 * math.Log10(a*a+b*b+scatter); math.Abs(r.Loss-want) > 1e-9 {
		t.Errorf("return loss %.6f dB, want %.6f", r.Loss, want)
	}
	least, most := math.Inf(1), 0.0
	for i := range 200 {
		q, err := s.ReturnLoss(Forward, quantity.Length(at*(1+1e-5*float64(i))), room, true)
		if err != nil {
			t.Fatal(err)
		}
		least, most = min(least, q.Loss), max(most, q.Loss)
	}
	for _, c := range []struct{ got, want float64 }{{least, -20 * math.Log10(a+b)}, {most, -20 * math.Log10(a-b)}} {
		if math.Abs(c.got-c.want) > 0.05 {
			t.Errorf("the beat reaches %.3f dB, want %.3f", c.got, c.want)
		}
	}
}

// A wedge isolator throws its own reflections out of the fibre: every face stands at an angle to the light, so
// that the return loss is that of scatter, from either port (common practice, no source).
func TestReturnLossOfAWedgeIsolator(t *testing.T) {
	p := plain
	p.reflectance = 0.002
	s := p.stack(t)
	for _, d := range []Direction{Forward, Backward} {
		r, err := s.ReturnLoss(d, at, room, false)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Loss-DefaultReturnFloor) > 0.01 {
			t.Errorf("%s: %.3f dB", d, r.Loss)
		}
		first := "wedge1 front"
		if d == Backward {
			first = "wedge2 back"
		}
		if r.Parts[0].Name != first {
			t.Errorf("%s light meets %s first", d, r.Parts[0].Name)
		}
	}
}

// An angled ferrule: R exp(-(2 pi w n theta/l)^2), the tilt term of Joyce and DeLoach for twice the angle, worked out
// for 8 deg, a mode of 5.2 um and silica: 14.44 dB of the bare end and 81 dB of the tilt. A square-cut bare
// end gives back 14.4 dB.
func TestReturnLossOfAFerrule(t *testing.T) {
	c := element.Collimator{Fibre: element.Fibre{ModeRadius: 5.2e-6}, Focal: 2e-3, WorkingDistance: 10e-3, FerruleReflectance: math.Pow((1.468-1)/(1.468+1), 2)}
	square, _ := c.Facets(200e-6, at)
	if got := -10 * math.Log10(square); math.Abs(got-14.442) > 0.001 {
		t.Errorf("square-cut end: %.4f dB, want 14.442 (n = 1.468 to air)", got)
	}
	c.Ferrule = 8 * deg
	angled, _ := c.Facets(200e-6, at)
	x := 2 * math.Pi * 5.2e-6 * 1.468 * 8 * deg / at
	if got, want := -10*math.Log10(angled/square), 10*math.Log10(math.E)*x*x; math.Abs(got-want) > 1e-9 || want < 60 {
		t.Errorf("the angle adds %.4f dB, want %.4f", got, want)
	}
}
