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
)

// planted is one simulated unit: what was planted in it and in its measurement. Readings come from the readable path
// sum of the stack as built, with a noise model of their own; the verification knows the stack as drawn, and by
// its plan.
type planted struct {
	d, e       float64 // error of the rotation and of the angle between the axes, deg
	extinction float64 // dB
	floor      float64 // dB
	noise      float64 // dB
	gross      string  // a word of the gross error; "" for none
	degree     float64 // saturation
	seed       uint64
}

// What all readings, and all of a run, share: the sizes issue 5 asks for.
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
		degree: 0.7 + 0.25*rng.Float64(), seed: rng.Uint64(),
	}
	if k%5 == 0 {
		p.gross = grossWords[k/5%len(grossWords)]
	}
	return p
}

// built returns the stack as it was made.
func (p planted) built(t testing.TB) *stack.Stack {
	t.Helper()
	drawn := verify.SingleStage(t, p.extinction, 0.0002)
	spec := drawn.Spec()
	film := spec.Elements[2].(element.Rotator)
	second := spec.Elements[4].(element.Wedge)
	film.Angle += quantity.Angle(p.d) * quantity.Degree
	second.Axis += quantity.Angle(p.e) * quantity.Degree
	spec.Elements[2], spec.Elements[4] = film, second
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
	return s.WithGhosts(stack.GhostsIncoherent)
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
		point, err := s.PathSum(d, quantity.Length(nm*1e-9), quantity.Celsius(celsius))
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
				Isolation:     -10*math.Log10(back+dark) + all + p.noise*rng.NormFloat64(),
				InsertionLoss: -10*math.Log10(ahead) + all + p.noise*rng.NormFloat64(),
				PDL:           math.NaN(), UIsolation: math.NaN(), ULoss: math.NaN(), UPDL: math.NaN()})
		}
	}
	return r
}

// spec is what an engineer would ask about it, the angle of the film and of an axis both named.
func (p planted) spec(t testing.TB, step float64) verify.Spec {
	s := verify.Spec{Model: verify.ForStack(verify.SingleStage(t, 42, 0.0002)), Readings: p.readings(t, step),
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
// nothing is told apart that the readings cannot tell. 100 units; WEDGEWORK_SOAK=1 makes it 2,000, another number that many.
func TestPlanted(t *testing.T) {
	units, step := 100, 4.0
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
	leaks, leaksCovered int
	gross, named        int
	asked, causes       int // causes planted beyond 3u, and named by the ranked explanation
	extra               int // causes named that were not planted
	normalized, squared float64
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
		switch d.Path {
		case "rotator1.angle", "wedge2.axis":
			truth := d.Nominal.Value + p.d + p.e
			if d.Low <= truth && truth <= d.High {
				c.covered++
			} else {
				miss("%s %.4f, %.4f to %.4f, truth %.4f; %s", d.Path, d.Value, d.Low, d.High, truth, g.Explanations[g.Best].Label)
			}
			z := (d.Value - truth) / d.Sigma
			c.normalized += z
			c.squared += z * z
			c.cause(slices.Contains(freed, d.Path), math.Abs(p.d+p.e) > 3*d.Sigma, func() { miss("the angle is not named: adopted %s", fmt.Sprint(freed)) })
		case "rotator1.extinction":
			c.leaks++
			if d.Low <= p.extinction && (d.AtLeast || p.extinction <= d.High) {
				c.leaksCovered++
			}
			u := math.Inf(1)
			if !d.AtLeast {
				u = (leak(d.Low) - leak(d.High)) / 4
			}
			c.cause(slices.Contains(freed, d.Path), math.Abs(leak(p.extinction)-leak(42)) > 3*u, func() { miss("the extinction is not named: adopted %s", fmt.Sprint(freed)) })
		}
	}
}

func leak(dB float64) float64 { return math.Pow(10, -dB/10) }

func has(e verify.Explanation, path string) bool {
	return slices.ContainsFunc(e.Parameters, func(f verify.Fitted) bool { return f.Path == path })
}

func (c *tally) cause(named, planted bool, miss func()) {
	switch {
	case planted:
		c.asked++
		if named {
			c.causes++
		} else {
			miss()
		}
	case named:
		c.extra++
	}
}

func (c *tally) report() {
	share := func(a, b int) float64 { return 100 * float64(a) / float64(max(b, 1)) }
	c.t.Logf("d + e in its interval: %d of %d (%.1f %%), normalized error %.3f ± %.3f; extinction in its: %d of %d (%.1f %%); gross errors named: %d of %d; causes beyond 3u named: %d of %d (%.1f %%); %d named that were within 3u",
		c.covered, c.sound, share(c.covered, c.sound), c.normalized/float64(c.sound), math.Sqrt(c.squared/float64(c.sound)), c.leaksCovered, c.leaks, share(c.leaksCovered, c.leaks),
		c.named, c.gross, c.causes, c.asked, share(c.causes, c.asked), c.extra)
	// Issue 5: 93 to 97 % of 2,000 units; of fewer, four standard deviations of a count more.
	spread := 4 * math.Sqrt(0.9545*0.0455*float64(c.sound))
	if c.sound > 1000 {
		spread = 0
	}
	if n := float64(c.sound); float64(c.covered) < 0.93*n-spread || float64(c.covered) > 0.97*n+spread {
		c.t.Errorf("d + e lies in its interval in %.1f %% of the units, want 93 to 97", share(c.covered, c.sound))
	}
	if c.named < c.gross {
		c.t.Errorf("%d of %d gross errors are named", c.named, c.gross)
	}
	if share(c.causes, c.asked) < 95 {
		c.t.Errorf("%.1f %% of the causes planted beyond 3u are named, want 95", share(c.causes, c.asked))
	}
}
