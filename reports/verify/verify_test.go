package verify_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/readings"
)

// The three units of the scenario, with their causes.
func good() analytic  { u := nominal; u.angle, u.extinction, u.loss = 45.05, 45.6, 0.36; return u }
func short() analytic { u := good(); u.angle = 44.4; return u }
func leaky() analytic { u := good(); u.extinction = 30; return u }

// other is the laboratory on another day.
var other = func() instrument { in := lab; in.seed = 2; return in }()

// TestThreeUnits tells three units apart by cause: a good one, one whose rotator is 0.6 deg short, one whose
// rotator leaks 1/1000.
func TestThreeUnits(t *testing.T) {
	for _, c := range []struct {
		name       string
		unit       analytic
		agreement  document.Outcome
		conformity document.Outcome
		causes     []string
		says       []string
	}{
		{"good", good(), document.Pass, document.Pass, nil,
			[]string{"no fitted parameter is outside its tolerance", "the rotator angle (rotator1.angle) is 45.0"}},
		{"0.6 deg short", short(), document.Fail, document.Pass, []string{"rotator1.angle"},
			[]string{"if only the rotator angle (rotator1.angle) is in error, it is 44.",
				"short of the specified 45° and outside the tolerance of ±0.3°",
				"an error in the angle between the optic axes of wedge1 and wedge2 would give practically the same " +
					"readings"}},
		{"30 dB extinction", leaky(), document.Fail, document.Fail, []string{"rotator1.extinction"},
			[]string{"the extinction ratio (rotator1.extinction) is ",
				"below the specified 45 dB and outside the tolerance of ±4.0 dB"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := run(t, scenario(c.unit, other))
			if r.Agreement.Outcome != c.agreement {
				t.Errorf("agreement: got %v, want %v: %s", r.Agreement.Outcome, c.agreement, r.Agreement.Sentence)
			}
			if r.Conformity.Outcome != c.conformity {
				t.Errorf("conformity: got %v, want %v: %s", r.Conformity.Outcome, c.conformity, r.Conformity.Sentence)
			}
			if r.Quality.Outcome != document.Pass {
				t.Errorf("data quality: got %v, want pass: %s", r.Quality.Outcome, r.Quality.Sentence)
			}
			if !slices.Equal(r.Diagnosis.Causes, c.causes) {
				t.Errorf("causes: got %q, want %q", r.Diagnosis.Causes, c.causes)
			}
			if r.Diagnosis.Agreement != document.Pass {
				t.Errorf("the diagnosed model does not account for the readings: %+v", r.Diagnosis.Explanations[0])
			}
			for _, want := range c.says {
				if !strings.Contains(r.Diagnosis.Sentence, want) {
					t.Errorf("the diagnosis does not say %q: %s", want, r.Diagnosis.Sentence)
				}
			}
			// The diagnosed model runs through the readings: |E_n| above 1 is for one in twenty.
			off := 0
			for _, p := range r.Points {
				if math.Abs(p.Diagnosed.En) > 1 {
					off++
				}
			}
			if off > len(r.Points)/10 {
				t.Errorf("%d of %d readings have |E_n| above 1 against the diagnosed model", off, len(r.Points))
			}
		})
	}
}

// TestBothSigns: the sign of the error comes from the slope of the peak over wavelength.
func TestBothSigns(t *testing.T) {
	for _, error := range []float64{-1.2, -0.6, -0.2, 0.2, 0.6, 1.2} {
		unit := good()
		unit.angle = 45 + error
		r := run(t, scenario(unit, other))
		d := r.Diagnosis.Departures[0]
		if math.Abs(d.Value-unit.angle) > 3*d.Sigma {
			t.Errorf("error %g deg: got %.3f ± %.3f deg, want %.3f", error, d.Value, d.Sigma, unit.angle)
		}
	}
}

