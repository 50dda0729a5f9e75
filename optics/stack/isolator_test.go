package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"wedgework/optics/beam"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func vec(x, y float64) beam.Vec { return beam.Vec{X: x, Y: y} }

// Malus's law and the double pass of a Faraday rotator (common practice, no source). With d the rotation
// error and e the error of the angle between the wedge axes, a straight path leaks sin^2(d+e) of the power
// that was launched into its ray backward, and carries cos^2(d-e) of it forward; what forward light loses to
// the crossed paths is sin^2(d-e). At an apex of 0.1 deg the rays are all but parallel to the axis, so the
// closed forms hold to 0.01 dB.
func TestLeakIsTheSquaredSine(t *testing.T) {
	for _, c := range [][2]float64{{0.2, 0}, {0.6, 0}, {-0.6, 0}, {0, 0.6}, {1, 0.5}, {1.5, -0.9}, {-0.3, -0.2}, {5,
		0.7}} {
		d, e := c[0], c[1]
		p := plain
		p.apex, p.rotation, p.axis2 = 0.1, 45+d, 67.5+e
		s := p.stack(t)
		forward, backward := paths(t, s, Forward), paths(t, s, Backward)
		want := -20 * math.Log10(math.Abs(math.Sin((d+e)*deg)))
		if want < 20 || want > 50 {
			t.Fatalf("d %g, e %g: %g dB is outside what is claimed", d, e, want)
		}
		for _, straight := range []string{"oo", "ee"} {
			carried := -20 * math.Log10(math.Cos((d-e)*deg))
			if got := backward[straight].Sent - forward[straight].Sent; math.Abs(got-(want-carried)) > 0.01 {
				t.Errorf("d %g, e %g: %s leaks %.4f dB below its forward power, want %.4f", d, e, straight, got,
					want-carried)
			}
		}
		crossed := math.Sin((d - e) * deg)
		got := (quantity.Ratio(-forward["oe"].Sent) + quantity.Ratio(-forward["eo"].Sent))
		if want := crossed * crossed; math.Abs(10*math.Log10(got/want)) > 0.01 {
			t.Errorf("d %g, e %g: forward light loses %.4g to the crossed paths, want %.4g", d, e, got, want)
		}
	}
}

// At real apexes the internal tilt turns the o azimuth by about (1/2) sin^2(tilt) sin(phi) cos(phi), so an
// exact 45 deg rotator leaves a leak: near 94 dB with axes 22.5 and 67.5 deg, 44 to 49 dB with 0 and 45 or -22.5
// and +22.5 (13 deg YVO4; worked out from the vector geometry). The law is checked too, to its own order.
func TestAzimuthLaw(t *testing.T) {
	for _, c := range []struct{ axis, low, high float64 }{{22.5, 92, 96}, {0, 44, 49}, {-22.5, 43.5, 49}} {
		p := plain
		p.apex, p.axis1, p.axis2 = 13, c.axis, c.axis+45
		if got := point(t, p.stack(t), Backward).Isolation(); got < c.low || got > c.high {
			t.Errorf("axes %g and %g deg: %.2f dB, want %g to %g", c.axis, c.axis+45, got, c.low, c.high)
		}
	}
	for _, apex := range []float64{2, 4, 6} {
		p := plain
		p.apex, p.axis1, p.axis2 = apex, 0, 45
		n := 1.9447
		tilt := apex*deg - math.Asin(math.Sin(apex*deg)/n) // of the o ray inside, against z
		phi := 45 * deg
		law := 0.5 * math.Pow(math.Sin(tilt), 2) * math.Sin(phi) * math.Cos(phi)
		got := math.Pow(10, -paths(t, p.stack(t), Backward)["oo"].Sent/20) * math.Sqrt2
		if math.Abs(got/law-1) > 0.05 {
			t.Errorf("apex %g deg: azimuth turned by %.4g rad, law %.4g", apex, got, law)
		}
	}
}

