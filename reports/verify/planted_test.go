package verify_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/verifytest"
)

// planted is one simulated unit: what was planted in it and in its measurement. Readings come from the readable path
// sum of the stack as built, its double reflections interfering, with a noise model of their own; the verification
// knows the stack as drawn, and by its plan, with double reflections added in power and their ripple in the budget.
type planted struct {
	d, e       float64 // error of the rotation and of the angle between the axes, deg
	extinction float64 // dB
	floor      float64 // dB
	noise      float64 // dB
	gross      string  // a word of the gross error; "" for none
	degree     float64 // saturation
	faces      float64 // reflectance of every face as drawn
	film       float64 // that of the film's as built, over it
	first      float64 // that of the first wedge's
	seed       uint64
}

// What all readings, and all of a run, share: common practice, no source.
const (
	plantedAll    = 0.05 // dB
	plantedNM     = 0.02
	plantedKelvin = 0.5
)

var grossWords = []string{"backwards", "columns", "magnet", "flipped", "turned by 180", "axis", "saturated"}

// plant draws unit number k.
func plant(k int) planted {
	rng := rand.New(rand.NewPCG(20261125, uint64(k)))
	p := planted{
		d: 1.6 * (rng.Float64() - 0.5), e: 0.6 * (rng.Float64() - 0.5),
		extinction: 28 + 16*rng.Float64(), floor: 55 + 10*rng.Float64(), noise: 0.03 + 0.07*rng.Float64(),
		degree: 0.7 + 0.25*rng.Float64(), faces: 0.0002, film: 1, first: 1, seed: rng.Uint64(),
	}
	if k%5 == 0 {
		p.gross = grossWords[k/5%len(grossWords)]
	}
	return p
}

// built returns the stack as it was made.
func (p planted) built(t testing.TB) *stack.Stack {
	t.Helper()
	drawn := verifytest.SingleStage(t, p.extinction, p.faces)
	spec := drawn.Spec()
	first := spec.Elements[0].(element.Wedge)
	film := spec.Elements[2].(element.Rotator)
	second := spec.Elements[4].(element.Wedge)
	first.Coating.Reflectance *= p.first
	film.Coating.Reflectance *= p.film
	film.Angle += quantity.Angle(p.d) * quantity.Degree
	second.Axis += quantity.Angle(p.e) * quantity.Degree
	spec.Elements[0], spec.Elements[2], spec.Elements[4] = first, film, second
	rng := rand.New(rand.NewPCG(p.seed, 8))
	for _, k := range []int{1, 3} { // no two gaps are alike within a wavelength, and the ripple of no two units
		gap := spec.Elements[k].(element.Gap)
		gap.Length += quantity.Length(rng.Float64()-0.5) * 10 * quantity.Micrometre
		spec.Elements[k] = gap
	}
	aligned := assembled(t, spec)
	switch p.gross {
	case "magnet": // turned round after alignment
		film.Angle = -film.Angle
		spec.Elements[2] = film
		return assembled(t, spec).Posed(aligned.Pose())
	case "axis":
		second.Axis += 90 * quantity.Degree
		spec.Elements[4] = second
		return assembled(t, spec).Posed(aligned.Pose())
	case "flipped": // about the x axis: the slanted face looks inward, what lay at +phi lies at -phi
		second.Slanted, second.Axis, second.Azimuth = element.Front, -second.Axis, 180*quantity.Degree
		spec.Elements[4] = second
		return assembled(t, spec)
	case "turned by 180":
		second.Roll = 180 * quantity.Degree
		spec.Elements[4] = second
		return assembled(t, spec)
	case "saturated":
		// The mean of domains that turn by +theta and by -theta, (1 +- m)/2 of the area each.
		theta := float64(film.Angle)
		par, perp := math.Cos(theta), p.degree*math.Sin(theta)
		film.Angle = quantity.Angle(math.Atan(perp / par))
		spec.Elements[2] = film
		spec.Beam.Loss += -10 * math.Log10(par*par+perp*perp)
		return assembled(t, spec)
	}
	return aligned
}

