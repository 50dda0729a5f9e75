package measured

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
)

// runsACase is how many files of each kind are simulated: 500 in the soak, whose table is in the README.
func runsACase() int {
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		return 500
	}
	return 60
}

// coverage counts how often intervals of 68.27 and 95.45 % hold the true figure.
type coverage struct{ n, one, two int }

func (c *coverage) see(t *Table, figure string, row int, truth float64) {
	c.n++
	if low, high := t.Interval(figure, row, 0.6827); low <= truth && truth <= high {
		c.one++
	}
	if low, high := t.Interval(figure, row, 0.9545); low <= truth && truth <= high {
		c.two++
	}
}

// check asks for the stated shares, within four standard deviations of a share of n and what is allowed beyond; over is
// what an interval may hold more often, where a bound of the figure is near.
func (c *coverage) check(t *testing.T, what string, over float64) {
	t.Helper()
	one, two := float64(c.one)/float64(c.n), float64(c.two)/float64(c.n)
	t.Logf("%-44s %5d figures: %5.1f %% and %5.1f %%", what, c.n, 100*one, 100*two)
	for _, x := range []struct{ got, want float64 }{{one, 0.6827}, {two, 0.9545}} {
		d := 4*math.Sqrt(x.want*(1-x.want)/float64(c.n)) + 0.02
		if x.got < x.want-d || x.got > x.want+d+over {
			t.Errorf("%s: intervals of %.2f %% hold %.1f %% of %d", what, 100*x.want, 100*x.got, c.n)
		}
	}
}

// bench is a simulated instrument for powers: a power meter and a reference trace with noise.
type bench struct {
	rng         *rand.Rand
	noise       float64 // dB of a power
	refNoise    float64
	wavelengths []float64
}

// fourFiles writes a reference trace and repeats of powers of four launch states over it, behind a random lead.
func (b *bench) fourFiles(m polar.Matrix, repeats int, names []string) (powers, ref string) {
	var r, p strings.Builder
	fmt.Fprintf(&r, "# power noise: %g dB\nwavelength [nm]", b.refNoise)
	for _, s := range names {
		fmt.Fprintf(&r, ",%s [dBm]", power(referenceOf, "", s))
	}
	for _, l := range b.wavelengths {
		fmt.Fprintf(&r, "\n%.3f", l)
		for range names {
			fmt.Fprintf(&r, ",%.6f", b.refNoise*b.rng.NormFloat64())
		}
	}
	r.WriteString("\n")
	fmt.Fprintf(&p, "# power noise: %g dB\n# temperature: 23 degC\nwavelength [nm],repeat", b.noise)
	for _, s := range states {
		fmt.Fprintf(&p, ",%s [dBm]", power(powerOf, forward, s))
	}
	for k := range repeats {
		in := lead(b.rng)
		for _, l := range b.wavelengths {
			fmt.Fprintf(&p, "\n%.3f,%d", l, k+1)
			for _, u := range launches {
				fmt.Fprintf(&p, ",%.6f", quantity.Decibels(through(m.Mul(in), u))+b.noise*b.rng.NormFloat64())
			}
		}
	}
	p.WriteString("\n")
	return p.String(), r.String()
}

