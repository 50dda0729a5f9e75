package tolerance

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// core returns the scenario's single stage: two YVO4 wedges of 5 deg around a garnet film of 42 dB.
func core(t testing.TB) *stack.Stack {
	t.Helper()
	crystal, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	film, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	film.Extinction = quantity.Ratio(42)
	ar := element.Coating{Reflectance: 0.0002}
	wedge := func(side element.Side, axis float64) element.Wedge {
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: 5 * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre,
			Axis:      quantity.Angle(axis) * quantity.Degree, Coating: ar}
	}
	gap := element.Gap{Length: 0.1 * quantity.Millimetre}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{wedge(element.Front, 22.5), gap,
			element.Rotator{Garnet: film, Angle: 45 * quantity.Degree, At: at, Temperature: room, Coating: ar},
			gap, wedge(element.Back, 67.5)},
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 6 * quantity.Millimetre,
			Loss: 0.22},
		AlignAt: at, AlignTemperature: room,
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const (
	at = 1550 * quantity.Nanometre
)

var room = quantity.Celsius(23)

func point(q string) Figure {
	return Figure{q, []quantity.Length{at}, []quantity.Temperature{room}}
}

func deg(v float64) quantity.Quantity { return quantity.Of(v, "deg") }

func mustRun(t *testing.T, s Study) *Outcome {
	t.Helper()
	o, err := s.Run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// leak is what comes back of a single stage whose angles are off by d + e, as a share of the light: the square of the
// sine, less what is lost on the way, above what is left at the null (design of the part; Jones calculus).
type leak struct{ pass, null float64 }

func leakOf(t *testing.T, s *stack.Stack) leak {
	t.Helper()
	forward, err := s.At(stack.Forward, at, room)
	if err != nil {
		t.Fatal(err)
	}
	back, err := s.WithGhosts(stack.GhostsIncoherent).At(stack.Backward, at, room)
	if err != nil {
		t.Fatal(err)
	}
	return leak{forward.T1, back.T1}
}

func (l leak) isolation(angle float64) float64 {
	s := math.Sin(angle * math.Pi / 180)
	return -quantity.Decibels(l.pass*s*s + l.null)
}

// angle is where the isolation is so much.
func (l leak) angle(isolation float64) float64 {
	return math.Asin(math.Sqrt((quantity.Ratio(-isolation)-l.null)/l.pass)) * 180 / math.Pi
}

// TestYield holds the share of units above an isolation, and the percentiles of it, against the normal distribution
// of the sum of two angles.
func TestYield(t *testing.T) {
	s := core(t)
	o := mustRun(t, Study{Stack: s, Trials: 20000, Seed: 1, Figures: []Figure{point(Isolation)},
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Normal, Value: deg(0.4)},
			"wedge2.axis": {Shape: Normal, Value: deg(0.3)}}})
	if !o.Exact || o.Left > 0 || o.Off[0] > 1e-3 {
		t.Errorf("exact: %v, %d units left to the stack, isolation off by %g dB", o.Exact, o.Left, o.Off[0])
	}
	l, sum := leakOf(t, s), distuv.Normal{Sigma: 0.5}
	for _, isolation := range []float64{30, 35, 38} {
		good := 0
		for _, v := range o.Values[0] {
			if v >= isolation {
				good++
			}
		}
		want := 1 - 2*sum.CDF(-l.angle(isolation))
		// Three standard deviations.
		if got := float64(good) / 20000; math.Abs(got-want) > 3*math.Sqrt(want*(1-want)/20000) {
			t.Errorf("%g dB: %.4f of the units, want %.4f", isolation, got, want)
		}
	}
	sorted := slices.Sorted(slices.Values(o.Values[0]))
	for _, p := range []float64{0.01, 0.05, 0.5} {
		got, want := sorted[int(p*20000)], l.isolation(sum.Quantile(1-p/2))
		if math.Abs(got-want) > 0.15 {
			t.Errorf("the %g quantile is %.2f dB, want %.2f", p, got, want)
		}
	}
}