// TestAxisLooksTheSame: an axis error is found by the fit of the rotator, and named as its double.
func TestAxisLooksTheSame(t *testing.T) {
	unit := good()
	unit.axis2 -= 0.6
	r := run(t, scenario(unit, other))
	d := r.Diagnosis.Departures[0]
	var axis2 verify.Alike
	for _, a := range d.Alike {
		if math.Abs(a.Correlation) < 0.99 {
			t.Errorf("%s is called alike at a correlation of %.3f", a.Path, a.Correlation)
		}
		if a.Path == "wedge1.apex" {
			t.Error("the apex is called alike, though it does nothing in this model")
		}
		if a.Path == "wedge2.axis" {
			axis2 = a
		}
	}
	// The unit's rotator is 0.05 deg beyond: together -0.55 deg. A tenth of that for the slopes of the film,
	// which scale with its thickness.
	if axis2.Path == "" || math.Abs(axis2.Departure.Value+0.55) > 0.055 {
		t.Errorf("got %v among %v, want wedge2.axis off by about -0.55 deg", axis2, d.Alike)
	}
}

// TestCombination: two named parameters that these data cannot distinguish are fitted as one.
func TestCombination(t *testing.T) {
	s := scenario(short(), other)
	s.Fit = []string{"rotator1.angle", "wedge2.axis", "wedge1.axis", "rotator1.extinction"}
	r := run(t, s)
	found := false
	for _, d := range r.Diagnosis.Departures {
		if d.Combination == "" {
			continue
		}
		found = true
		if !strings.Contains(d.Combination, "wedge2.axis") || !strings.Contains(d.Combination, "- wedge1.axis") {
			t.Errorf("got the combination %q, want one with + wedge2.axis and - wedge1.axis", d.Combination)
		}
	}
	if !found || !strings.Contains(r.Diagnosis.Sentence, "the readings determine only the combination") {
		t.Errorf("no combination reported: %s", r.Diagnosis.Sentence)
	}
	for _, e := range r.Diagnosis.Explanations {
		for i, p := range e.Parameters {
			for k, q := range e.Parameters {
				if i != k && math.Abs(e.Correlation[i][k]) > 0.99 {
					t.Errorf("%s and %s are fitted side by side with correlation %.4f", p.Path, q.Path,
						e.Correlation[i][k])
				}
			}
		}
	}
}

// TestFloorLooksLikeExtinction: without a measured floor a leakage may be the fixture's.
func TestFloorLooksLikeExtinction(t *testing.T) {
	in := other
	in.floor = 0
	r := run(t, scenario(leaky(), in))
	var d verify.Departure
	for _, x := range r.Diagnosis.Departures {
		if x.Path == "rotator1.extinction" {
			d = x
		}
	}
	k := slices.IndexFunc(d.Alike, func(a verify.Alike) bool { return a.Path == verify.FixturePath })
	if k < 0 {
		t.Fatalf("the floor is not among what looks like extinction: %v", d.Alike)
	}
	// 30 dB less what a floor would have to add on top of the specified 45 dB, behind 0.36 dB of loss:
	// -10 log10(10^-3 - 10^-4.5) + 0.36 = 30.5 dB.
	if got := d.Alike[k].Departure.Value; math.Abs(got-30.5) > 0.2 {
		t.Errorf("the equivalent floor is %.2f dB, want 30.5", got)
	}
	if !strings.Contains(r.Diagnosis.Sentence, "fixture floor") {
		t.Errorf("the sentence does not mention it: %s", r.Diagnosis.Sentence)
	}
}

