package verify_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/readings"
)

// units is how many simulated units each of these tests measures: the soak takes 60, as many as the issue that asked
// for them.
func units() int {
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		return 60
	}
	return 5
}

// bench is a spec for readings that come from files.
func bench(t *testing.T, table *measured.Table) verify.Spec {
	t.Helper()
	r, err := readings.FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	loss := band(0.8, 23, 23)
	loss.Quantity, loss.AtLeast = limits.InsertionLoss, false
	spec := scenario(nominal, lab)
	spec.Readings, spec.Limits = r, limits.Limits{band(30, 23, 23), loss}
	spec.Budget = uncertainty.Budget{Contributions: []uncertainty.Contribution{
		{Name: "power_meter", Value: quantity.Of(0.005, "dB")}, {Name: "repeatability", Value: quantity.Of(0.01,
			"dB")}}}
	return spec
}

func tableOf(t *testing.T, name, text string) *measured.Table {
	t.Helper()
	table, err := measured.Read(measured.NewFile(name, []byte(text)))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// failed runs simulated sound units and returns how many fail agreement or data quality.
func failed(t *testing.T, measure func(rng *rand.Rand) *measured.Table) int {
	t.Helper()
	n := 0
	for k := range units() {
		r := run(t, bench(t, measure(rand.New(rand.NewPCG(uint64(k), 15)))))
		if r.Agreement.Outcome == document.Fail || r.Quality.Outcome == document.Fail {
			n++
			t.Logf("unit %d: %s; %s", k, r.Agreement.Sentence, r.Quality.Sentence)
		}
	}
	return n
}

// TestRepeatsOverOneReference: the noise of a reference trace is one error of ten repeats over it. Taken as that of
// each reading, it made 41 of 60 sound units fail agreement, and 50 of 60 with a trace of two points. By chance one in
// twenty may fail.
func TestRepeatsOverOneReference(t *testing.T) {
	const noise, refNoise = 0.01, 0.02
	for _, points := range [][]float64{{1530, 1535, 1540, 1545, 1550, 1555, 1560, 1565, 1570}, {1530, 1570}} {
		n := failed(t, func(rng *rand.Rand) *measured.Table {
			ref := fmt.Sprintf("# power noise: %g dB\n# measured: 2026-11-17\nwavelength [nm],reference [dBm]\n",
				refNoise)
			for _, l := range points {
				ref += fmt.Sprintf("%g,%.6f\n", l, refNoise*rng.NormFloat64())
			}
			var text strings.Builder
			fmt.Fprintf(&text, "# unit: 1\n# measured: 2026-11-18\n# source polarization: scrambled\n# power noise: "+
				"%g dB\n# temperature: 23 degC\nwavelength [nm],repeat,power forward [dBm],power backward "+
				"[dBm]\n", noise)
			for k := range 10 {
				for nm := 1530.0; nm <= 1570; nm += 2 {
					fmt.Fprintf(&text, "%g,%d,%.6f,%.6f\n", nm, k+1,
						10*math.Log10(nominal.at(verify.Forward, nm, 23).Mean())+noise*rng.NormFloat64(),
						10*math.Log10(nominal.at(verify.Backward, nm, 23).Mean())+noise*rng.NormFloat64())
				}
			}
			table, err := tableOf(t, "powers.csv", text.String()).Referenced(tableOf(t, "ref.csv", ref))
			if err != nil {
				t.Fatal(err)
			}
			return table
		})
		if most := units()/10 + 1; n > most {
			t.Errorf("a trace of %d points: %d of %d sound units fail, want at most %d", len(points), n, units(), most)
		}
	}
}

// TestFourStatesOfSoundUnits: noise puts the greatest loss of four launch states above the mean, and made 81 of 100
// units of hardly any PDL fail agreement; the mean has no such bias.
func TestFourStatesOfSoundUnits(t *testing.T) {
	const noise = 0.005
	n := failed(t, func(rng *rand.Rand) *measured.Table {
		var text strings.Builder
		fmt.Fprintf(&text, "# unit: 1\n# measured: 2026-11-18\n# reference taken: 2026-11-17\n# power noise: %g "+
			"dB\n# temperature: 23 degC\nwavelength [nm],isolation [dB],u(isolation) [dB],reference [dBm],power "+
			"forward 0 deg [dBm],power forward 90 deg [dBm],power forward 45 deg [dBm],power forward circular "+
			"[dBm]\n", noise)
		for nm := 1530.0; nm <= 1570; nm++ {
			fmt.Fprintf(&text, "%g,%.6f,0.01,%.6f", nm,
				-10*math.Log10(nominal.at(verify.Backward, nm, 23).T1)+0.01*rng.NormFloat64(), noise*rng.NormFloat64())
			ahead := nominal.at(verify.Forward, nm, 23)
			for _, power := range []float64{ahead.T1, ahead.T2, ahead.Mean(), ahead.Mean()} { // 0, 90, 45 deg, circular
				fmt.Fprintf(&text, ",%.6f", 10*math.Log10(power)+noise*rng.NormFloat64())
			}
			text.WriteString("\n")
		}
		return tableOf(t, "four.csv", text.String())
	})
	if most := units()/10 + 1; n > most {
		t.Errorf("%d of %d sound units fail, want at most %d", n, units(), most)
	}
}