// bare returns the core with a wedge that nobody has coated, which no program covers.
func bare(t testing.TB) *stack.Stack {
	t.Helper()
	spec := core(t).Spec()
	w := spec.Elements[0].(element.Wedge)
	w.Coating = element.Coating{Bare: true}
	spec.Elements[0] = w
	s, err := stack.New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestUnitsOneByOne holds the figures of a study against the same units evaluated one by one by the stack: those of a
// program, and those read off a surface.
func TestUnitsOneByOne(t *testing.T) {
	for _, c := range []struct {
		name  string
		stack *stack.Stack
		held  bool
	}{{"program", core(t), false}, {"program, held", core(t), true}, {"surface", bare(t), false}} {
		t.Run(c.name, func(t *testing.T) {
			study := Study{Stack: c.stack, Trials: 60, Seed: 3, Held: c.held,
				Figures: []Figure{
					{Isolation, []quantity.Length{1535 * quantity.Nanometre, at, 1565 * quantity.Nanometre},
						[]quantity.Temperature{quantity.Celsius(-5), room, quantity.Celsius(70)}},
					point(InsertionLoss), point(PDL), point(DGD)},
				Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Uniform, Value: deg(0.3)},
					"wedge2.axis":         {Shape: Normal, Value: deg(0.2)},
					"wedge1.apex":         {Shape: Uniform, Value: deg(0.05)},
					"rotator1.extinction": {Shape: Normal, Value: quantity.Of(1.5, "dB")}}}
			o := mustRun(t, study)
			if program := c.name != "surface"; o.Exact != program || o.Surface == program || o.Left != 0 {
				t.Fatalf("exact: %v, surface: %v, %d units left", o.Exact, o.Surface, o.Left)
			}
			w, err := study.begin(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			for n := range o.Values[0] {
				w.sample.Draws = append(w.sample.Draws, w.place(n))
			}
			picked := w.proofs()
			if o.Exact {
				picked = nil
				for n := range proofs {
					picked = append(picked, (2*n+1)*study.Trials/(2*proofs))
				}
			}
			for k, f := range study.Figures {
				worst, proven, spread := 0.0, 0.0, slices.Max(o.Values[k])-slices.Min(o.Values[k])
				for n, x := range w.sample.Draws {
					values, err := w.evaluate(x)
					if err != nil {
						t.Fatal(err)
					}
					off := math.Abs(w.figures(values)[k] - o.Values[k][n])
					worst = max(worst, off)
					if slices.Contains(picked, n) {
						proven = max(proven, off)
					}
				}
				if o.Off[k] != proven || o.Proofs != proofs {
					t.Errorf("%s is off by %g at its proofs, and said to be by %g", f.Quantity, proven, o.Off[k])
				}
				may := ProofShare*spread + f.Resolution()
				if o.Exact {
					may = map[string]float64{Isolation: 3e-3, InsertionLoss: 4e-5, PDL: 4e-5, DGD: 1e-17}[f.Quantity]
				}
				if worst > may {
					t.Errorf("%s is off by %g of a spread of %g, may be by %g", f.Quantity, worst, spread, may)
				}
			}
		})
	}
}

// TestShares: where the leak is far from its null the isolation is nearly linear in the angles, and their shares go
// as the squares of their standard deviations; near the null (d + e)^2 leaves half of its variance to both together,
// of two alike.
func TestShares(t *testing.T) {
	far := Figure{Isolation, []quantity.Length{1580 * quantity.Nanometre}, []quantity.Temperature{room}}
	o := mustRun(t, Study{Stack: core(t), Trials: 20000, Seed: 1, Figures: []Figure{far, point(InsertionLoss)},
		Tolerances: map[string]Tolerance{"wedge1.axis": {Shape: Normal, Value: deg(0.1)},
			"wedge2.axis": {Shape: Normal, Value: deg(0.05)},
			"beam.loss":   {Shape: Normal, Value: quantity.Of(0.05, "dB")}}})
	got := o.Shares(0)
	for j, want := range map[string]float64{"wedge1.axis": 0.8, "wedge2.axis": 0.2, "beam.loss": 0} {
		if k := slices.Index(o.Paths, j); math.Abs(got[k]-want) > 0.03 {
			t.Errorf("isolation: %s has %.3f, want %.1f", j, got[k], want)
		}
	}
	if k := slices.Index(o.Paths, "beam.loss"); o.Shares(1)[k] < 0.99 {
		t.Errorf("insertion loss: beam.loss has %.3f, want nearly all", o.Shares(1)[k])
	}
	draws := Hypercube(50000, 1, distuv.UnitNormal.Quantile, distuv.UnitNormal.Quantile)
	square := drawnAs(draws, "d", "e")
	for n, x := range draws {
		square.Values[0][n] = (x[0] + x[1]) * (x[0] + x[1])
	}
	for j, got := range square.Shares(0) { // Var x^2 = 2, Var 2xy = 4
		if math.Abs(got-0.25) > 0.02 {
			t.Errorf("of a square %s has %.3f, want 0.25", square.Paths[j], got)
		}
	}
}