// TestCensored lowers the floor's headroom until readings near the peak drown: they stay in, as "at least".
func TestCensored(t *testing.T) {
	in := other
	in.floor, in.noise = 42, 0.3
	unit := good()
	unit.extinction = 60
	s := scenario(unit, in)
	r := run(t, s)
	if r.Censored == 0 || len(r.Points) != len(s.Readings.Rows) {
		t.Fatalf("%d \"at least\" readings among %d points of %d rows", r.Censored, len(r.Points), len(s.Readings.Rows))
	}
	for _, p := range r.Points {
		if p.Censored && (p.Low != p.Isolation || p.Isolation <= p.Read) {
			t.Errorf("%.1f nm: \"at least\" %.2f dB from a reading of %.2f dB, low %.2f", float64(p.Wavelength)*1e9,
				p.Isolation, p.Read, p.Low)
		}
		// what the reading may have hidden at most is one-sided normal: its amplitude is that of the "at least"
		const rounding = 1e-12
		most := math.Pow(10, -p.Isolation/20)
		if p.Censored && math.Abs(p.Amplitude+readings.OneSided*p.Standard-most) > rounding {
			t.Errorf("%.1f nm: amplitude %g and standard uncertainty %g, want them to end at %g",
				float64(p.Wavelength)*1e9, p.Amplitude, p.Standard, most)
		}
	}
	for _, d := range r.Diagnosis.Departures {
		switch d.Path {
		case "rotator1.angle":
			if math.Abs(d.Value-unit.angle) > 3*d.Sigma {
				t.Errorf("angle: got %.3f ± %.3f, want %.3f", d.Value, d.Sigma, unit.angle)
			}
		case "rotator1.extinction":
			if !d.AtLeast || d.Low > 60 {
				t.Errorf("extinction: got %+v, want \"at least\" something below 60 dB", d.Fitted)
			}
		}
	}
	if !strings.Contains(strings.Join(r.Notes, " "), "lower bound") {
		t.Error("the notes do not say that there are \"at least\" readings")
	}
}

// TestUncertaintyColumn: a u(isolation) column replaces the point-wise contribution, of which the curve through the
// readings leaves the figure a part.
func TestUncertaintyColumn(t *testing.T) {
	s := scenario(good(), other)
	for i := range s.Readings.Rows {
		iso(&s.Readings.Rows[i]).U = 0.2
	}
	r := run(t, s)
	for _, l := range r.Budgets[0].Lines {
		switch {
		case l.Name == "repeatability":
			t.Error("repeatability is counted beside the file's own uncertainty")
		case l.Name == "stated in the file" && !(l.Standard == 0.2 && l.Contribution > 0.01 && l.Contribution < 0.2):
			t.Errorf("the file's uncertainty of %g dB contributes %g dB, want less than 0.2", l.Standard,
				l.Contribution)
		}
	}
	wide := r.Points[0].Standard
	if narrow := run(t, scenario(good(), other)).Points[0].Standard; !(wide > narrow) {
		t.Errorf("standard uncertainty %g with 0.2 dB per reading, %g with 0.05 dB", wide, narrow)
	}
}

// TestRipple: ghost ripple that the model averages out enters the fit as an uncertainty, and no decision.
func TestRipple(t *testing.T) {
	s := scenario(good(), other)
	plain := run(t, s)
	m := nominal
	m.ripple = 1e-3
	s.Model = m
	r := run(t, s)
	if got, want := r.Diagnosis.Departures[0].Sigma, plain.Diagnosis.Departures[0].Sigma; !(got > want) {
		t.Errorf("sigma of the angle with ripple %g, without %g: want more", got, want)
	}
	if got, want := r.Decisions[0].Standard, plain.Decisions[0].Standard; math.Abs(got-want) > 0.02*want {
		t.Errorf("u of the least isolation with ripple %g dB, without %g dB: want no difference", got, want)
	}
}