// A rotator of exactly 45 deg swaps o and e backward: at an apex of 0.1 deg the straight paths are below
// -90 dB. Forward the o ray stays o and recombines; backward o becomes e and diverges. Both signs of
// birefringence behave so (common practice, no source).
func TestNonreciprocalSwap(t *testing.T) {
	for _, crystal := range material.Names() {
		p := plain
		p.crystal, p.apex = crystal, 0.1
		s := p.stack(t)
		f, b := paths(t, s, Forward), paths(t, s, Backward)
		for _, straight := range []string{"oo", "ee"} {
			if b[straight].Sent < 90 {
				t.Errorf("%s: backward %s at %.1f dB, want below -90", crystal, straight, -b[straight].Sent)
			}
			if f[straight].Sent > 3.02 { // each carries half the power, 3.01 dB
				t.Errorf("%s: forward %s at %.4f dB", crystal, straight, -f[straight].Sent)
			}
		}
		p.apex = 5
		s = p.stack(t)
		f, b = paths(t, s, Forward), paths(t, s, Backward)
		c, err := material.Named(crystal)
		if err != nil {
			t.Fatal(err)
		}
		n, err := c.At(at, room)
		if err != nil {
			t.Fatal(err)
		}
		// First order in the apex: rejected rays at +-(ne - no) apex; 3 % is what second order leaves.
		for label, sign := range map[string]float64{"eo": -1, "oe": 1} {
			want := sign * (n.E - n.O) * 5 * deg
			if got := b[label].Tilt.X; math.Abs(got/want-1) > 0.03 {
				t.Errorf("%s: backward %s leaves at %.5f rad, want about %.5f", crystal, label, got, want)
			}
			// Rejected by its angle: exp(-(angle/divergence)^2) of it is collected.
			divergence := at / (math.Pi * p.waist)
			rejected := 10 * math.Log10(math.E) * math.Pow(b[label].Tilt.X/divergence, 2)
			if got := b[label].Power - b[label].Sent; got < rejected-0.5 {
				t.Errorf("%s: backward %s is rejected by %.1f dB, want at least %.1f", crystal, label, got, rejected)
			}
		}
		for _, straight := range []string{"oo", "ee"} {
			if tilt := math.Hypot(f[straight].Tilt.X, f[straight].Tilt.Y); tilt > 1e-4 {
				t.Errorf("%s: forward %s leaves %.3g rad off the receiver's axis", crystal, straight, tilt)
			}
		}
	}
}

// Two passes in opposite directions turn twice as far, not back (common practice, no source).
func TestTwoPassesTurnTwice(t *testing.T) {
	p := plain
	p.apex, p.axis1, p.axis2, p.rotation = 0, 0, 0, 30
	s := p.stack(t)
	turn := func(d Direction) float64 { // of light launched along x, which is o or e throughout when it is not turned
		b := paths(t, s, d)
		same, other := quantity.Ratio(-b["ee"].Sent), quantity.Ratio(-b["eo"].Sent)
		return math.Atan(math.Sqrt(other/same)) / deg
	}
	if got := turn(Forward) + turn(Backward); math.Abs(got-60) > 1e-9 {
		t.Errorf("forward and back turn %.9f deg together, want 60", got)
	}
	// The sign: in the device frame both directions turn +x towards +y, so the product of the two matrices of
	// a bare rotator is R(2 theta).
	f, b := point(t, s, Forward).M, point(t, s, Backward).M
	if math.Signbit(real(f[1][0]*cmplx.Conj(f[0][0]))) != math.Signbit(real(b[1][0]*cmplx.Conj(b[0][0]))) {
		t.Error("forward and backward light are turned in opposite senses in the device frame")
	}
}

