package verify_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/verifytest"
)

// furtherUnit is a simulated unit with all five figures read: what the stack does, and what is added to it.
type furtherUnit struct {
	pdl, dgd, ret float64 // added to the PDL in dB, the DGD in ps, and the return loss in dB
	noise         float64 // relative to what is stated
}

// The stated noise: dB of each reading of power and of the PDL, ps of a DGD, dB of a return loss.
const (
	levelNoise = 0.02
	pdlNoise   = 0.005
	dgdNoise   = 0.002
	backNoise  = 0.1
)

// spec simulates the sweep at 23 degC. Its figures are those of the optics, not of what verify makes of them.
func (u furtherUnit) spec(t *testing.T, seed uint64, which ...limits.Limit) verify.Spec {
	t.Helper()
	s := verifytest.SingleStage(t, 42, 0.0002).WithGhosts(stack.GhostsIncoherent)
	rng := rand.New(rand.NewPCG(seed, 77))
	var text strings.Builder
	text.WriteString("# unit: 1\n# measured: 2026-11-18\n# source polarization: min-max\nwavelength [nm],temperature " +
		"[degC],isolation [dB],insertion loss [dB],PDL [dB],u(PDL) [dB],DGD [ps],u(DGD) [ps],return loss [dB]\n")
	noise := func(of float64) float64 { return of * u.noise * rng.NormFloat64() }
	for nm := 1530.0; nm <= 1570; nm++ {
		l, room := quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(23)
		at := func(d stack.Direction) stack.Point {
			p, err := s.At(d, l, room)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		back := 0.0
		for _, port := range []stack.Direction{stack.Forward, stack.Backward} {
			r, err := s.ReturnLoss(port, l, room, false)
			if err != nil {
				t.Fatal(err)
			}
			back = max(back, math.Pow(10, -r.Loss/10))
		}
		ahead := at(stack.Forward)
		fmt.Fprintf(&text, "%g,23,%.4f,%.4f,%.5f,%g,%.5f,%g,%.3f\n", nm,
			at(stack.Backward).Isolation()+noise(levelNoise),
			ahead.InsertionLossMax()+noise(levelNoise), math.Abs(ahead.PDL()+u.pdl+noise(pdlNoise)), pdlNoise,
			math.Abs(ahead.DGD()*1e12+u.dgd+noise(dgdNoise)), dgdNoise, -10*math.Log10(back)+u.ret+noise(backNoise))
	}
	r, err := verify.FromTable(tableOf(t, "all.csv", text.String()))
	if err != nil {
		t.Fatal(err)
	}
	return verify.Spec{Model: verify.ForStack(verifytest.SingleStage(t, 42, 0.0002)), Readings: r, Limits: which,
		Budget: uncertainty.Budget{Contributions: []uncertainty.Contribution{
			{Name: "repeatability", Figure: "isolation", Value: quantity.Of(levelNoise, "dB")},
			{Name: "repeatability", Figure: "insertion_loss", Value: quantity.Of(levelNoise, "dB")},
			{Name: "repeatability", Figure: "return_loss", Value: quantity.Of(backNoise, "dB")},
			{Name: "power_meter", Value: quantity.Of(0.03, "dB")}}}}
}

func limitOn(q limits.Quantity, value float64) limits.Limit {
	l := band(value, 23, 23)
	l.Quantity, l.AtLeast = q, q.AtLeast()
	return l
}

// TestEveryFigureIsCompared: what is read of PDL, DGD and return loss is held against the model, and decides on
// agreement. A PDL of 1.5 dB and a DGD of 25 ps agreed with anything.
func TestEveryFigureIsCompared(t *testing.T) {
	for _, c := range []struct {
		unit furtherUnit
		want document.Outcome
		says string
	}{
		{furtherUnit{noise: 1}, document.Pass, "key figures agree"},
		{furtherUnit{noise: 1, pdl: 1.5}, document.Fail, "PDL over the sweep (1530 nm to 1570 nm, 23 °C) is 1.50 dB"},
		{furtherUnit{noise: 1, dgd: 25}, document.Fail, "DGD over the sweep (1530 nm to 1570 nm, 23 °C) is 25."},
		{furtherUnit{noise: 1, ret: -12}, document.Fail, "return loss over the sweep (1530 nm to 1570 nm, 23 °C) is "},
	} {
		r := run(t, c.unit.spec(t, 1, limitOn(limits.Isolation, 25)))
		if r.Agreement.Outcome != c.want || !strings.Contains(r.Agreement.Sentence, c.says) {
			t.Errorf("%+v: got %v, %s; want %v, %s", c.unit, r.Agreement.Outcome, r.Agreement.Sentence, c.want, c.says)
		}
		if n := len(r.Figures); n != 7 {
			t.Errorf("%d key figures, want 7: minimum, wavelength and height of the peak, loss, PDL, DGD, return loss",
				n)
		}
	}
}

// TestLimitsOnEveryFigure: limits on DGD and return loss are decided by the readings, on both sides and in their units.
func TestLimitsOnEveryFigure(t *testing.T) {
	unit := furtherUnit{noise: 1}
	r := run(t, unit.spec(t, 2))
	read := map[limits.Quantity]float64{}
	for _, f := range r.Figures {
		read[f.Quantity] = f.Measured
	}
	for _, c := range []struct {
		q    limits.Quantity
		off  float64 // of the limit from the reading, outwards
		want document.Outcome
	}{
		{limits.PDL, 0.03, document.Pass}, {limits.DGD, 0.01, document.Pass}, {limits.DGD, -0.01, document.Fail},
		{limits.ReturnLoss, 1, document.Pass}, {limits.ReturnLoss, -1, document.Fail},
	} {
		value := read[c.q] + c.off
		if c.q.AtLeast() {
			value = read[c.q] - c.off
		}
		r := run(t, unit.spec(t, 2, limitOn(c.q, value)))
		d := r.Decisions[0]
		if d.Outcome != c.want || !d.Covered || !d.Continuous || r.Budgets[0].Unit != c.q.Unit() {
			t.Errorf("%s of %g %s: got %v of %g ± %g (%s), budget in %s, want %v", c.q, value, c.q.Unit(), d.Outcome,
				d.Measured, d.Expanded, d.Reserve+d.Uncovered, r.Budgets[0].Unit, c.want)
		}
		if want := c.q.Unit() + " ("; !strings.Contains(r.Conformity.Sentence, want) {
			t.Errorf("%s: the sentence has another unit: %s", c.q, r.Conformity.Sentence)
		}
	}
}

// TestNoUncertaintyOfDelay: DGD readings of which nobody says how good they are are compared with nothing, which the
// verification says; the rest is verified.
func TestNoUncertaintyOfDelay(t *testing.T) {
	s := furtherUnit{noise: 1}.spec(t, 3, limitOn(limits.DGD, 1))
	each(&s, func(r *verify.Reading) { figure(r, limits.DGD).U = math.NaN() })
	r := run(t, s)
	const why = "add repeatability={\"dgd\": 0.005*ps} to the budget, or a column u(DGD) to the file"
	if d := r.Decisions[0]; d.Outcome != document.Undecided || d.Decided || !strings.Contains(d.Uncovered, why) {
		t.Errorf("got %v, %q", d.Outcome, d.Uncovered)
	}
	if r.Agreement.Outcome != document.Pass {
		t.Errorf("the rest: %v, %s", r.Agreement.Outcome, r.Agreement.Sentence)
	}
}

// TestJonesAlone: swept Jones matrices and nothing else have a PDL and a DGD, and limits on them are decided. The DGD
// of the demo file is planted, 0.70 ps, and it has no PDL but that of the noise of its matrices
// (testdata/demo/generate).
func TestJonesAlone(t *testing.T) {
	const name = "jones-0417.csv"
	data, err := os.ReadFile(filepath.Join("..", "..", "notebooks", "data", name))
	if err != nil {
		t.Fatal(err)
	}
	table, err := measured.Read(measured.NewFile(name, data))
	if err != nil {
		t.Fatal(err)
	}
	r, err := verify.FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	within := func(q limits.Quantity, value float64) limits.Limit {
		l := limitOn(q, value)
		l.Low, l.High = 1540*quantity.Nanometre, 1560*quantity.Nanometre
		return l
	}
	s := verify.Spec{Model: verify.ForStack(verifytest.SingleStage(t, 42, 0.0002)), Readings: r,
		Limits: limits.Limits{within(limits.PDL, 0.2), within(limits.DGD, 0.71), within(limits.DGD, 0.69)}}
	out := run(t, s)
	for k, want := range []document.Outcome{document.Pass, document.Pass, document.Fail} {
		d := out.Decisions[k]
		if d.Outcome != want || !d.Covered {
			t.Errorf("%s of %g: got %v of %g ± %g, want %v: %s", d.Limit.Quantity, d.Limit.Value, d.Outcome, d.Measured,
				d.Expanded, want, d.Reserve+d.Uncovered)
		}
	}
	if d := out.Decisions[1]; !(d.Low <= 0.70 && d.High >= 0.70 && d.High-d.Low < 0.01) {
		t.Errorf("DGD from %g to %g ps, planted 0.70", d.Low, d.High)
	}
	if d := out.Decisions[0]; d.High > 0.01 {
		t.Errorf("PDL up to %g dB, planted none", d.High)
	}
}

// TestBudgetBesidePDL: a column u(PDL) says how one reading scatters; what the budget has for all of them acts beside
// it. A residual polarization of the source of 0.1 dB is an error of the PDL of that size, and a PDL of 0.0999 dB no
// longer passes a limit of 0.11 dB; the power meter, which both states have in common, leaves it.
func TestBudgetBesidePDL(t *testing.T) {
	spec := func(also ...uncertainty.Contribution) verify.Spec {
		s := furtherUnit{noise: 0.1, pdl: 0.0999}.spec(t, 4, limitOn(limits.PDL, 0.11))
		s.Budget.Contributions = append(s.Budget.Contributions, also...)
		return s
	}
	for _, c := range []struct {
		also uncertainty.Contribution
		want document.Outcome
		u    float64 // expanded, at least
	}{
		{uncertainty.Contribution{Name: "connector", Value: quantity.Of(0, "dB")}, document.Pass, 0},
		{uncertainty.Contribution{Name: "power_meter_2", Value: quantity.Of(0.1, "dB")}, document.Pass, 0},
		{uncertainty.Contribution{Name: "source_polarization", Value: quantity.Of(0.1, "dB")}, document.Undecided,
			0.15},
		{uncertainty.Contribution{Name: "controller", Figure: "pdl", Value: quantity.Of(0.1, "dB")}, document.Undecided,
			0.15},
	} {
		d := run(t, spec(c.also)).Decisions[0]
		if d.Outcome != c.want || d.High-d.Low < 2*c.u || c.u == 0 && d.High-d.Low > 0.02 {
			t.Errorf("%s: got %v of %.4f dB (%.4f to %.4f dB), want %v", c.also.Name, d.Outcome, d.Measured, d.Low,
				d.High, c.want)
		}
	}
}

// fourStatesOf is a file of four launch states through a unit of a PDL in dB, in a direction that is drawn; noise is
// that of each power, in dB.
func fourStatesOf(t *testing.T, rng *rand.Rand, pdl, noise float64) *measured.Table {
	t.Helper()
	var text strings.Builder
	fmt.Fprintf(&text, "# unit: 1\n# measured: 2026-11-18\n# reference taken: 2026-11-18\n# power noise: %g dB\n# "+
		"temperature: 23 degC\nwavelength [nm]", noise)
	for _, what := range []string{"power forward", "reference"} {
		for _, state := range []string{"0 deg", "90 deg", "45 deg", "circular"} {
			fmt.Fprintf(&text, ",%s %s [dBm]", what, state)
		}
	}
	ratio := math.Pow(10, pdl/10)
	d := (ratio - 1) / (ratio + 1)
	v := [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
	n := math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2])
	for nm := 1530.0; nm <= 1570; nm += 2 {
		fmt.Fprintf(&text, "\n%g", nm)
		for _, along := range []float64{v[0], -v[0], v[1], v[2]} {
			fmt.Fprintf(&text, ",%.6f", -0.5+10*math.Log10(1+d*along/n)+noise*rng.NormFloat64())
		}
		for range 4 {
			fmt.Fprintf(&text, ",%.6f", noise*rng.NormFloat64())
		}
	}
	return tableOf(t, "four.csv", text.String()+"\n")
}