// TestDriftingTemperature: readings that each have their own temperature, as a chamber logs them, are one
// run, and the fit uses each one's own.
func TestDriftingTemperature(t *testing.T) {
	s := scenario(short(), other)
	each(&s, func(r *verify.Reading) {
		// A slow swing of 0.4 K over the sweep, which moves the leakage: the reading follows it.
		swing := 0.4 * math.Sin(float64(r.Wavelength)*2e8)
		before, after := short(), short()
		nm, c := float64(r.Wavelength)*1e9, r.Temperature.Celsius()
		iso(r).Value += 10 * math.Log10(before.at(verify.Backward, nm, c).Mean()/after.at(verify.Backward, nm,
			c+swing).Mean())
		r.Temperature += quantity.Temperature(swing)
	})
	r := run(t, s)
	if len(r.Runs) != 3 {
		t.Fatalf("got %d runs, want 3", len(r.Runs))
	}
	d := r.Diagnosis.Departures[0]
	if math.Abs(d.Value-44.4) > 3*d.Sigma || r.Diagnosis.Agreement != document.Pass {
		t.Errorf("got %.3f ± %.3f deg, agreement %v; want 44.4 and pass", d.Value, d.Sigma, r.Diagnosis.Agreement)
	}
}

// TestNothingFitted: with no parameter named the readings are only compared with the specification.
func TestNothingFitted(t *testing.T) {
	s := scenario(short(), other)
	s.Fit = nil
	r := run(t, s)
	if r.Diagnosis.Fitted || len(r.Diagnosis.Explanations) != 1 || r.Agreement.Outcome != document.Fail {
		t.Errorf("got %+v, %v", r.Diagnosis, r.Agreement)
	}
	if r.Curves[0].Diagnosed.Value != nil {
		t.Error("a diagnosed curve without a fit")
	}
}

// TestOnlyLoss: a forward sweep alone is verified as far as it goes.
func TestOnlyLoss(t *testing.T) {
	s := scenario(good(), other)
	for i := range s.Readings.Rows {
		iso(&s.Readings.Rows[i]).Value = math.NaN()
	}
	r := run(t, s)
	if len(r.Points) != 0 || len(r.Losses) != len(s.Readings.Rows) {
		t.Errorf("got %d and %d points", len(r.Points), len(r.Losses))
	}
	if r.Agreement.Outcome != document.Undecided || r.Conformity.Outcome != document.Undecided ||
		r.Quality.Outcome != document.Fail {
		t.Errorf("got %v, %v, %v; want undecided, undecided, fail", r.Agreement, r.Conformity, r.Quality)
	}
	if r.Decisions[2].Outcome != document.Pass {
		t.Errorf("the loss limit: got %v, want pass", r.Decisions[2].Outcome)
	}
}

// TestPlainData: the result holds no NaN and no infinity, whatever the data, and is the same every time.
func TestPlainData(t *testing.T) {
	perfect := nominal
	perfect.extinction = math.Inf(1)
	for name, change := range map[string]func(*verify.Spec){
		"as it is": func(*verify.Spec) {},
		"no loss": func(s *verify.Spec) {
			each(s,
				func(r *verify.Reading) { ins(r).Value = math.NaN() })
		},
		"no PDL":              func(s *verify.Spec) { each(s, func(r *verify.Reading) { pdl(r).Value = math.NaN() }) },
		"min-max":             func(s *verify.Spec) { s.Readings.Polarization = verify.MinMax },
		"one row":             func(s *verify.Spec) { s.Readings.Rows = s.Readings.Rows[:1] },
		"four rows":           func(s *verify.Spec) { s.Readings.Rows = s.Readings.Rows[:4] },
		"no limits":           func(s *verify.Spec) { s.Limits = nil },
		"no tolerances":       func(s *verify.Spec) { s.Tolerances = nil },
		"all below the floor": func(s *verify.Spec) { each(s, func(r *verify.Reading) { iso(r).Value = 65 }) },
		"infinite degrees":    func(s *verify.Spec) { s.Budget.Contributions[0].DOF = math.Inf(1) },
		"perfect extinction":  func(s *verify.Spec) { s.Model = perfect; delete(s.Tolerances, "rotator1.extinction") },
	} {
		s := scenario(short(), other)
		change(&s)
		r := run(t, s)
		if _, err := json.Marshal(r); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if again := run(t, s); !reflect.DeepEqual(r, again) {
			t.Errorf("%s: a second run differs", name)
		}
	}
}