// Without rotation the stack is reciprocal: the backward matrix is the transpose of the forward one, with the
// receiver posed off its best. Between parallel planes to 1e-9 of the greatest singular value; between
// wedges within what the plane-to-plane Gaussian overlap leaves, 5e-4 to 6 deg and 5e-3 at 13 deg.
func TestReciprocity(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ apex, bound float64 }{{0, 1e-9}, {0.1, 1e-6}, {3, 5e-4}, {6, 5e-4}, {13, 5e-3}} {
		worst := 0.0
		for range 500 {
			p := design{
				crystal: []string{"YVO4", "calcite", "LiNbO3", "rutile"}[rng.IntN(4)],
				apex:    c.apex, axis1: 180 * rng.Float64(), axis2: 180 * rng.Float64(),
				reflectance: 0.001, extinction: math.Inf(1),
				waist: 100e-6 + 300e-6*rng.Float64(), thickness: 0.2e-3 + 1e-3*rng.Float64(),
			}
			s := p.stack(t)
			pose := s.Pose()
			pose.Offset = pose.Offset.Add(vec(40e-6*(rng.Float64()-0.5), 40e-6*(rng.Float64()-0.5)))
			pose.Tilt = pose.Tilt.Add(vec(2e-3*(rng.Float64()-0.5), 2e-3*(rng.Float64()-0.5)))
			s = s.Posed(pose)
			f, b := point(t, s, Forward), point(t, s, Backward)
			worst = max(worst, untransposed(f.M, b.M)/math.Sqrt(f.T1))
		}
		t.Logf("apex %g deg: transposes to %.2g", c.apex, worst)
		if worst > c.bound {
			t.Errorf("apex %g deg: backward differs from the transpose of forward by %.3g, want at most %g", c.apex,
				worst,
				c.bound)
		}
	}
}

// Two YVO4 wedges delay the e light against the o light by (group birefringence) L / c, L the z-extent of
// the mean ray inside the wedges, within 0.3 %.
func TestDelayOfTwoWedges(t *testing.T) {
	for _, apex := range []float64{2, 5, 8} {
		p := plain
		p.apex = apex
		s := p.stack(t)
		c, err := material.Named("YVO4")
		if err != nil {
			t.Fatal(err)
		}
		n, err := c.At(at, room)
		if err != nil {
			t.Fatal(err)
		}
		// The ray on axis enters wedge 1 at its stated thickness and leaves wedge 2 displaced by the mean
		// offset of the two rays there, where the slanted face stands nearer or farther.
		length := 2 * p.thickness
		fs := paths(t, s, Forward)
		exit := s.Pose().Offset.X + (fs["oo"].Offset.X+fs["ee"].Offset.X)/2
		length -= exit * math.Tan(apex*deg)
		want := (n.GroupE - n.GroupO) * length / quantity.LightSpeed
		if got := point(t, s, Forward).DGD(); math.Abs(got/want-1) > 0.003 {
			t.Errorf("apex %g deg: DGD %.5f ps, want %.5f", apex, got*1e12, want*1e12)
		}
	}
}

// The delay found from the paths against the eigenvalues of M(w+dw) M(w-dw)^-1, the way an instrument finds it
// (Heffner 1992), for a stack without ghosts.
func TestDGDAgainstJonesEigenanalysis(t *testing.T) {
	s := plain.stack(t)
	omega := 2 * math.Pi * quantity.LightSpeed / at
	const step = 1e-5
	m := func(w float64) [2][2]complex128 {
		p, err := s.At(Forward, quantity.Length(2*math.Pi*quantity.LightSpeed/w), room)
		if err != nil {
			t.Fatal(err)
		}
		return p.M
	}
	a, b := m(omega*(1+step/2)), m(omega*(1-step/2))
	det := b[0][0]*b[1][1] - b[0][1]*b[1][0]
	inv := [2][2]complex128{{b[1][1] / det, -b[0][1] / det}, {-b[1][0] / det, b[0][0] / det}}
	var q [2][2]complex128
	for i := range 2 {
		for j := range 2 {
			q[i][j] = a[i][0]*inv[0][j] + a[i][1]*inv[1][j]
		}
	}
	mean, root := (q[0][0]+q[1][1])/2, cmplx.Sqrt((q[0][0]-q[1][1])*(q[0][0]-q[1][1])/4+q[0][1]*q[1][0])
	want := math.Abs(cmplx.Phase((mean+root)/(mean-root))) / (omega * step)
	if got := point(t, s, Forward).DGD(); math.Abs(got/want-1) > 1e-4 {
		t.Errorf("DGD %.6f ps, from the matrices %.6f ps", got*1e12, want*1e12)
	}
}