// divided reads powers and their reference.
func divided(t *testing.T, powers, ref string) *Table {
	t.Helper()
	table, err := tableOf(t, "powers.csv", powers).Referenced(tableOf(t, "ref.csv", ref))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// TestFourStatesHoldTheTruth simulates files of four launch states and counts how often the stated intervals hold mean,
// extremes and PDL, for PDLs from none to what a bench cannot tell from a polarizer, single sweeps and means of four.
func TestFourStatesHoldTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 14))
	for _, pdl := range []float64{0, 0.1, 20, 60, 0.02, 0.4, 3}[:require.Sample(3, 7)] {
		t1 := quantity.Ratio(-0.3)
		t2 := t1 * quantity.Ratio(-pdl)
		for _, c := range []struct {
			name    string
			repeats int
			refs    []string
		}{
			{"one reference", 1, []string{""}},
			{"a reference each", 1, states},
			{"four repeats over one trace, leads moved", 4, []string{""}},
		} {
			var mean, least, most, of coverage
			for range runsACase() {
				b := &bench{rng: rng, noise: 0.005, refNoise: 0.004, wavelengths: []float64{1540, 1550, 1560}}
				if c.repeats > 1 { // a sweep shows that its leads moved
					for l := 1541.0; l < 1560; l++ {
						b.wavelengths = append(b.wavelengths, l+0.5)
					}
				}
				powers, ref := b.fourFiles(part(t1, t2, 0, 0), c.repeats, c.refs)
				table := divided(t, powers, ref).Averaged()
				row := 1
				mean.see(table, InsertionLoss, row, -quantity.Decibels((t1+t2)/2))
				least.see(table, InsertionLossMin, row, -quantity.Decibels(t1))
				of.see(table, PDL, row, pdl)
				if pdl < 20 { // beyond, noise of the powers is all of the least transmission
					most.see(table, InsertionLossMax, row, -quantity.Decibels(t2))
				}
			}
			what := fmt.Sprintf("PDL %g dB, %s: ", pdl, c.name)
			near := 0.0
			if pdl <= 0.1 {
				near = 0.12 // extremes: mean and length of the vector vary together as the direction has it
			}
			mean.check(t, what+"mean", 0)
			least.check(t, what+"least loss", near)
			if most.n > 0 {
				most.check(t, what+"greatest loss", near)
			}
			bound := 0.0
			if pdl > 30 {
				bound = 0.17 // half of the misses are on the side where there is no end
			}
			of.check(t, what+"PDL", bound)
		}
	}
}

// jonesFile writes swept matrices of a part with a PDL and a delay between random leads, each with a factor as
// polarimeters give them, with noise in every element relative to a matrix without loss.
func jonesFile(rng *rand.Rand, pdl, delay, noise float64, n int, frequency func(k int) float64,
	line func(k int, f float64) string) string {
	in, out := lead(rng), lead(rng)
	text := fmt.Sprintf("# temperature: 23 degC\n# matrix noise: %g\n%s", noise, line(-1, 0))
	for _, e := range elements {
		text += ",Re(J" + e + "),Im(J" + e + ")"
	}
	for k := range n {
		f := frequency(k)
		m := unit(out.Mul(part(1, quantity.Ratio(-pdl), delay, 2*math.Pi*f)).Mul(in))
		scale := complex(0.5+rng.Float64(), 0) * cmplx.Rect(1, 6*rng.Float64())
		text += "\n" + line(k, f)
		for _, row := range m {
			for _, z := range row {
				z = (z + complex(noise*rng.NormFloat64(), noise*rng.NormFloat64())) * scale
				text += fmt.Sprintf(",%.12f,%.12f", real(z), imag(z))
			}
		}
	}
	return text + "\n"
}

func terahertz(k int, f float64) string {
	if k < 0 {
		return "frequency [THz]"
	}
	return fmt.Sprintf("%.9f", f/1e12)
}

// nanometres writes wavelengths to 0.001 nm.
func nanometres(k int, f float64) string {
	if k < 0 {
		return "wavelength [nm]"
	}
	return fmt.Sprintf("%.3f", quantity.LightSpeed/f*1e9)
}

// TestJonesHoldTheTruth simulates swept matrices and counts how often the stated intervals hold PDL and DGD, for PDLs
// from none to 60 dB and delays from none to 25 ps.
func TestJonesHoldTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 15))
	const noise = 5e-4
	for _, c := range []struct{ pdl, delay, step float64 }{
		{0, 0, 125e9}, {0.005, 0.001e-12, 125e9}, {0.03, 0.01e-12, 125e9}, {0.4, 0.25e-12, 125e9}, {0.4, 1e-12, 125e9},
		{3, 0.7e-12, 125e9}, {20, 0.7e-12, 125e9}, {40, 0.7e-12, 125e9}, {60, 0.7e-12, 125e9}, {0.1, 25e-12, 5e9},
	} {
		var pdl, dgd coverage
		for range runsACase() {
			table := read(t, jonesFile(rng, c.pdl, c.delay, noise, 5, func(k int) float64 {
				return 193e12 +
					float64(k)*c.step
			}, terahertz))
			for i := range table.Rows() {
				if v := table.DGD[i]; v == v {
					dgd.see(table, DGD, i, c.delay)
					break
				}
			}
			pdl.see(table, PDL, 2, c.pdl)
		}
		what := fmt.Sprintf("Jones, PDL %g dB, DGD %.3g ps: ", c.pdl, c.delay*1e12)
		pdl.check(t, what+"PDL", 0)
		if c.pdl < 50 {
			dgd.check(t, what+"DGD", 0)
		} else if dgd.n > runsACase()/10 {
			t.Errorf("%s%d delays from matrices whose noise hides them", what, dgd.n)
		}
	}
}