func each(s *verify.Spec, change func(*verify.Reading)) {
	for i := range s.Readings.Rows {
		change(&s.Readings.Rows[i])
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := verify.Run(ctx, scenario(good(), other)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}

func TestRefusals(t *testing.T) {
	for want, change := range map[string]func(*verify.Spec){
		"needs a model":       func(s *verify.Spec) { s.Model = nil },
		"no readings":         func(s *verify.Spec) { s.Readings.Rows = nil },
		"source polarization": func(s *verify.Spec) { s.Readings.Polarization = "circular" },
		"limit 2: limit on":   func(s *verify.Spec) { s.Limits[1].Quantity = "gain" },
		"uncertainty budget:": func(s *verify.Spec) { s.Budget.Contributions[0].Value = quantity.Of(1, "deg") },
		`fit: the model has no parameter "rotator1.turn": it has wedge1.axis`: func(s *verify.Spec) {
			s.Fit = []string{"rotator1.turn"}
		},
		"fit names": func(s *verify.Spec) { s.Fit = []string{"rotator1.angle", "rotator1.angle"} },
		"tolerances: the model has no": func(s *verify.Spec) {
			s.Tolerances["x.y"] = verify.Tolerance{Shape: verify.Normal}
		},
		"expected normal or uniform": func(s *verify.Spec) {
			s.Tolerances["rotator1.angle"] = verify.Tolerance{Value: quantity.Of(1,
				"deg")}
		},
		"a length; expected an angle": func(s *verify.Spec) {
			s.Tolerances["rotator1.angle"] = verify.Tolerance{Shape: verify.Normal, Value: quantity.Of(1, "nm")}
		},
		"line 6: no uncertainty for this reading " +
			"alone": func(s *verify.Spec) { s.Budget.Contributions = s.Budget.Contributions[1:] },
		"line 8: u(isolation) is 0 dB, expected a positive": func(s *verify.Spec) { iso(&s.Readings.Rows[2]).U = 0 },
		"no reading of isolation": func(s *verify.Spec) {
			each(s,
				func(r *verify.Reading) { r.Figures = nil })
		},
	} {
		s := scenario(good(), other)
		change(&s)
		if _, err := verify.Run(context.Background(), s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// TestQuality names what is wrong with the data, one thing at a time.
func TestQuality(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*verify.Spec)
		want   document.Outcome
		says   string
	}{
		{"good", func(*verify.Spec) {}, document.Pass, "checks made pass"},
		{"fixed", func(s *verify.Spec) { s.Readings.Polarization = verify.FixedUnknown }, document.Fail,
			"fixed and unknown"},
		{"unstated", func(s *verify.Spec) { s.Readings.Polarization = verify.Unstated }, document.Undecided,
			"not stated"},
		{"calibration", func(s *verify.Spec) { s.Readings.Meta[1][1] = "2026-11-17" }, document.Fail,
			"is before the measurement on 2026-11-18"},
		{"no date", func(s *verify.Spec) { s.Readings.Meta = s.Readings.Meta[1:] }, document.Undecided,
			"the date of the measurement"},
		{"bad date", func(s *verify.Spec) { s.Readings.Meta[1][1] = "next spring" }, document.Undecided,
			"a date such as"},
		{"no calibration", func(s *verify.Spec) { s.Readings.Meta = nil }, document.Pass, "no calibration due date"},
		{"required and there", func(s *verify.Spec) { s.Require = []string{"Unit", "measured"} }, document.Pass,
			"checks made pass"},
		{"required and absent", func(s *verify.Spec) { s.Require = []string{"measured", "operator", "Bench"} },
			document.Fail, "the file does not state operator, Bench; expected a line such as \"# operator: ...\""},
		{"repeats", func(s *verify.Spec) { repeated(s, 0.02) }, document.Pass, "checks made pass"},
		{"drift", func(s *verify.Spec) { repeated(s, 0.3) }, document.Fail,
			"repeat 2 differs from the first sweep by +0.3"},
		{"old reference", func(s *verify.Spec) {
			s.Readings.Meta = append(s.Readings.Meta, [2]string{"reference taken", "2026-11-10"})
		}, document.Undecided, "8 days before"},
		{"late reference", func(s *verify.Spec) {
			s.Readings.Meta = append(s.Readings.Meta, [2]string{"reference taken", "2026-11-20"})
		}, document.Fail, "after the measurement"},
		{"floor", func(s *verify.Spec) { s.Budget.Floor.Level = quantity.Of(38, "dB") }, document.Fail,
			"the fixture floor, 38.0 dB, exceeds the 30.00 dB limit by 8.0 dB"},
		{"cold", func(s *verify.Spec) {
			s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows,
				func(r verify.Reading) bool { return r.Temperature < quantity.Celsius(0) })
		}, document.Fail, "no isolation reading within 1 K of -5 °C"},
		{"band", func(s *verify.Spec) {
			s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows,
				func(r verify.Reading) bool { return r.Wavelength > 1560*quantity.Nanometre })
		}, document.Fail, "1560 nm to 1565 nm at 23 °C"},
		{"spacing", func(s *verify.Spec) {
			s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows, func(r verify.Reading) bool {
				return r.Wavelength > 1545.1*quantity.Nanometre && r.Wavelength < 1549.9*quantity.Nanometre
			})
		}, document.Fail, "the widest gap between readings in the band is 5 nm"},
	} {
		in := other
		in.step = 1
		s := scenario(good(), in)
		c.change(&s)
		r := run(t, s)
		if r.Quality.Outcome != c.want || !strings.Contains(r.Quality.Sentence, c.says) {
			t.Errorf("%s: got %v, %q; want %v and %q", c.name, r.Quality.Outcome, r.Quality.Sentence, c.want, c.says)
		}
		if c.name == "cold" || c.name == "band" {
			if d := r.Decisions[1]; d.Covered || d.Outcome != document.Undecided {
				t.Errorf("%s: a limit the data do not cover is %v, covered %v", c.name, d.Outcome, d.Covered)
			}
		}
	}
}