// A finite extinction ratio leaks about 1/ER beside the angle's leak: sin^2(d) + ER (common practice).
func TestExtinctionLimitsIsolation(t *testing.T) {
	p := plain
	p.extinction = 1000
	q := 1.0 / 1001
	if got, want := quantity.Ratio(-point(t, p.stack(t), Backward).Isolation()), q; math.Abs(got/want-1) > 0.02 {
		t.Errorf("leak %.4g of a perfect angle, want %.4g", got, want)
	}
	p.rotation = 44
	s2 := math.Pow(math.Sin(deg), 2)
	want := (1-q)*s2 + q*(1-s2)
	if got := quantity.Ratio(-point(t, p.stack(t), Backward).Isolation()); math.Abs(got/want-1) > 0.02 {
		t.Errorf("leak %.4g at 1 deg of error, want %.4g", got, want)
	}
}

// The double bounce in the rotator makes three passes: backward it lands in the passed polarization with
// amplitude R and beats with the leak. R = 0.1 % on a 45 dB leak swings it by 20 log10(1 +- 10^-3/10^-2.25);
// added in power it does not. Forward the three passes leave it crossed, to be rejected: no ripple.
func TestRotatorGhostBeats(t *testing.T) {
	p := plain
	p.film, p.rotation = 0.001, 45-math.Asin(math.Pow(10, -45.0/20))/deg
	// Small apex, wide beam: the o and e rays cross the film nearly along the axis, and beat in step. At
	// 5 deg their tilts put the two beats 2.4 rad apart, and the greater leak never falls to its least.
	p.apex, p.waist = 1, 800e-6
	s := p.stack(t)
	least, most := math.Inf(1), 0.0
	thinnest, thickest := math.Inf(1), 0.0 // loss forward
	film := 45.0 / 1150 * 1e-2
	range1 := at * at / (2 * 2.33 * film) // free spectral range
	for i := range 41 {
		q, err := s.At(Backward, quantity.Length(at+range1*float64(i)/40), room)
		if err != nil {
			t.Fatal(err)
		}
		least, most = min(least, q.Isolation()), max(most, q.Isolation())
		f, err := s.At(Forward, quantity.Length(at+range1*float64(i)/40), room)
		if err != nil {
			t.Fatal(err)
		}
		thinnest, thickest = min(thinnest, f.InsertionLoss()), max(thickest, f.InsertionLoss())
	}
	// Three passes turn by 135 deg less three times the film's error: against wedge 2 at 45 deg the sine of that is
	// left uncrossed, and the power swings by 4 R times it.
	uncrossed := math.Sin(3 * (45 - p.rotation) * deg)
	if swing := thickest - thinnest; math.Abs(swing/(10/math.Ln10*4e-3*uncrossed)-1) > 0.05 {
		t.Errorf("the loss forward ripples by %.3g dB, want %.3g", swing, 10/math.Ln10*4e-3*uncrossed)
	}
	base := point(t, s.WithGhosts(GhostsNone), Backward).Isolation()
	x := 1e-3 / math.Pow(10, -base/20)
	for _, c := range []struct{ got, want float64 }{{least, base - 20*math.Log10(1+x)}, {most,
		base - 20*math.Log10(1-x)}} {
		if math.Abs(c.got-c.want) > 0.1 {
			t.Errorf("isolation swings to %.2f dB, want %.2f", c.got, c.want)
		}
	}
	mean := point(t, s.WithGhosts(GhostsIncoherent), Backward).Isolation()
	if want := base - 10*math.Log10(1+x*x); math.Abs(mean-want) > 0.02 {
		t.Errorf("without interference %.3f dB, want %.3f", mean, want)
	}
}
