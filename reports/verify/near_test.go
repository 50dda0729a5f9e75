package verify_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/readings"
)

// near is one simulated unit near its limits, and how it is measured. What the instruments read, and the truth, come
// from the sum over paths of the stack as built, its double reflections interfering; the readings are written to files
// and read back. The truth is that over the band and all temperatures, and not that at the readings.
type near struct {
	planted
	row          string
	form         form
	step, first  float64 // nm
	temperatures []float64
	factor       float64 // true noise over the stated one
	drift        float64 // dB over a sweep
	falling      bool    // the drift is there at first and has gone at last
	floorTrue    float64 // dB; the stated one is floor
	repeats      int
	inFile       bool                        // the file states the noise of each reading; else the budget does
	margins      map[limits.Quantity]float64 // true margin to each limit, positive where the limit is met
}

// form is what a file of readings holds.
type form int

const (
	plain      form = iota // isolation and insertion loss of a scrambled source
	fourStates             // powers of four launch states in both directions, and their reference
	jonesSwept             // swept Jones matrices, isolation and insertion loss
)

// The rows of the table, and whether the budget states the truth in each.
var nearRows = []struct {
	name   string
	honest bool
	of     func(u *near, rng *rand.Rand)
}{
	{"the budget is true", true, func(u *near, _ *rand.Rand) {}},
	{"the same, three sweeps each", true, func(u *near, _ *rand.Rand) { u.repeats = 3 }},
	{"the same, four launch states", true, func(u *near, _ *rand.Rand) { u.form = fourStates }},
	{"the same, Jones matrices", true, func(u *near, rng *rand.Rand) {
		// A step of 2 nm turns the phase of 0.7 ps by 1.1 rad: beyond half a turn no instrument tells a delay.
		u.form, u.step = jonesSwept, min(u.step, 2)
	}},
	{"noise a third of the stated", true, func(u *near, _ *rand.Rand) { u.factor = 1.0 / 3 }},
	{"noise three times the stated", false, func(u *near, _ *rand.Rand) { u.factor = 3 }},
	{"drift of 0.15 to 0.5 dB a sweep", false, func(u *near, rng *rand.Rand) {
		u.drift = 0.15 + 0.35*rng.Float64()
		u.falling = rng.IntN(2) == 0
	}},
	{"floor of 50 dB stated as 62 dB", false, func(u *near, _ *rand.Rand) { u.floor, u.floorTrue = 62, 50 }},
}

// nearUnit draws unit k: its row, its grid of 0.1 to 5 nm at a random offset, its one to five temperatures.
func nearUnit(k int) near {
	rng := rand.New(rand.NewPCG(14, uint64(k)))
	sets := [][]float64{{23}, {-5, 70}, {-5, 23, 70}, {0, 23, 45, 70}, {-5, 10, 23, 45, 70}}
	side := func(most float64) float64 { return most * (2*rng.Float64() - 1) }
	row := nearRows[k%len(nearRows)]
	u := near{planted: plant(5*k + 1), row: row.name, step: 0.1 * math.Pow(50, rng.Float64()),
		temperatures: sets[rng.IntN(len(sets))], factor: 1, repeats: 1, inFile: rng.IntN(2) == 0,
		margins: map[limits.Quantity]float64{limits.Isolation: side(0.6), limits.InsertionLoss: side(0.6),
			limits.PDL: side(0.03), limits.DGD: side(0.02)}}
	u.gross, u.noise, u.floor, u.floorTrue = "", 0.03+0.07*rng.Float64(), 65, 65
	row.of(&u, rng)
	u.step = math.Round(1000*u.step) / 1000
	u.first = math.Round(1000*(1526+u.step*rng.Float64())) / 1000
	return u
}

// What a scrambled source's file, and the four states', state of a power's noise as a share of the unit's; and the
// noise of an element of a Jones matrix: common practice, no source.
const (
	nearOfState = 0.2
	nearMatrix  = 5e-4
)

// nearTruth is what a unit does over the band and all temperatures.
type nearTruth struct {
	worst map[limits.Quantity]float64 // for the worst polarization
	mean  float64                     // isolation, averaged over polarization
	// of each temperature, without double reflections: where the isolation peaks, how high, and the loss at 1550 nm
	peak, height, loss []float64
}

