package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"sync"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// near is one simulated unit near its limits, and how it is measured. Readings and truth come from the path sum of the
// stack as built, as those of planted; the truth is that over the band and not at the readings.
type near struct {
	planted
	margin       float64 // true isolation less the limit, dB
	lossMargin   float64 // limit less the true loss
	step, first  float64 // nm
	temperatures []float64
	factor       float64 // true noise over the stated one
	drift        float64 // dB over a sweep
	floorTrue    float64 // dB; the stated one is floor
	repeats      int
}

// The rows of the table: the first three state the truth.
const (
	rowHonest   = "budget true"
	rowRepeated = "budget true, repeats"
	rowQuiet    = "noise a third of the stated"
	rowNoisy    = "noise three times the stated"
	rowDrift    = "drift of 0.5 dB over a sweep"
	rowFloor    = "floor 50 dB stated as 62 dB"
)

var nearRows = []string{rowHonest, rowRepeated, rowQuiet, rowNoisy, rowDrift, rowFloor}

func nearUnit(k int) (near, string) {
	rng := rand.New(rand.NewPCG(14, uint64(k)))
	steps := []float64{0.2, 0.5, 1, 2}
	sets := [][]float64{{23}, {-5, 23, 70}, {0, 23, 45, 70}}
	u := near{planted: plant(5*k + 1), margin: 1.2*rng.Float64() - 0.6, lossMargin: 1.2*rng.Float64() - 0.6,
		step: steps[rng.IntN(len(steps))], temperatures: sets[rng.IntN(len(sets))], factor: 1, repeats: 1}
	u.gross, u.noise, u.floor, u.floorTrue = "", 0.03+0.07*rng.Float64(), 65, 65
	u.first = 1526 + u.step*rng.Float64()
	row := nearRows[k%len(nearRows)]
	switch row {
	case rowRepeated:
		u.repeats = 3
	case rowQuiet:
		u.factor = 1.0 / 3
	case rowNoisy:
		u.factor = 3
	case rowDrift:
		u.drift = 0.5
	case rowFloor:
		u.floor, u.floorTrue = 62, 50
	}
	return u, row
}

// truth is the least isolation and the greatest loss over the band and the temperatures, for the worst polarization.
func (u near) truth(t testing.TB, s *stack.Stack) (isolation, loss float64) {
	low, high := u.temperatures[0], u.temperatures[len(u.temperatures)-1]
	var ts []quantity.Temperature
	for k := range 5 {
		ts = append(ts, quantity.Celsius(low+(high-low)*float64(k)/4))
		if low == high {
			break
		}
	}
	var ls []quantity.Length
	for nm := 1535.0; nm <= 1565+1e-9; nm += 0.1 {
		ls = append(ls, quantity.Length(nm*1e-9))
	}
	isolation = math.Inf(1)
	for _, d := range []stack.Direction{stack.Backward, stack.Forward} {
		r, err := s.Over(context.Background(), d, ls, ts)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range r.Points {
			for _, p := range row {
				if d == stack.Backward {
					isolation = min(isolation, -10*math.Log10(p.T1))
				} else {
					loss = max(loss, -10*math.Log10(p.T2))
				}
			}
		}
	}
	return isolation, loss
}

func (u near) spec(t testing.TB) (s verify.Spec, isolation, loss float64) {
	s = u.planted.specOf(t, verify.Readings{})
	built := u.built(t)
	isolation, loss = u.truth(t, built)
	rng := rand.New(rand.NewPCG(u.seed, 9))
	r := verify.Readings{File: "near.csv", Unit: "near", Polarization: verify.Scrambled}
	all := plantedAll * rng.NormFloat64()
	dark := math.Pow(10, -u.floorTrue/10)
	for _, celsius := range u.temperatures {
		dl, dt := plantedNM*rng.NormFloat64(), plantedKelvin*rng.NormFloat64()
		for repeat := range u.repeats {
			for nm := u.first; nm <= 1574; nm += u.step {
				mean := func(d stack.Direction) float64 {
					p, err := built.At(d, quantity.Length((nm+dl)*1e-9), quantity.Celsius(celsius+dt))
					if err != nil {
						t.Fatal(err)
					}
					return (p.T1 + p.T2) / 2
				}
				off := all + u.drift*(nm-1526)/(1574-1526)
				noise := func() float64 { return u.noise * u.factor * rng.NormFloat64() }
				r.Rows = append(r.Rows, verify.Reading{Line: len(r.Rows) + 2, Repeat: repeat + 1,
					Wavelength: quantity.Length(nm * 1e-9), Temperature: quantity.Celsius(celsius),
					Figures: figures(-10*math.Log10(mean(stack.Backward)+dark)+off+noise(),
						-10*math.Log10(mean(stack.Forward))+off+noise())})
			}
		}
	}
	s.Readings = r
	low, high := quantity.Celsius(u.temperatures[0]), quantity.Celsius(u.temperatures[len(u.temperatures)-1])
	of := func(q limits.Quantity, least bool, value float64) limits.Limit {
		return limits.Limit{Quantity: q, AtLeast: least, Value: value, Low: 1535 * quantity.Nanometre,
			High:           1565 * quantity.Nanometre,
			TemperatureLow: low, TemperatureHigh: high}
	}
	s.Limits = limits.Limits{of(limits.Isolation, true, isolation-u.margin),
		of(limits.InsertionLoss, false, max(loss+u.lossMargin, 0.01))}
	s.Budget.Floor = &uncertainty.Floor{Level: quantity.Of(u.floor, "dB"), Uncertainty: quantity.Of(0.2, "dB")}
	return s, isolation, loss
}