// TestPDLNearZero: noise of 0.005 dB in each of eight powers makes a PDL of some 0.017 dB out of none. The intervals
// hold the PDL that was planted with 95.45 %, standard uncertainties with about 68 %, and no unit within a limit of
// 0.02 dB fails it: 50 of 150 did. The soak has 200 units a case.
func TestPDLNearZero(t *testing.T) {
	count := 16
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		count = 200
	}
	for _, pdl := range []float64{0, 0.008, 0.018, 0.1} {
		held, standard, key, failed := 0, 0, 0, 0
		for k := range count {
			r, err := verify.FromTable(fourStatesOf(t, rand.New(rand.NewPCG(uint64(k), 5)), pdl, 0.005))
			if err != nil {
				t.Fatal(err)
			}
			s := scenario(nominal, lab)
			s.Fit, s.Tolerances, s.Readings, s.Limits = nil, nil, r, limits.Limits{limitOn(limits.PDL, 0.02)}
			out := run(t, s)
			d := out.Decisions[0]
			if d.Low <= pdl && pdl <= d.High {
				held++
			}
			if math.Abs(d.Measured-pdl) <= d.Standard {
				standard++
			}
			if d.Outcome == document.Fail {
				failed++
			}
			for _, f := range out.Figures {
				if f.Quantity == limits.PDL && f.Low <= pdl && pdl <= f.High {
					key++
				}
			}
		}
		t.Logf("PDL %g dB: limits %d, key figures %d, standard %d of %d; %d fail", pdl, held, key, standard, count,
			failed)
		// Three standard deviations of a binomial count below 95.45 % and 68 %.
		least := func(p float64) int {
			n := float64(count)
			return int(n*p - 3*math.Sqrt(n*p*(1-p)))
		}
		if held < least(0.9545) || key < least(0.9545) || standard < least(0.68) {
			t.Errorf("PDL %g dB: intervals of the limit hold it in %d, of the key figure in %d, standard "+
				"uncertainties in %d of %d", pdl, held, key, standard, count)
		}
		if pdl < 0.02 && failed > count/50 { // 2.3 % may fail that are on the limit
			t.Errorf("PDL %g dB: %d of %d sound units fail at 0.02 dB", pdl, failed, count)
		}
		if pdl > 0.05 && failed < count {
			t.Errorf("PDL %g dB: %d of %d units fail at 0.02 dB", pdl, failed, count)
		}
	}
}