// drawnAs is the outcome of units drawn at some points, with room for one figure.
func drawnAs(draws [][]float64, paths ...string) *Outcome {
	return &Outcome{Paths: paths, Values: [][]float64{make([]float64, len(draws))},
		draw: func(unit, j int) float64 { return draws[unit][j] }}
}

// TestSharesOfFew: a parameter that does all by itself has all of the variance of few units too, and one that does
// nothing, and one that is mostly at its bound, what chance leaves; of too few there are none.
func TestSharesOfFew(t *testing.T) {
	bounded := func(p float64) float64 { return max(p, 0.6) }
	for _, n := range []int{fewest, 100, 1000} {
		draws := Hypercube(n, 3, distuv.UnitNormal.Quantile, distuv.UnitNormal.Quantile, bounded)
		o := drawnAs(draws, "all", "none", "bound")
		for k, x := range draws {
			o.Values[0][k] = math.Exp(x[0])
		}
		chance := 1.5 * o.Chance() // three standard deviations
		if got := o.Shares(0); got[0] < 0.9 || got[1] > chance || got[2] > chance {
			t.Errorf("of %d units: %.3f, want 1 and two within %.3f of 0", n, got, chance)
		}
	}
	// How often chance shows more than it is said to: one in forty, of a chi-squared a little more.
	more := 0
	for seed := range uint64(1600) {
		draws := Hypercube(500, seed, distuv.UnitNormal.Quantile, distuv.UnitNormal.Quantile)
		o := drawnAs(draws, "all", "none")
		for k, x := range draws {
			o.Values[0][k] = x[0]
		}
		if o.Shares(0)[1] > o.Chance() {
			more++
		}
	}
	if more < 24 || more > 90 {
		t.Errorf("in %d of 1600 cases chance shows more than it is said to", more)
	}
	few := &Outcome{Paths: []string{"all"}, Values: [][]float64{make([]float64, fewest-1)}}
	if got := few.Shares(0); got != nil {
		t.Errorf("of %d units: %v, want none", fewest-1, got)
	}
}

// TestCorners: the worst corner of two angles is their sum.
func TestCorners(t *testing.T) {
	s := core(t)
	c, err := Study{Stack: s, Figures: []Figure{point(Isolation), point(InsertionLoss)},
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Uniform, Value: deg(0.3)},
			"wedge2.axis": {Shape: Normal, Value: deg(0.1)},
			"beam.loss":   {Shape: Uniform, Value: quantity.Of(0.1, "dB")}}}.Corners(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	// the loss takes 0.1 dB off the leak as well
	if want := leakOf(t, s).isolation(0.6); c.Count != 8 || math.Abs(c.Worst[0].Value-want) > 0.15 {
		t.Errorf("of %d corners the worst isolation is %.2f dB, want %.2f of 8", c.Count, c.Worst[0].Value, want)
	}
	if got, want := c.Worst[1].Value-c.Nominal[1], 0.1; math.Abs(got-want) > 0.002 {
		t.Errorf("the worst corner loses %.4f dB more, want %.1f", got, want)
	}
}