// truth works that out on a grid of 0.1 nm at up to five temperatures.
func (u near) truth(t testing.TB, s *stack.Stack) nearTruth {
	low, high := u.temperatures[0], u.temperatures[len(u.temperatures)-1]
	ts := []quantity.Temperature{quantity.Celsius(low)}
	if high > low {
		for k := 1; k <= 4; k++ {
			ts = append(ts, quantity.Celsius(low+(high-low)*float64(k)/4))
		}
	}
	of := nearTruth{worst: map[limits.Quantity]float64{limits.Isolation: math.Inf(1)}, mean: math.Inf(1)}
	band := gridOf(1535, 1565, 0.1)
	for _, row := range overOf(t, s, stack.Backward, band, ts) {
		for _, p := range row {
			of.worst[limits.Isolation] = min(of.worst[limits.Isolation], -quantity.Decibels(p.T1))
			of.mean = min(of.mean, p.IsolationMean())
		}
	}
	for _, row := range overOf(t, s, stack.Forward, band, ts) {
		for _, p := range row {
			of.worst[limits.InsertionLoss] = max(of.worst[limits.InsertionLoss], p.InsertionLossMax())
			of.worst[limits.PDL] = max(of.worst[limits.PDL], p.PDL())
			of.worst[limits.DGD] = max(of.worst[limits.DGD], p.DGD()*1e12)
		}
	}
	bare, at := s.WithGhosts(stack.GhostsIncoherent), gridOf(1526, 1574, 0.5)
	for _, celsius := range u.temperatures {
		ts := []quantity.Temperature{quantity.Celsius(celsius)}
		best, height := 0, 0.0
		points := overOf(t, bare, stack.Backward, at, ts)[0]
		for i, p := range points {
			if p.IsolationMean() > height {
				best, height = i, p.IsolationMean()
			}
		}
		peak := math.NaN() // not in the sweep
		if best > 0 && best < len(at)-1 {
			a, b, c := leakAt(points[best-1]), leakAt(points[best]), leakAt(points[best+1])
			way := (a - c) / (2 * (a - 2*b + c)) // of the parabola through three
			peak = float64(at[best]/quantity.Nanometre) + 0.5*way
			height = -quantity.Decibels(b - (a-c)*way/4)
		}
		of.peak, of.height = append(of.peak, peak), append(of.height, height)
		p := overOf(t, bare, stack.Forward, []quantity.Length{1550 * quantity.Nanometre}, ts)[0][0]
		of.loss = append(of.loss, p.InsertionLoss())
	}
	return of
}

func leakAt(p stack.Point) float64 { return (p.T1 + p.T2) / 2 }

func gridOf(low, high, step float64) (ls []quantity.Length) {
	for k := 0; low+float64(k)*step <= high+1e-9; k++ {
		ls = append(ls, quantity.Length(low+float64(k)*step)*quantity.Nanometre)
	}
	return ls
}

func overOf(t testing.TB, s *stack.Stack, d stack.Direction, ls []quantity.Length,
	ts []quantity.Temperature) [][]stack.Point {
	t.Helper()
	r, err := s.Over(context.Background(), d, ls, ts)
	if err != nil {
		t.Fatal(err)
	}
	return r.Points
}

// file measures the unit as built, and returns what the instrument writes.
func (u near) file(t testing.TB, built *stack.Stack) string {
	rng := rand.New(rand.NewPCG(u.seed, 9))
	dark := math.Pow(10, -u.floorTrue/10)
	all := plantedAll * rng.NormFloat64()
	var text strings.Builder
	text.WriteString("# unit: near\n# measured: 2026-11-18\n# reference taken: 2026-11-18\n" + u.heads())
	ls := gridOf(u.first, 1574, u.step)
	for _, celsius := range u.temperatures {
		dl, dt := plantedNM*rng.NormFloat64(), plantedKelvin*rng.NormFloat64()
		at := make([]quantity.Length, len(ls))
		for i, l := range ls {
			at[i] = l + quantity.Length(dl)*quantity.Nanometre
		}
		ts := []quantity.Temperature{quantity.Celsius(celsius + dt)}
		back, ahead := overOf(t, built, stack.Backward, at, ts)[0], overOf(t, built, stack.Forward, at, ts)[0]
		for repeat := range u.repeats {
			for i, l := range ls {
				nm := float64(l / quantity.Nanometre)
				way := (nm - 1526) / (1574 - 1526)
				if u.falling {
					way = 1 - way
				}
				off := all + u.drift*way
				fmt.Fprintf(&text, "%.3f,%g,%d", nm, celsius, repeat+1)
				u.reading(&text, rng, back[i], ahead[i], off, dark)
				text.WriteString("\n")
			}
		}
	}
	return text.String()
}