// nearTally counts one row of the table.
type nearTally struct {
	units, broken, brokenPassed, sound, soundFailed, undecided, passed int
	// false acceptances that the passes state
	stated float64
	// intervals that hold the truth over the band
	isolation, loss int
	quality         int // failed
}

// TestNearTheLimits measures what matters: of units near their limits, how often a broken limit passes, against the
// false acceptance that the reports state; and how often the intervals hold the figure of the band. 24 units;
// WEDGEWORK_SOAK=1 makes it 4,000, another number that many.
func TestNearTheLimits(t *testing.T) {
	units := 24
	soak := os.Getenv("WEDGEWORK_SOAK")
	if soak != "" {
		units = 4000
		if n, err := strconv.Atoi(soak); err == nil && n > 1 {
			units = n
		}
	}
	rows := map[string]*nearTally{}
	for _, row := range nearRows {
		rows[row] = &nearTally{}
	}
	var lock sync.Mutex
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for k := range next {
				u, row := nearUnit(k)
				s, isolation, loss := u.spec(t)
				r, err := verify.Run(context.Background(), s)
				lock.Lock()
				if err != nil {
					t.Errorf("unit %d: %v", k, err)
				} else {
					rows[row].count(r, isolation, loss)
				}
				lock.Unlock()
			}
		})
	}
	for k := range units {
		next <- k
	}
	close(next)
	wait.Wait()
	for _, row := range nearRows {
		c := rows[row]
		n := max(float64(2*c.units), 1)
		t.Logf("%-30s %4d limits: %3d broken, %d pass (%.1f stated); %3d sound, %d fail; %d undecided; intervals "+
			"hold %.1f "+
			"%% (isolation), %.1f %% (loss); quality fails %.1f %%",
			row, 2*c.units, c.broken, c.brokenPassed, c.stated, c.sound, c.soundFailed, c.undecided,
			200*float64(c.isolation)/n, 200*float64(c.loss)/n, 200*float64(c.quality)/n)
		if row == rowDrift && c.brokenPassed > 0 {
			t.Errorf("%s: %d broken limits pass", row, c.brokenPassed)
		}
		honest := row == rowHonest || row == rowRepeated || row == rowQuiet
		// Poisson's upper end: beyond it by chance once in a thousand.
		if most := c.stated + 3.1*math.Sqrt(c.stated) + 2; honest && float64(c.brokenPassed) > most {
			t.Errorf("%s: %d broken limits pass, %.1f are stated", row, c.brokenPassed, c.stated)
		}
		if least := 0.95*float64(c.units) - 3*math.Sqrt(0.05*float64(c.units)) - 1; (row == rowNoisy ||
			row == rowDrift) &&
			float64(c.quality) < least {
			t.Errorf("%s: data quality fails in %d of %d", row, c.quality, c.units)
		}
	}
}

func (c *nearTally) count(r *verify.Result, isolation, loss float64) {
	c.units++
	if r.Quality.Outcome == document.Fail {
		c.quality++
	}
	for k, truth := range []float64{isolation, loss} {
		d := r.Decisions[k]
		broken := truth < d.Limit.Value
		if !d.Limit.AtLeast {
			broken = truth > d.Limit.Value
		}
		if broken {
			c.broken++
		} else {
			c.sound++
		}
		switch {
		case d.Outcome == document.Pass:
			c.passed++
			c.stated += d.FalseAcceptance()
			if broken {
				c.brokenPassed++
			}
		case d.Outcome == document.Undecided:
			c.undecided++
		case !broken:
			c.soundFailed++
		}
		held := &c.isolation
		if k == 1 {
			held = &c.loss
		}
		if d.Low <= truth && truth <= d.High {
			*held++
		}
	}
}