// repeated adds a second sweep of everything, off by some dB, with noise of its own and all else as in the first.
func repeated(s *verify.Spec, by float64) {
	again := other
	again.step, again.again = 1, 77
	for _, r := range again.measure(good()).Rows {
		r.Repeat, r.Line = 2, r.Line+1000
		iso(&r).Value, ins(&r).Value = iso(&r).Value+by, ins(&r).Value+by
		s.Readings.Rows = append(s.Readings.Rows, r)
	}
}

// TestUncoveredButFailing: what was not measured cannot mend what was.
func TestUncoveredButFailing(t *testing.T) {
	s := scenario(leaky(), other)
	s.Limits = limits.Limits{band(30, 23, 40)}
	if d := run(t, s).Decisions[0]; d.Covered || d.Outcome != document.Fail {
		t.Errorf("got %v, covered %v; want a failure of an uncovered limit", d.Outcome, d.Covered)
	}
}

// TestBudgetOfALimit adds the budget up by hand for a reading far from the null, where the slopes are known
// in closed form: A = -20 log10 sin D, dA/dD = -8.686 cot D.
func TestBudgetOfALimit(t *testing.T) {
	in := instrument{step: 0.5, temperatures: []float64{23}, noise: 0.05, common: 0.04, wavelength: 0.02,
		temperature: 0.5, seed: 5}
	unit := nominal
	unit.extinction = 90
	s := scenario(unit, in)
	s.Model = unit
	s.Readings.Polarization = verify.MinMax // no polarization correction
	s.Limits = limits.Limits{band(20, 23, 23)}
	s.Limits[0].Low, s.Limits[0].High = 1579*quantity.Nanometre, 1580*quantity.Nanometre
	s.Tolerances, s.Fit = nil, nil
	r := run(t, s)
	nm := float64(r.Decisions[0].Wavelength) * 1e9
	cot := 1 / math.Tan(0.07*(nm-1550)*math.Pi/180)
	perDegree := 20 / math.Ln10 * cot * math.Pi / 180
	want := map[string]float64{"repeatability": 0.05, "power_meter": 0.04, "wavelength": 0.02 * 0.07 * perDegree,
		"temperature": 0.5 * 0.06 * perDegree}
	sum := 0.0
	for _, l := range r.Budgets[0].Lines {
		if l.Name == "repeatability" { // through the curve
			if !(l.Contribution > 0.3*want[l.Name] && l.Contribution < want[l.Name]) {
				t.Errorf("repeatability: got %.4f dB, want less than %.4f dB", l.Contribution, want[l.Name])
			}
			want[l.Name] = l.Contribution
		}
		// The reading has noise, and the slopes act on what was read: within a percent or two.
		if math.Abs(l.Contribution-want[l.Name]) > 0.03*want[l.Name] {
			t.Errorf("%s: got %.4f dB, want %.4f dB", l.Name, l.Contribution, want[l.Name])
		}
		sum += want[l.Name] * want[l.Name]
	}
	if got := r.Decisions[0].Expanded; math.Abs(got-2*math.Sqrt(sum)) > 0.03*got {
		t.Errorf("expanded uncertainty: got %.3f dB, want %.3f dB", got, 2*math.Sqrt(sum))
	}
	if len(r.Budgets[0].Lines) != len(want) {
		t.Errorf("got %d lines, want %d", len(r.Budgets[0].Lines), len(want))
	}
	if b := r.Budgets[0]; b.K != 2 || b.DOF != 0 {
		t.Errorf("got k = %g with %g degrees of freedom, want 2 with none poorly known", b.K, b.DOF)
	}
}

