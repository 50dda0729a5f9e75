package stack

import (
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// The degree of coherence against the Fourier transform of the spectrum itself, summed by the trapezium rule, which is
// exact to rounding for a Gaussian.
func TestCoherenceIsTheTransformOfTheSpectrum(t *testing.T) {
	const fwhm = 40e9
	for _, delay := range []float64{0, 2e-12, 11e-12, 25e-12} {
		sum, area := 0.0, 0.0
		for i := -4000; i <= 4000; i++ {
			f := float64(i) * fwhm / 1000
			power := math.Exp(-4 * math.Ln2 * f * f / (fwhm * fwhm)) // half at f = fwhm/2
			sum += power * math.Cos(2*math.Pi*f*delay)
			area += power
		}
		if got, want := coherence(fwhm, delay), sum/area; math.Abs(got-want) > 1e-12 {
			t.Errorf("after %g ps: %.15f, want %.15f", delay*1e12, got, want)
		}
	}
	if coherence(0, 1e-9) != 1 || coherence(math.Inf(1), 0) != 0 {
		t.Error("a source without a linewidth must see every beat, one of infinite linewidth none")
	}
}

// averaged is the response to a source of a Gaussian spectrum, found by adding up the powers that a source without a
// linewidth sees over that spectrum: the definition, and no degree of coherence in it.
func averaged(t *testing.T, s *Stack, d Direction, l quantity.Length, fwhm float64) (t1, t2 float64) {
	t.Helper()
	var h polar.Gram
	weights := 0.0
	for i := -60; i <= 60; i++ {
		f := float64(i) * fwhm / 30
		w := math.Exp(-4 * math.Ln2 * f * f / (fwhm * fwhm))
		p, err := s.At(d, quantity.Length(quantity.LightSpeed/(quantity.LightSpeed/float64(l)+f)), room)
		if err != nil {
			t.Fatal(err)
		}
		h.Add(p.M.Scale(complex(math.Sqrt(w), 0)))
		weights += w
	}
	t1, t2 = h.Extremes()
	return t1 / weights, t2 / weights
}

// A linewidth averages the ripple of double bounces: against the average over the spectrum itself, of a film's ghost
// beside the leak, and of the etalons that two plates make. The film's rotation is held over wavelength; what is left
// is the spread of the crystals' delays, which count as one arrival: 0.35 ps a pass of each plate cut across the
// axis.
func TestLinewidthAveragesRipple(t *testing.T) {
	film := plain
	film.film, film.rotation, film.apex, film.waist, film.extinction = 0.001, 45-math.Asin(math.Pow(10, -45.0/20))/deg,
		1, 800e-6, math.Inf(1)
	along := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3,
		Coating: element.Coating{Reflectance: 0.01}}
	across := along
	across.Cut, across.Axis = 90*deg, 20*deg
	for _, c := range []struct {
		name string
		s    *Stack
		d    Direction
		tol  float64 // of t1
	}{
		{"film, backward", film.stack(t), Backward, 2e-3},
		{"film, forward", film.stack(t), Forward, 1e-6},
		{"plates cut along", assembled(t, along, element.Gap{Length: 0.3e-3}, along), Forward, 2e-5},
		{"plates cut across", assembled(t, across, element.Gap{Length: 0.3e-3}, across), Forward, 2e-3},
	} {
		swing := 0.0
		for _, ghz := range []float64{10, 60, 150} {
			for _, nm := range []float64{1550, 1550.4, 1550.8} {
				l := quantity.Length(nm) * quantity.Nanometre
				p, err := c.s.WithLinewidth(ghz*1e9).At(c.d, l, room)
				if err != nil {
					t.Fatal(err)
				}
				t1, t2 := averaged(t, c.s, c.d, l, ghz*1e9)
				if math.Abs(p.T1/t1-1) > c.tol || math.Abs(p.T2-t2) > c.tol*t1 {
					t.Errorf("%s, %g GHz at %g nm: %.6g and %.6g, want %.6g and %.6g", c.name, ghz, nm, p.T1, p.T2, t1,
						t2)
				}
				narrow, err := c.s.At(c.d, l, room)
				if err != nil {
					t.Fatal(err)
				}
				swing = max(swing, math.Abs(narrow.T1/t1-1))
			}
		}
		if c.name != "film, forward" && swing < 10*c.tol {
			t.Errorf("%s: the narrow source sees a ripple of %.2g only: nothing was averaged", c.name, swing)
		}
	}
}

// Between a source without a linewidth and a wide one lie coherent and incoherent ghosts.
func TestLinewidthLimits(t *testing.T) {
	p := plain
	p.reflectance, p.rotation, p.apex = 0.01, 44.5, 3
	spec := p.spec(t)
	spec.Elements[1] = element.Gap{Length: 0.17e-3} // double bounces of equal delay would interfere for any source
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		fwhm float64
		want *Stack
	}{{1e3, s}, {1e17, s.WithGhosts(GhostsIncoherent)}} {
		got, want := point(t, s.WithLinewidth(c.fwhm), Backward), point(t, c.want, Backward)
		if math.Abs(got.T1/want.T1-1) > 1e-9 || math.Abs(got.T2/want.T2-1) > 1e-6 ||
			math.Abs(got.DGD()/want.DGD()-1) > 1e-6 {
			t.Errorf("%g Hz: %+v, want %+v", c.fwhm, got, want)
		}
	}
}

// The two faces of a bare plate beat in the return loss as far as the linewidth lets them. What they return is a
// Fourier series in the phase x of one way to and fro, 1 - (1-R)/(1+R) (1 + 2 sum of R^k cos kx), of Airy's formula
// (closed form); the linewidth leaves gamma^(k^2) of its terms, gamma that of the way through the plate and back in its
// group index. Two wavelengths without linewidth give R and x.
func TestLinewidthInTheReturnLoss(t *testing.T) {
	plate := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3,
		Coating: element.Coating{Bare: true}}
	s := assembled(t, plate) // axis along the light: both waves see n_o
	n, err := plate.Crystal.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	const fwhm = 50e9
	gamma := coherence(fwhm, 2*0.5e-3*n.GroupO/quantity.LightSpeed)
	if gamma < 0.2 || gamma > 0.8 {
		t.Fatalf("a degree of coherence of %.3f tells little", gamma)
	}
	power := func(s *Stack, coherent bool) float64 {
		r, err := s.ReturnLoss(Forward, at, room, coherent)
		if err != nil {
			t.Fatal(err)
		}
		return quantity.Ratio(-r.Loss)
	}
	r := math.Pow((n.O-1)/(n.O+1), 2)
	// Airy: P = F s / (1 + F s), s = sin^2(x/2) and so cos x = 1 - 2 s.
	f := 4 * r / ((1 - r) * (1 - r))
	whole := power(s, true)
	x := math.Acos(1 - 2*whole/(f*(1-whole)))
	sum := 1.0
	for k := 1.0; k < 20; k++ {
		sum += 2 * math.Pow(r, k) * math.Cos(k*x) * math.Pow(gamma, k*k)
	}
	const spread = 5e-4 // of the mode, whose waist the way unfolds
	if got, want := power(s.WithLinewidth(fwhm), true), 1-(1-r)/(1+r)*sum; math.Abs(got/want-1) > spread {
		t.Errorf("returned power %.9g, want %.9g", got, want)
	}
}