func assembled(t testing.TB, spec stack.Spec) *stack.Stack {
	t.Helper()
	s, err := stack.New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// readings simulates the sweeps, 1500 to 1580 nm at three temperatures, of a scrambled source.
func (p planted) readings(t testing.TB, step float64) verify.Readings {
	t.Helper()
	s := p.built(t)
	rng := rand.New(rand.NewPCG(p.seed, 7))
	r := verify.Readings{File: "planted.csv", Unit: "planted", Polarization: verify.Scrambled}
	all := plantedAll * rng.NormFloat64()
	dark := math.Pow(10, -p.floor/10)
	mean := func(d stack.Direction, nm, celsius float64) float64 {
		point, err := s.At(d, quantity.Length(nm*1e-9), quantity.Celsius(celsius))
		if err != nil {
			t.Fatal(err)
		}
		return (point.T1 + point.T2) / 2
	}
	for _, celsius := range []float64{-5, 23, 70} {
		dl, dt := plantedNM*rng.NormFloat64(), plantedKelvin*rng.NormFloat64()
		for nm := 1500.0; nm <= 1580; nm += step {
			back, ahead := mean(stack.Backward, nm+dl, celsius+dt), mean(stack.Forward, nm+dl, celsius+dt)
			if p.gross == "backwards" || p.gross == "columns" {
				back, ahead = ahead, back
			}
			r.Rows = append(r.Rows, verify.Reading{Line: len(r.Rows) + 2,
				Wavelength: quantity.Length(nm * 1e-9), Temperature: quantity.Celsius(celsius),
				Figures: figures(-10*math.Log10(back+dark)+all+p.noise*rng.NormFloat64(),
					-10*math.Log10(ahead)+all+p.noise*rng.NormFloat64())})
		}
	}
	return r
}

// spec is what an engineer would ask about it, the angle of the film and of an axis both named.
func (p planted) spec(t testing.TB, step float64) verify.Spec {
	return p.specOf(t, p.readings(t, step))
}

func (p planted) specOf(t testing.TB, r verify.Readings) verify.Spec {
	s := verify.Spec{Model: verify.ForStack(verifytest.SingleStage(t, 42, p.faces)), Readings: r,
		Tolerances: map[string]verify.Tolerance{
			"rotator1.angle":      {Shape: verify.Uniform, Value: quantity.Of(0.3, "deg")},
			"wedge2.axis":         {Shape: verify.Uniform, Value: quantity.Of(0.2, "deg")},
			"rotator1.extinction": {Shape: verify.Uniform, Value: quantity.Of(3, "dB")},
		},
		Fit: []string{"rotator1.angle", "wedge2.axis", "rotator1.extinction"},
	}
	for _, c := range []struct {
		name string
		of   quantity.Quantity
	}{{"repeatability", quantity.Of(p.noise, "dB")}, {"power_meter", quantity.Of(plantedAll, "dB")},
		{"wavelength", quantity.Of(plantedNM, "nm")}, {"temperature", quantity.Of(plantedKelvin, "kelvin")}} {
		s.Budget.Contributions = append(s.Budget.Contributions, uncertainty.Contribution{Name: c.name, Value: c.of})
	}
	s.Budget.Floor = &uncertainty.Floor{Level: quantity.Of(p.floor, "dB"), Uncertainty: quantity.Of(0.2, "dB")}
	return s
}

// TestPlanted is the contract of a diagnosis: what is planted in simulated units is found, with honest intervals, and
// nothing is told apart that the readings cannot tell. 35 units, each gross error once; WEDGEWORK_SOAK=1 makes it
// 2,000, another number that many.
func TestPlanted(t *testing.T) {
	units, step := 35, 4.0
	if soak := os.Getenv("WEDGEWORK_SOAK"); soak != "" {
		units, step = 2000, 2
		if n, err := strconv.Atoi(soak); err == nil && n > 1 {
			units = n
		}
	}
	results := make([]*verify.Result, units)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for k := range next {
				r, err := verify.Run(context.Background(), plant(k).spec(t, step))
				if err != nil {
					t.Errorf("unit %d, %+v: %v", k, plant(k), err)
				}
				results[k] = r
			}
		})
	}
	for k := range units {
		next <- k
	}
	close(next)
	wait.Wait()
	c := tally{t: t}
	for k, r := range results {
		if r != nil {
			c.count(k, plant(k), r)
		}
	}
	c.report()
}

type tally struct {
	t                   *testing.T
	sound, covered      int // units without a gross error; those whose interval holds d + e
	leaks, leaksCovered int // extinction ratios with an interval that ends on both sides
	most, mostCovered   int // those of which an "at least" is said
	gross, named        int
	all, allNamed       int // causes planted beyond 3u, and named by the ranked explanation
	asked, askedNamed   int // those of them that correlate with no other parameter by 0.95 or more
	extra               int // causes named that were not planted
	errors, leakErrors  normal
}

// normal collects errors over their standard uncertainties.
type normal struct{ n, sum, squares float64 }

func (n *normal) add(z float64) { n.n, n.sum, n.squares = n.n+1, n.sum+z, n.squares+z*z }
func (n normal) String() string {
	return fmt.Sprintf("%.3f ± %.3f", n.sum/n.n, math.Sqrt(n.squares/n.n))
}