// TestBudgetOfStatedAbscissae: what a file states of the wavelength and the temperature of its readings counts as what
// a budget states for each of them, and in its place.
func TestBudgetOfStatedAbscissae(t *testing.T) {
	base := scenario(good(), other)
	base.Budget.Contributions = slices.DeleteFunc(slices.Clone(base.Budget.Contributions),
		func(c uncertainty.Contribution) bool {
			return c.Name == "wavelength" || c.Name == "temperature"
		})
	budgeted, both := base, base
	budgeted.Budget.Contributions = append(slices.Clone(base.Budget.Contributions),
		uncertainty.Contribution{Name: "wavelength", Value: quantity.Of(0.03, "nm"), Shared: uncertainty.ByPoint},
		uncertainty.Contribution{Name: "temperature", Value: quantity.Of(0.4, "kelvin"), Shared: uncertainty.ByPoint})
	both.Budget.Contributions = append(slices.Clone(base.Budget.Contributions),
		uncertainty.Contribution{Name: "wavelength", Value: quantity.Of(3, "nm"), Shared: uncertainty.ByPoint},
		uncertainty.Contribution{Name: "temperature", Value: quantity.Of(40, "kelvin"), Shared: uncertainty.ByPoint})
	want := run(t, budgeted)
	for _, s := range []verify.Spec{base, both} {
		s.Readings.Rows = slices.Clone(s.Readings.Rows)
		for i := range s.Readings.Rows {
			s.Readings.Rows[i].UWavelength, s.Readings.Rows[i].UTemperature = 0.03*quantity.Nanometre, 0.4
		}
		got := run(t, s)
		for k, p := range want.Points {
			if math.Abs(got.Points[k].Standard-p.Standard) > 1e-9*p.Standard {
				t.Fatalf("line %d: u of the amplitude %g, want %g", p.Line, got.Points[k].Standard, p.Standard)
			}
		}
		for k, d := range want.Decisions {
			if math.Abs(got.Decisions[k].Expanded-d.Expanded) > 1e-9*d.Expanded {
				t.Errorf("U of decision %d: %g, want %g", k, got.Decisions[k].Expanded, d.Expanded)
			}
		}
		for _, l := range got.Budgets[0].Lines {
			if l.Name == "wavelength, stated in the file" && math.Abs(l.Standard-0.03) > 1e-12 {
				t.Errorf("%+v, want 0.03 nm", l)
			}
		}
	}
}

