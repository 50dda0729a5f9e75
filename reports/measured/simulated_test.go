package measured

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
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

// check asks for the stated shares, within four standard deviations of a share of n and what is allowed beyond; over is what an
// interval may hold more often, where a bound of the figure is near.
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

// bench is a simulated instrument for powers: a source that drifts, a power meter and a reference trace with noise.
type bench struct {
	rng         *rand.Rand
	noise       float64 // dB of a power
	refNoise    float64
	drift       float64 // dB of the source over a sweep, followed by a monitor but for its noise: taken off
	wavelengths []float64
	trace       map[string][]float64 // of the reference, by state
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
	for _, pdl := range []float64{0, 0.02, 0.1, 0.4, 3, 20, 60} {
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