func (c *tally) count(k int, p planted, r *verify.Result) {
	g := r.Diagnosis
	miss := func(format string, args ...any) {
		c.t.Logf("unit %d %+v: "+format, append([]any{k, p}, args...)...)
	}
	if p.gross != "" {
		c.gross++
		if strings.Contains(strings.Join(g.Gross, "; "), p.gross) {
			c.named++
		} else {
			miss("not named: %s", g.Sentence)
		}
		return
	}
	c.sound++
	if len(g.Gross) > 0 {
		miss("accused of %q", g.Gross)
		return
	}
	freed := []string{}
	for _, f := range g.Explanations[g.Best].Parameters {
		freed = append(freed, f.Path)
	}
	for _, e := range g.Explanations {
		if has(e, "rotator1.angle") && has(e, "wedge2.axis") {
			c.t.Errorf("unit %d: separate errors of rotation and axis", k)
		}
	}
	for _, d := range g.Departures {
		free := slices.Contains(freed, d.Path)
		switch d.Path {
		case "rotator1.angle", "wedge2.axis":
			truth := d.Nominal.Value + p.d + p.e
			if d.Low <= truth && truth <= d.High {
				c.covered++
			} else {
				miss("%s %.4f, %.4f to %.4f, truth %.4f; %s", d.Path, d.Value, d.Low, d.High, truth,
					g.Explanations[g.Best].Label)
			}
			c.errors.add((d.Value - truth) / d.Sigma)
			c.cause(free, math.Abs(p.d+p.e) > 3*d.Sigma, correlation(g, d),
				func() { miss("the angle is not named: adopted %s", fmt.Sprint(freed)) })
		case "rotator1.extinction":
			u := (leak(d.Low) - leak(d.Value)) / 2
			switch {
			case d.AtLeast:
				c.most++
				if d.Low <= p.extinction {
					c.mostCovered++
				}
			default:
				c.leaks++
				if d.Low <= p.extinction && p.extinction <= d.High {
					c.leaksCovered++
				}
				c.leakErrors.add((leak(d.Value) - leak(p.extinction)) / u)
			}
			c.cause(free, math.Abs(leak(p.extinction)-leak(42)) > 3*u, correlation(g, d),
				func() { miss("the extinction is not named: adopted %s", fmt.Sprint(freed)) })
		}
	}
}

// correlation is the greatest of a departure with any other parameter that its explanation leaves free.
func correlation(g verify.Diagnosis, d verify.Departure) float64 {
	e := g.Explanations[slices.IndexFunc(g.Explanations, func(e verify.Explanation) bool { return e.Label == d.Freed })]
	j := slices.IndexFunc(e.Parameters, func(f verify.Fitted) bool { return f.Path == d.Path })
	most := 0.0
	for k, r := range e.Correlation[j] {
		if k != j {
			most = max(most, math.Abs(r))
		}
	}
	return most
}

// leak is the fraction of light in the wrong polarization at an extinction ratio in dB.
func leak(dB float64) float64 { return 1 / (1 + math.Pow(10, dB/10)) }

func has(e verify.Explanation, path string) bool {
	return slices.ContainsFunc(e.Parameters, func(f verify.Fitted) bool { return f.Path == path })
}

func (c *tally) cause(named, planted bool, correlation float64, miss func()) {
	if !planted {
		if named {
			c.extra++
		}
		return
	}
	apart := correlation < 0.95
	c.all++
	if apart {
		c.asked++
	}
	switch {
	case !named:
		miss()
	case apart:
		c.allNamed++
		c.askedNamed++
	default:
		c.allNamed++
	}
}

func (c *tally) report() {
	of := func(a, b int) string { return fmt.Sprintf("%d of %d (%.1f %%)", a, b, share(a, b)) }
	c.t.Logf("d + e in its interval: %s, normalized error %v; extinction in its: %s, normalized error of the leak "+
		"%v, and %s of those said to be at least so much; gross errors named: %d of %d; causes beyond 3u named: %s "+
		"with correlations below 0.95, %s with any; %d named that were within 3u",
		of(c.covered, c.sound), c.errors, of(c.leaksCovered, c.leaks), c.leakErrors, of(c.mostCovered, c.most),
		c.named, c.gross, of(c.askedNamed, c.asked), of(c.allNamed, c.all), c.extra)
	// Issue 5: 93 to 97 % of 2,000 units; of fewer, four standard deviations of a count more.
	held := func(what string, covered, n int, low, high float64) {
		spread := 4 * math.Sqrt(0.9545*0.0455*float64(n))
		if c.sound > 1000 {
			spread = 0
		}
		if n := float64(n); float64(covered) < low*n-spread || float64(covered) > high*n+spread {
			c.t.Errorf("%s lies in its interval in %.1f %% of the units, want %g to %g", what, share(covered, int(n)),
				100*low,
				100*high)
		}
	}
	held("d + e", c.covered, c.sound, 0.93, 0.97)
	// Where less leaks than is there by so much that the interval would reach zero, a lower bound is stated instead, and
	// counted apart: of the others fewer miss.
	held("the extinction", c.leaksCovered, c.leaks, 0.93, 0.99)
	if c.named < c.gross {
		c.t.Errorf("%d of %d gross errors are named", c.named, c.gross)
	}
	if share(c.askedNamed, c.asked) < 95 {
		c.t.Errorf("%.1f %% of the causes planted beyond 3u are named, want 95", share(c.askedNamed, c.asked))
	}
}

func share(a, b int) float64 { return 100 * float64(a) / float64(max(b, 1)) }
