package verify_test

import (
	"fmt"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/require"
	"wedgework/reports/verify"
)

// stop is the isolation above which an instrument writes ">60" and no more.
const (
	stop = 60  // dB
	loud = 0.5 // dB, the noise of a reading up there
)

// stopped is a unit whose null lies at 1550.86 nm, swept from 1549.8 nm to 1550.2 nm without a floor: from 58 dB to
// 62 dB, and in between noise decides whether the instrument reads or stops.
func stopped(seed uint64) (unit analytic, s verify.Spec) {
	unit = nominal
	unit.extinction = 90
	model := unit
	unit.angle = 45.06
	s = scenario(unit, instrument{step: 0.025, temperatures: []float64{23}, noise: loud, seed: seed})
	s.Model, s.Fit, s.Limits = model, []string{"rotator1.angle"}, nil
	s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows, func(r verify.Reading) bool {
		return math.Abs(float64(r.Wavelength/quantity.Nanometre)-1550) > 0.21
	})
	each(&s, func(r *verify.Reading) {
		if iso(r).Value > stop {
			iso(r).Value, iso(r).AtLeast = stop, true
		}
	})
	return unit, s
}

// tobit fits the same readings with scipy.
func tobit(t *testing.T, s verify.Spec) (angle, sigma float64) {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
		require.Missing(t, python+" has no module scipy")
	}
	in := fmt.Sprintf("%d %g\n", stop, loud)
	for _, row := range s.Readings.Rows {
		r := &row
		read := iso(r).Value
		if iso(r).AtLeast {
			read = math.NaN()
		}
		in += fmt.Sprintf("%.6f %.9g\n", float64(r.Wavelength)*1e9, read)
	}
	cmd := exec.Command(python, "testdata/tobit.py")
	cmd.Stdin = strings.NewReader(in)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if _, err := fmt.Sscan(string(out), &angle, &sigma); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return angle, sigma
}

// angle returns the fitted rotation with its standard uncertainty.
func angle(t *testing.T, s verify.Spec) (value, sigma float64) {
	t.Helper()
	r := run(t, s)
	for _, e := range r.Diagnosis.Explanations {
		if e.Label == "rotator1.angle" {
			return e.Parameters[0].Value, e.Parameters[0].Sigma
		}
	}
	t.Fatalf("nothing was fitted: %s", r.Diagnosis.Sentence)
	return 0, 0
}

// TestBoundsAgainstScipy: the angle and its uncertainty are those of the likelihood in decibels, in which the readings
// were drawn, by scipy.
func TestBoundsAgainstScipy(t *testing.T) {
	for seed := range uint64(require.Sample(2, 6)) {
		_, s := stopped(seed + 1)
		want, u := tobit(t, s)
		got, sigma := angle(t, s)
		t.Logf("%.5f ± %.5f, scipy %.5f ± %.5f", got, sigma, want, u)
		if math.Abs(got-want) > 0.25*u || math.Abs(sigma/u-1) > 0.15 {
			t.Errorf("seed %d: got %.5f ± %.5f, scipy has %.5f ± %.5f", seed+1, got, sigma, want, u)
		}
	}
}

// TestBoundsRecover: weighed as bounds the readings give back the planted rotation; dropped, or taken for readings of
// 60 dB, they do not.
func TestBoundsRecover(t *testing.T) {
	units := require.Sample(30, 60)
	ways := map[string]func(r *verify.Reading){
		"weighed": func(*verify.Reading) {},
		"dropped": func(r *verify.Reading) {
			if iso(r).AtLeast {
				iso(r).Value, iso(r).AtLeast = math.NaN(), false
			}
		},
		"at face value": func(r *verify.Reading) { iso(r).AtLeast = false },
	}
	for way, change := range ways {
		var sum, square float64 // of errors in standard uncertainties
		for k := range uint64(units) {
			unit, s := stopped(k + 1)
			each(&s, change)
			got, sigma := angle(t, s)
			z := (got - unit.angle) / sigma
			sum, square = sum+z, square+z*z
		}
		n := float64(units)
		mean := sum / n
		t.Logf("%s: %+.2f u off on average, root mean square %.2f u", way, mean, math.Sqrt(square/n))
		// The mean of n unbiased ones is within 3 u/sqrt(n) in 997 of 1000 cases.
		if biased := math.Abs(mean) > 3/math.Sqrt(n); biased != (way != "weighed") {
			t.Errorf("%s: %+.2f u off on average", way, mean)
		}
	}
}