// TestFewRepeats: a repeatability of four degrees of freedom widens the interval of a reading, of a key figure and
// of a limit, by Student's t with as many degrees of freedom as Welch and Satterthwaite leave.
func TestFewRepeats(t *testing.T) {
	s := scenario(good(), other)
	s.Budget.Floor = nil
	s.Budget.Contributions = []uncertainty.Contribution{{Name: "repeatability", Value: quantity.Of(0.05, "dB"), DOF: 4},
		{Name: "power_meter", Value: quantity.Of(0.05, "dB")}}
	r := run(t, s)
	// u^4 (1 + 1)^2 / (u^4/4) = 16; t for 95.45 % and 16 degrees of freedom is 2.17 (JCGM 100:2008, table G.2).
	const k, printed = 2.17, 0.005
	if p := r.Points[100]; math.Abs(p.U/p.Standard-k) > printed || p.Censored {
		t.Errorf("a reading: k = %.4f, want %g", p.U/p.Standard, k)
	}
	if p := r.Losses[100]; math.Abs(p.U/p.Standard-k) > printed {
		t.Errorf("a loss: k = %.4f, want %g", p.U/p.Standard, k)
	}
	if b := r.Budgets[1]; b.Figure == "" || len(b.Lines) != 3 { // with the way from the mean to the worst polarization
		t.Errorf("got %+v", b)
	}
	for _, f := range r.Figures {
		if f.Name != "insertion loss" {
			continue
		}
		// The mean of 5 readings: u^2 (1/5 + 1), dof (6/5)^2 * 25 * 4 = 144, for which t is 2.02.
		if u := math.Sqrt(0.05 * 0.05 * 1.2); math.Abs((f.High-f.Low)/2/u-2.017) > printed {
			t.Errorf("%s: k = %.4f, want 2.017", f.Name, (f.High-f.Low)/2/u)
		}
	}
}

// TestPeaks: the peaks and their shift are those of the closed form.
func TestPeaks(t *testing.T) {
	in := instrument{step: 0.5, temperatures: []float64{-5, 23, 70}, noise: 0.001, seed: 8}
	s := scenario(nominal, in)
	s.Budget = uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "repeatability",
		Value: quantity.Of(0.001, "dB")}}}
	want := map[string]float64{"-5 °C": 1574, "23 °C": 1550, "70 °C": 1550 - 0.06*47/0.07,
		"-5 °C to 70 °C": -0.06 / 0.07}
	seen := 0
	for _, f := range run(t, s).Figures {
		if f.Unit != "nm" && f.Unit != "nm/K" {
			continue
		}
		seen++
		// The parabola misses the quartic term of sin^2 by less than this where the window is cut off at
		// the end of the sweep; the noise is smaller.
		tolerance := 0.05
		if f.Unit == "nm/K" {
			tolerance = 0.001
		}
		if !f.Determined || math.Abs(f.Measured-want[f.Condition]) > tolerance {
			t.Errorf("%s at %s: got %.3f %s, want %.3f", f.Name, f.Condition, f.Measured, f.Unit, want[f.Condition])
		}
	}
	if seen != len(want) {
		t.Errorf("%d figures of peaks, want %d", seen, len(want))
	}
}