// TestBounded: of a gap of 0.1 mm with a half-width of 0.2 mm a quarter of the units would be less than nothing.
func TestBounded(t *testing.T) {
	o := mustRun(t, Study{Stack: core(t), Trials: 200, Seed: 1, Figures: []Figure{point(DGD)},
		Tolerances: map[string]Tolerance{"gap1.length": {Shape: Uniform, Value: quantity.Of(0.2, "mm")},
			"wedge1.axis": {Shape: Uniform, Value: deg(30)}}})
	for j, want := range map[string]float64{"gap1.length": 0.25, "wedge1.axis": 0} {
		if got := o.Bounded[slices.Index(o.Paths, j)]; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %g of the units at the bound, want %g", j, got, want)
		}
	}
}

// TestTurned: a wedge turned for each unit takes an angle error out of the isolation again, whatever it was.
func TestTurned(t *testing.T) {
	s := core(t)
	o := mustRun(t, Study{Stack: s, Trials: 30, Seed: 1, Figures: []Figure{point(Isolation), point(InsertionLoss)},
		Turn:       &Turning{"wedge2", stack.PeakIsolation, at, room},
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Uniform, Value: deg(1)}}})
	if d := slices.Max(o.Values[0]) - slices.Min(o.Values[0]); d > 0.02 {
		t.Errorf("the isolation spreads over %.3f dB, want none", d)
	}
	// Forward the errors add where backward they cancel: cos^2 of 2 deg (Malus) is 0.005 dB; the slopes of the wedges,
	// which no longer face each other, part the two polarizations by some more.
	if d := slices.Max(o.Values[1]) - o.Nominal[1]; !(d > 0.005 && d < 0.05) {
		t.Errorf("turning costs %.4f dB, want a little", d)
	}
}

// TestTurnedTooFar: a film 15 deg off asks a wedge to turn by more than the 10 deg that it is turned by.
func TestTurnedTooFar(t *testing.T) {
	for _, width := range []float64{5, 20} {
		o := mustRun(t, Study{Stack: core(t), Trials: 4, Seed: 1, Figures: []Figure{point(Isolation)},
			Turn:       &Turning{"wedge2", stack.PeakIsolation, at, room},
			Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Uniform, Value: deg(width)}}})
		if o.Rising != (width > 10) {
			t.Errorf("of films within %g deg: beyond the turn %v", width, o.Rising)
		}
	}
}

// TestHeld: a receiver that is not aligned for each unit sees the beam move with the apex of a wedge.
func TestHeld(t *testing.T) {
	study := Study{Stack: core(t), Trials: 300, Seed: 1, Figures: []Figure{point(InsertionLoss)},
		Tolerances: map[string]Tolerance{"wedge1.apex": {Shape: Uniform, Value: deg(0.05)}}}
	aligned := mustRun(t, study)
	study.Held = true
	held := mustRun(t, study)
	if a, h := slices.Max(aligned.Values[0])-aligned.Nominal[0],
		slices.Max(held.Values[0])-held.Nominal[0]; !(h > 0.05 &&
		a < h/10) {
		t.Errorf("a unit loses up to %.4f dB aligned and %.4f dB held", a, h)
	}
}