// TestBoundsAndLimits: a bound keeps a limit by its guard band, decides nothing below it, and does not hide a reading
// that fails. The guard band is twice the uncertainty, 1 dB and what polarization may add.
func TestBoundsAndLimits(t *testing.T) {
	over := func(value float64) limits.Limit {
		l := band(value, 23, 23)
		l.Low, l.High = 1549.8*quantity.Nanometre, 1550.2*quantity.Nanometre
		return l
	}
	tests := []struct {
		name  string
		limit float64
		at    func(r *verify.Reading) // what every reading is
		want  document.Outcome
	}{
		{"well kept", 58, func(r *verify.Reading) { iso(r).Value, iso(r).AtLeast = 60, true }, document.Pass},
		{"within the guard band", 59.5, func(r *verify.Reading) { iso(r).Value, iso(r).AtLeast = 60, true },
			document.Undecided},
		{"below the limit", 62, func(r *verify.Reading) { iso(r).Value, iso(r).AtLeast = 60, true },
			document.Undecided},
		{"beside a reading that fails", 62, func(r *verify.Reading) {
			iso(r).Value, iso(r).AtLeast = 60, true
			if r.Wavelength > 1550.1*quantity.Nanometre {
				iso(r).Value, iso(r).AtLeast = 60.2, false
			}
		}, document.Fail},
	}
	for _, tt := range tests {
		_, s := stopped(1)
		s.Limits = limits.Limits{over(tt.limit)}
		each(&s, tt.at)
		r := run(t, s)
		d := r.Decisions[0]
		if d.Outcome != tt.want || d.AtLeast != (tt.want != document.Fail) {
			t.Errorf("%s: got %s, at least %v: %+v", tt.name, d.Outcome, d.AtLeast, d.Decision)
		}
		for _, p := range r.Points {
			if p.Bound && (!p.Censored || p.Specified.En != 0 || p.Diagnosed.En != 0) {
				t.Errorf("%s: line %d: got %+v, want a bound without an E_n", tt.name, p.Line, p)
				break
			}
		}
		if r.Bounds == 0 || r.Bounds > r.Censored {
			t.Errorf("%s: %d bounds of %d \"at least\" readings", tt.name, r.Bounds, r.Censored)
		}
	}
}

// TestBoundThatParts: a bound far above what all other readings say is named as an outlier, and the fit is the one
// without it.
func TestBoundThatParts(t *testing.T) {
	s := scenario(good(), lab)
	row := &s.Readings.Rows[40] // 1520 nm, near 28 dB
	read := iso(row).Value
	iso(row).Value = math.NaN()
	without, _ := angle(t, s)
	iso(row).Value, iso(row).AtLeast = read+3, true
	r := run(t, s)
	if len(r.Outliers) != 1 || r.Outliers[0].Line != row.Line || r.Outliers[0].Off > -10 {
		t.Errorf("got %+v, want line %d, far too little light", r.Outliers, row.Line)
	}
	if got, sigma := angle(t, s); math.Abs(got-without) > 0.05*sigma {
		t.Errorf("angle: got %.4f ± %.4f, without it %.4f", got, sigma, without)
	}
}

// TestBoundsFit: the p-value of a true model over many borderline bounds is neither always small nor always large.
func TestBoundsFit(t *testing.T) {
	const units = 60
	sum := 0.0
	for k := range uint64(units) {
		_, s := stopped(k + 101)
		r := run(t, s)
		for _, e := range r.Diagnosis.Explanations {
			if e.Label == "rotator1.angle" {
				sum += e.PValue
			}
		}
	}
	// Uniform ones have the mean 0.5 ± 0.037; chi-squared over bounds is one only nearly.
	if mean := sum / units; math.Abs(mean-0.5) > 0.15 {
		t.Errorf("mean p-value: got %.3f, want about 0.5", mean)
	} else {
		t.Logf("mean p-value %.3f", mean)
	}
}