// TestJonesNoiseFromScatter: where a file does not state the noise of its matrices, it is taken from their scatter,
// which gives it within a tenth over a hundred matrices, with and without delay and PDL.
func TestJonesNoiseFromScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 15))
	for _, c := range []struct{ pdl, delay float64 }{{0, 0}, {0.4, 0.7e-12}, {20, 0.7e-12}} {
		text := jonesFile(rng, c.pdl, c.delay, 3e-4, 200, func(k int) float64 { return 193e12 + float64(k)*125e9 },
			terahertz)
		stated := read(t, text)
		estimated := read(t, strings.Replace(text, "# matrix noise: 0.0003\n", "", 1))
		if r := estimated.U[PDL][100] / stated.U[PDL][100]; math.Abs(r-1) > 0.15 {
			t.Errorf("PDL %g dB: the noise taken from the scatter is %.3f of that stated", c.pdl, r)
		}
	}
}

// TestJonesGap: a delay across a gap would be folded; the step gives none and is listed, and the others are right.
func TestJonesGap(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 15))
	const delay = 1e-12
	text := jonesFile(rng, 0.1, delay, 1e-4, 20, func(k int) float64 {
		if k >= 10 {
			k += 7 // 8 steps: the phase turns by 2 pi
		}
		return 193e12 + float64(k)*125e9
	}, terahertz)
	table := read(t, text)
	n := 0
	for i, v := range table.DGD {
		if v != v {
			continue
		}
		n++
		if math.Abs(v-delay) > 5*table.U[DGD][i] {
			t.Errorf("%s: %.4g ps, want 1 ps", table.Place(i), v*1e12)
		}
	}
	if notes := strings.Join(table.Notes(), "\n"); n != 18 || !strings.Contains(notes,
		"1 step to the next Jones matrix, wider than the others") {
		t.Errorf("%d delays, want 18 and a note of the gap; notes:\n%s", n, notes)
	}
}

// TestJonesRoundedWavelengths: wavelengths on an even grid, written to 0.001 nm, move a step of 0.1 nm by 0.4 %, and
// the delay with it; put back on their grid they move it by less than its noise.
func TestJonesRoundedWavelengths(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 15))
	const delay, noise = 1e-12, 1e-6
	for _, c := range []struct {
		name      string
		frequency func(k int) float64
		even      bool
	}{
		{"even in wavelength", func(k int) float64 {
			return quantity.LightSpeed / (1549.9996e-9 +
				float64(k)*0.1003e-9)
		}, true},
		{"even in frequency", func(k int) float64 { return 193.1e12 + float64(k)*12.5e9 }, true},
		{"uneven", func(k int) float64 { return 193.1e12 + (float64(k)+0.3*math.Sin(float64(k*k)))*12.5e9 }, false},
	} {
		table := read(t, jonesFile(rng, 0.1, delay, noise, 101, c.frequency, nanometres))
		worst, squares, n := 0.0, 0.0, 0
		for i, v := range table.DGD {
			if v == v {
				worst = max(worst, math.Abs(v/delay-1))
				z := (v - delay) / table.U[DGD][i]
				squares += z * z
				n++
			}
		}
		if c.even && worst > 5e-4 {
			t.Errorf("%s: a delay is off by %.2g, want it on the grid", c.name, worst)
		}
		// steps of unequal width have one rounding of the median width
		if z := squares / float64(n); z > 2 || !c.even && z < 0.3 {
			t.Errorf("%s: mean squared error is %.2f u^2", c.name, z)
		}
	}
}