func TestRefusals(t *testing.T) {
	good := Study{Stack: core(t), Trials: 100, Figures: []Figure{point(Isolation)},
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Uniform, Value: deg(0.3)}}}
	for want, change := range map[string]func(*Study){
		"at least one figure":            func(s *Study) { s.Figures = nil },
		`figure "gain": expected one of`: func(s *Study) { s.Figures = []Figure{point("gain")} },
		"at least one tolerance":         func(s *Study) { s.Tolerances = nil },
		"wedge9": func(s *Study) {
			s.Tolerances = map[string]Tolerance{"wedge9.axis": {Shape: Uniform, Value: deg(0.3)}}
		},
		"in the dimension of": func(s *Study) {
			s.Tolerances = map[string]Tolerance{"rotator1.angle": {Shape: Uniform,
				Value: quantity.Of(1, "nm")}}
		},
		"expected at least 1 trial":        func(s *Study) { s.Trials = 0 },
		"cannot be held as well":           func(s *Study) { s.Held, s.Turn = true, &Turning{} },
		"no part":                          func(s *Study) { s.Turn = &Turning{"lens", stack.PeakIsolation, at, room} },
		"one wavelength and one temperatu": func(s *Study) { s.Figures[0].Wavelengths = nil },
	} {
		s := good
		s.Figures = slices.Clone(good.Figures)
		change(&s)
		if _, err := s.Run(context.Background()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	many := good
	many.Tolerances = map[string]Tolerance{}
	for _, p := range good.Stack.Parameters() {
		if p.Value.SI() > 0 {
			many.Tolerances[p.Path] = Tolerance{Shape: Uniform, Value: quantity.FromSI(p.Value.SI()/1e4, p.Value.Unit)}
		}
	}
	if _, err := many.Corners(context.Background()); err == nil || !strings.Contains(err.Error(), "too many corners") {
		t.Errorf("got %v, want too many corners", err)
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := good.Run(ended); err != context.Canceled {
		t.Errorf("got %v, want the context's error", err)
	}
}

// TestHypercube: a coordinate takes every stratum once.
func TestHypercube(t *testing.T) {
	const n = 100
	points := Hypercube(n, 7, func(p float64) float64 { return p }, func(p float64) float64 { return p })
	for j := range 2 {
		var seen [n]bool
		for _, x := range points {
			seen[int(x[j]*n)] = true
		}
		if slices.Contains(seen[:], false) {
			t.Errorf("coordinate %d misses a stratum", j)
		}
	}
	// In random order: a correlation of 100 pairs has the standard deviation 0.1.
	sum := 0.0
	for _, x := range points {
		sum += (x[0] - 0.5) * (x[1] - 0.5)
	}
	if r := sum / n * 12; math.Abs(r) > 0.4 {
		t.Errorf("the coordinates correlate by %.2f", r)
	}
}

func TestFarthest(t *testing.T) {
	// from (1, 5), in scales of 1 and 2, the third without one
	points := [][]float64{{1, 5, 0}, {4, 5, 0}, {1, 9, 70}, {-1, 5, 0}}
	if got, want := Farthest(points, []float64{1, 5, 0}, []float64{1, 2, 0}), []int{1, 2, 3, 0}; !slices.Equal(got,
		want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestQuadratic: a polynomial of second order is returned exactly.
func TestQuadratic(t *testing.T) {
	f := func(x []float64) ([]float64, error) {
		a, b, c := x[0], x[1], x[2]
		return []float64{1 + 2*a - b + 3*c + a*a - 4*b*b + a*b + 5*b*c, 7 - c*c}, nil
	}
	centre, _ := f(make([]float64, 3))
	q, err := Lay(centre, [][2]float64{{0.5, -0.3}, {1, 2}, {-1, 1}}, f)
	if err != nil {
		t.Fatal(err)
	}
	points := [][]float64{{1, 2, 3}, {-0.2, 0.1, 5}, {0, 0, 0}}
	off := q.Differences(points)
	for n, x := range points {
		want, _ := f(x)
		for i := range want {
			if got := centre[i] + off.At(n, i); math.Abs(got-want[i]) > 1e-12*math.Max(1, math.Abs(want[i])) {
				t.Errorf("%v: got %g, want %g", x, got, want[i])
			}
		}
	}
}

// Trials of a stack without double reflections leave them out, as Worst and Region.Worst do.
func TestStudyLeavesGhostsToStack(t *testing.T) {
	s := core(t).WithGhosts(stack.GhostsNone)
	study := Study{Stack: s, Figures: []Figure{point(Isolation)}, Trials: 20, Seed: 1,
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Normal, Value: deg(0.01)}}}
	p, err := s.At(stack.Backward, at, room)
	if err != nil {
		t.Fatal(err)
	}
	worst, err := Worst(t.Context(), s, study.Figures)
	if err != nil {
		t.Fatal(err)
	}
	o := mustRun(t, study)
	ghosts := mustRun(t, Study{Stack: core(t), Figures: study.Figures, Trials: 1, Tolerances: study.Tolerances})
	if o.Nominal[0] != p.Isolation() || worst[0] != p.Isolation() || !(math.Abs(ghosts.Nominal[0]-o.Nominal[0]) > 1e-5) {
		t.Errorf("isolation %.6f dB in trials and %.6f dB of the stack, want %.6f dB, and not the %.6f dB with double "+
			"reflections", o.Nominal[0], worst[0], p.Isolation(), ghosts.Nominal[0])
	}
}