// heads are what stands above the rows of the unit's form.
func (u near) heads() string {
	columns := "wavelength [nm],temperature [degC],repeat"
	switch u.form {
	case fourStates:
		for _, direction := range []string{"forward", "backward"} {
			for _, state := range []string{"0 deg", "90 deg", "45 deg", "circular"} {
				columns += ",power " + direction + " " + state + " [dBm]"
			}
		}
		return fmt.Sprintf("# power noise: %.6f dB\n%s,reference [dBm]\n", nearOfState*u.noise, columns)
	case jonesSwept:
		for _, e := range []string{"11", "12", "21", "22"} {
			columns += ",Re(J" + e + "),Im(J" + e + ")"
		}
		columns = fmt.Sprintf("# matrix noise: %g\n%s", nearMatrix, columns)
	}
	columns += ",isolation [dB],insertion loss [dB]"
	if u.inFile {
		columns += ",u(isolation) [dB],u(insertion loss) [dB]"
	}
	return "# source polarization: scrambled\n" + columns + "\n"
}

// reading writes one row behind its wavelength: back and ahead are what the unit does there, off what the level is off.
func (u near) reading(text *strings.Builder, rng *rand.Rand, back, ahead stack.Point, off, dark float64) {
	if u.form == fourStates {
		noise := func() float64 { return nearOfState * u.noise * u.factor * rng.NormFloat64() }
		for _, power := range []func(k int) float64{
			func(k int) float64 { return ofLaunch(ahead, k) },
			func(k int) float64 { return ofLaunch(back, k) + dark }} {
			for k := range 4 {
				fmt.Fprintf(text, ",%.5f", quantity.Decibels(power(k))-off+noise())
			}
		}
		fmt.Fprintf(text, ",%.5f", noise())
		return
	}
	if u.form == jonesSwept {
		for _, row := range ahead.M {
			for _, z := range row {
				fmt.Fprintf(text, ",%.7f,%.7f", real(z)+nearMatrix*rng.NormFloat64(), imag(z)+nearMatrix*rng.NormFloat64())
			}
		}
	}
	noise := func() float64 { return u.noise * u.factor * rng.NormFloat64() }
	fmt.Fprintf(text, ",%.4f,%.4f", -quantity.Decibels(leakAt(back)+dark)+off+noise(), ahead.InsertionLoss()+off+noise())
	if u.inFile {
		fmt.Fprintf(text, ",%.4f,%.4f", u.noise, u.noise)
	}
}

// ofLaunch is the power that arrives of launch state k: linear at 0, 90 and 45 deg, and circular.
func ofLaunch(p stack.Point, k int) float64 {
	h := p.H
	switch k {
	case 0:
		return h.XX
	case 1:
		return h.YY
	case 2:
		return (h.XX+h.YY)/2 + real(h.XY)
	}
	return (h.XX+h.YY)/2 - imag(h.XY)
}

// spec is the unit's file with its limits and what its bench states; the error is the reader's, which refuses files
// that show gain.
func (u near) spec(t testing.TB) (s verify.Spec, of nearTruth, err error) {
	built := u.built(t)
	of = u.truth(t, built)
	table, err := measured.Read(measured.NewFile("near.csv", []byte(u.file(t, built))))
	if err != nil {
		return s, of, err
	}
	r, err := readings.FromTable(table)
	if err != nil {
		return s, of, err
	}
	s = u.planted.specOf(t, r)
	s.MaxGap = 6 * quantity.Nanometre // the limits are to be judged on the widest grid, too
	if u.inFile || u.form == fourStates {
		s.Budget.Contributions = s.Budget.Contributions[1:] // the repeatability
	}
	low, high := quantity.Celsius(u.temperatures[0]), quantity.Celsius(u.temperatures[len(u.temperatures)-1])
	quantities := map[form][]limits.Quantity{plain: {limits.Isolation, limits.InsertionLoss},
		fourStates: {limits.Isolation, limits.InsertionLoss, limits.PDL},
		jonesSwept: {limits.Isolation, limits.InsertionLoss, limits.PDL, limits.DGD}}[u.form]
	for _, q := range quantities {
		value := of.worst[q] + u.margins[q]
		if q.AtLeast() {
			value = of.worst[q] - u.margins[q]
		}
		s.Limits = append(s.Limits, limits.Limit{Quantity: q, AtLeast: q.AtLeast(), Value: max(value, 0.002),
			Low: 1535 * quantity.Nanometre, High: 1565 * quantity.Nanometre, TemperatureLow: low, TemperatureHigh: high})
	}
	s.Budget.Floor = &uncertainty.Floor{Level: quantity.Of(u.floor, "dB"), Uncertainty: quantity.Of(0.2, "dB")}
	return s, of, nil
}