// TestReferenceErrorsAreShared: the noise of a trace is one error of all repeats over it. Of simulated sweeps the
// covariance of readings of the same wavelength in two repeats is that of the terms, and nothing else is shared; a
// trace of two points shares both errors between all.
func TestReferenceErrorsAreShared(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 15))
	const n, noise, refNoise = 400, 0.003, 0.004
	for _, c := range []struct {
		name   string
		points []float64
	}{
		{"a point each", []float64{1540, 1545, 1550, 1555, 1560}},
		{"two points", []float64{1540, 1560}},
	} {
		at := []float64{1540, 1545, 1550, 1555, 1560}
		var sums, want [10][10]float64
		for range n {
			ref, powers := fmt.Sprintf("# power noise: %g dB\nwavelength [nm],reference [dBm]\n", refNoise),
				fmt.Sprintf("# power noise: %g dB\n# temperature: 23 degC\nwavelength [nm],repeat,power forward "+
					"[dBm]\n", noise)
			for _, l := range c.points {
				ref += fmt.Sprintf("%g,%.6f\n", l, refNoise*rng.NormFloat64())
			}
			for k := range 2 {
				for _, l := range at {
					powers += fmt.Sprintf("%g,%d,%.6f\n", l, k+1, -0.3+noise*rng.NormFloat64())
				}
			}
			table := divided(t, powers, ref)
			for i := range 10 {
				for j := range 10 {
					sums[i][j] += (table.InsertionLoss[i] - 0.3) * (table.InsertionLoss[j] - 0.3) / n
					want[i][j] = 0
					for _, a := range table.Shared(InsertionLoss, i) {
						for _, b := range table.Shared(InsertionLoss, j) {
							if a.Error == b.Error {
								want[i][j] += a.Move * b.Move
							}
						}
					}
					if i == j {
						want[i][j] += math.Pow(table.Own(InsertionLoss, i), 2)
					}
				}
			}
		}
		for i := range 10 {
			for j := range 10 {
				// of n pairs of normal numbers, four standard deviations of a covariance
				if d := 4 * math.Sqrt((want[i][i]*want[j][j]+want[i][j]*want[i][j])/n); math.Abs(sums[i][j]-want[i][j]) > d {
					t.Errorf("%s: covariance %d, %d is %.3g, the terms give %.3g", c.name, i, j, sums[i][j], want[i][j])
				}
			}
		}
	}
}

// TestRepeatsOfPerfectUnit: the PDL of a unit without any, from the mean powers of ten repeats, is as small as their
// noise; the mean of their PDLs is not.
func TestRepeatsOfPerfectUnit(t *testing.T) {
	b := &bench{rng: rand.New(rand.NewPCG(7, 15)), noise: 0.02, wavelengths: []float64{1550}}
	var text strings.Builder
	text.WriteString("# power noise: 0.02 dB\n# temperature: 23 degC\nwavelength [nm],repeat,reference [dBm]")
	for _, s := range states {
		text.WriteString("," + power(powerOf, forward, s) + " [dBm]")
	}
	for k := range 10 {
		fmt.Fprintf(&text, "\n1550,%d,0", k+1)
		for range states {
			fmt.Fprintf(&text, ",%.6f", -0.3+b.noise*b.rng.NormFloat64())
		}
	}
	table := read(t, text.String()+"\n")
	a := table.Averaged()
	mean := meanOf(table.PDL, sequence(10))
	if a.PDL[0] > 4*a.U[PDL][0] || mean < 3*a.U[PDL][0] {
		t.Errorf("PDL %.4f dB of the mean powers, %.4f dB in the mean, u %.4f dB: want the first within noise, the "+
			"second not", a.PDL[0], mean, a.U[PDL][0])
	}
	if r := a.U[PDL][0] / table.U[PDL][0]; math.Abs(r-1/math.Sqrt(10)) > 0.05 {
		t.Errorf("u of the mean is %.3f of that of one, want 1/sqrt(10)", r)
	}
}

// TestReferenceElsewhere: a reference of another temperature is no silent one.
func TestReferenceElsewhere(t *testing.T) {
	powers := tableOf(t, "cold.csv", "wavelength [nm],temperature [degC],power forward [dBm]\n1550,23,-0.3\n")
	for _, c := range []struct {
		kelvin int
		want   bool
	}{{70, true}, {24, false}} {
		got, err := powers.Referenced(tableOf(t, "ref.csv",
			fmt.Sprintf("wavelength [nm],temperature [degC],reference [dBm]\n1550,%d,0\n", c.kelvin)))
		if err != nil {
			t.Fatal(err)
		}
		if says := strings.Contains(strings.Join(got.Notes(), "\n"),
			"the reference ref.csv was taken at 70 °C, and no reading of cold.csv is within 5 K of that"); says != c.want {
			t.Errorf("at %d degC: a warning is %t, want %t", c.kelvin, says, c.want)
		}
	}
}
