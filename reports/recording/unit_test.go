package recording

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

func result() *verify.Result {
	isolation := limits.Limit{
		Quantity: limits.Isolation, AtLeast: true, Value: 30,
		Low: 1535e-9, High: 1565e-9, TemperatureLow: quantity.Celsius(-5), TemperatureHigh: quantity.Celsius(70),
	}
	at23 := isolation
	at23.TemperatureLow, at23.TemperatureHigh = quantity.Celsius(23), quantity.Celsius(23)
	return &verify.Result{
		Unit: "0418", Lot: "26-11", File: "0418.csv",
		Agreement:  verify.Verdict{Outcome: document.Fail, Sentence: "a"},
		Conformity: verify.Verdict{Outcome: document.Undecided, Sentence: "b"},
		Quality:    verify.Verdict{Outcome: document.Pass, Sentence: "c"},
		Decisions: []verify.Decision{
			{
				Decision:  limits.Decide(at23, uncertainty.Estimate{Value: 31.204, Standard: 0.1}),
				Statistic: "raw minimum of 301 readings", Covered: true, Decided: true,
			},
			{Decision: limits.Decision{Limit: isolation, Outcome: document.Undecided},
				Uncovered: "no readings at -5 °C"},
		},
		Figures: []verify.Figure{
			{Name: "least isolation", Condition: "23 °C", Unit: "dB", Determined: true, Measured: 31.204, Low: 31.0,
				High:      31.41,
				Specified: verify.FigureComparison{Value: 35, Low: 33, High: 38.126, En: -2.004},
				Diagnosed: verify.FigureComparison{Value: 31.2, Low: 31.1, High: 31.3, En: 0}},
			{Name: "wavelength of the isolation peak", Condition: "-5 °C", Unit: "nm", Determined: true,
				Measured: 1565.559, Low: 1565.065, High: 1566.053,
				Specified: verify.FigureComparison{Value: 1574.003, Low: 1568.433, High: 1579.507, En: -1.51},
				Diagnosed: verify.FigureComparison{}},
			{Name: "wavelength of the isolation peak", Unit: "nm", Why: "it lies outside the readings"},
		},
		Diagnosis: verify.Diagnosis{
			Fitted: true, Sentence: "short", Causes: []string{"rotator1.angle"},
			Departures: []verify.Departure{{
				Fitted: verify.Fitted{Path: "rotator1.angle", Unit: quantity.MustNamed("deg"), Value: 44.4188,
					Low: 44.38, High: 44.46},
				Nominal: quantity.Of(45, "deg"), Departure: -0.5812, U: 0.041, Tolerance: 0.3, Within: document.Fail,
				Alike:       []verify.Alike{{Path: "wedge2.axis"}, {Path: "wedge1.axis"}},
				Combination: "rotator1.angle + wedge2.axis",
			}},
			Explanations: []verify.Explanation{{Label: "columns swapped", Gross: true, ChiSquared: 101.26, DOF: 99,
				PValue: 0.42, AICc: 105.44}, {Label: "as specified", ChiSquared: 900, DOF: 101, AICc: 900,
				Delta: 794.56}},
			Gross: []string{"columns swapped"},
			Correction: &verify.Correction{Path: "wedge2.roll", Part: "wedge2", Turn: quantity.Of(0.5971, "deg"),
				U:     0.0204,
				Gains: []verify.Gain{{Limit: 0, Condition: "23 °C", Before: 31.204, After: 38.117}},
				Loss:  [2]float64{0.4, 0.4123}},
		},
		Outliers: []verify.Outlier{{Line: 17, Wavelength: 1550.1e-9, Temperature: quantity.Celsius(23), Off: -14.26}},
		Budgets: []verify.FigureBudget{{
			Figure: "least isolation", Unit: "dB", Combined: uncertainty.Combined{Standard: 0.0513, K: 2,
				Expanded: 0.1026,
				Lines: []uncertainty.Line{{Name: "power meter", Value: quantity.Of(0.05, "dB"),
					Distribution: uncertainty.Normal, Divisor: 1, Contribution: 0.05, Shared: "run"}}},
		}},
	}
}

func TestUnitRecord(t *testing.T) {
	got := Unit(result(), nil)
	want := record.Unit{
		Unit: "0418", Lot: "26-11", Input: "0418.csv",
		Verdicts: []record.Verdict{
			{Subject: "model agreement", Outcome: "fail", Sentence: "a"},
			{Subject: "limit conformity", Outcome: "undecided", Sentence: "b"},
			{Subject: "data quality", Outcome: "pass", Sentence: "c"},
		},
		Limits: []record.Limit{
			{Quantity: "isolation", Rule: "at least", Limit: "30.00", Unit: "dB", Over: "1535 nm to 1565 nm, 23 °C",
				Statistic: "raw minimum of 301 readings", Measured: "31.20", Margin: "1.20", Uncertainty: "0.20",
				Low: "31.00", High: "31.40", Guard: "1", Decision: limits.Guarded.String(), GuardBand: "0.20",
				Conformance: "0.999999", FalseAcceptance: "0.000001", Outcome: "pass"},
			{Quantity: "isolation", Rule: "at least", Limit: "30.00", Unit: "dB",
				Over: "1535 nm to 1565 nm, -5 °C to 70 °C", Guard: "0",
				Outcome: "undecided", Why: "not covered by the data: no readings at -5 °C"},
		},
		Figures: []record.Compared{
			{Name: "least isolation", At: "23 °C", Unit: "dB", Measured: record.Interval{Value: "31.20", Low: "31.00",
				High: "31.41"},
				Specified: record.Model{Interval: record.Interval{Value: "35.00", Low: "33.00", High: "38.13"},
					NormalizedError: "-2.00"},
				Diagnosed: &record.Model{Interval: record.Interval{Value: "31.20", Low: "31.10", High: "31.30"},
					NormalizedError: "0.00"}},
			{Name: "wavelength of the isolation peak", At: "-5 °C", Unit: "nm",
				Measured: record.Interval{Value: "1565.6", Low: "1565.1", High: "1566.1"},
				Specified: record.Model{Interval: record.Interval{Value: "1574.0", Low: "1568.4", High: "1579.5"},
					NormalizedError: "-1.51"},
				Diagnosed: &record.Model{Interval: record.Interval{Value: "0.0", Low: "0.0", High: "0.0"},
					NormalizedError: "0.00"}},
			{Name: "wavelength of the isolation peak", Unit: "nm", Why: "it lies outside the readings"},
		},
		Diagnosis: record.Diagnosis{
			Sentence: "short", Causes: []string{"rotator1.angle"},
			Fitted: []record.Fitted{{
				Name: "rotator1.angle", Unit: "deg", Specified: "45.000", Value: "44.419", Low: "44.380",
				High:      "44.460",
				Departure: "-0.581", Uncertainty: "0.041", Tolerance: "0.3", Within: "fail",
				Note: "the data fixes rotator1.angle + wedge2.axis only; this data cannot tell it from wedge2.axis, " +
					"wedge1.axis",
			}},
			Explanations: []record.Explanation{
				{Label: "columns swapped", Gross: true, ChiSquared: "101.3", DOF: 99, PValue: "0.420000", AICc: "105.4",
					Above: "0.0", Selected: true},
				{Label: "as specified", ChiSquared: "900.0", DOF: 101, PValue: "0.000001", AICc: "900.0",
					Above: "794.6"},
			},
			Gross: []string{"columns swapped"},
			Correction: &record.Correction{Part: "wedge2", Parameter: "wedge2.roll", Turn: "0.597",
				Uncertainty: "0.020", Unit: "deg",
				Gains: []record.Gain{{At: "23 °C", Before: "31.20", After: "38.12"}}, Cost: "0.012"},
			Outliers: []record.Outlier{{Line: 17, Wavelength: "1550.100", Temperature: "23.00", Residual: "-14.3"}},
		},
		Budgets: []record.Budget{{
			Figure: "least isolation", Unit: "dB", Standard: "0.051", K: "2.00", Expanded: "0.10",
			Contributions: []record.Contribution{{Name: "power meter", Value: "0.05 dB", Distribution: "normal",
				Divisor: "1.000", Shared: "run", Sensitivity: "0.000", Standard: "0.050"}},
		}},
	}
	if diff := cmp.Diff(got, want); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

// Of an extinction ratio that the data only bounds from below there is no upper end and no departure.
func TestFittedAtLeast(t *testing.T) {
	got := Fitted(verify.Departure{Fitted: verify.Fitted{Path: "rotator1.extinction", Unit: quantity.MustNamed("dB"),
		Value: 38, Low: 36.5, AtLeast: true}, Nominal: quantity.Of(40, "dB"), Indeterminate: true})
	if got.High != "" || got.Departure != "" || got.Uncertainty != "" || got.Low != "36.50" {
		t.Errorf("got %+v, want a lower end and nothing above it", got)
	}
	if want := "the data does not depend on it"; got.Note != want {
		t.Errorf("note = %q, want %q", got.Note, want)
	}
}

func TestRecordOfARun(t *testing.T) {
	table := measured.NewFile("a.csv", []byte("# unit: 7\n# shaken\nwavelength [nm],temperature [degC],isolation "+
		"[dB],note\n1550,23,40,\n1551,23,41,\n"))
	other := measured.NewFile("notes.txt", []byte("no table"))
	out := &rerun.Outcome{
		Header:   record.Header{Title: "T"},
		Inputs:   []rerun.Input{{Name: "sweep", Files: []measured.File{table, other}, Bound: true}},
		Settings: []record.Setting{{Name: "apex", Value: "5 deg"}},
		Warnings: []string{"w"},
		Verified: []rerun.Verification{{Result: result()}},
	}
	got := Run(out, record.Program{Name: "wedgework"}, record.Source{Name: "n.ipynb"})
	wantInputs := []record.Input{
		{Name: "sweep", File: record.Source{Name: "a.csv", SHA256: table.SHA256, Bytes: len(table.Data)}, Rows: 2,
			Unit: "7", Meta: []record.Field{{Name: "unit", Value: "7"}},
			Remarks: []string{"shaken"}, Unused: []string{"note"}},
		{Name: "sweep", File: record.Source{Name: "notes.txt", SHA256: other.SHA256, Bytes: 8}},
	}
	if diff := cmp.Diff(got.Inputs, wantInputs); diff != "" {
		t.Errorf("inputs, -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(got.Settings, []record.Setting{{Name: "apex", Value: "5 deg"}}); diff != "" {
		t.Errorf("settings, -got +want:\n%s", diff)
	}
	if len(got.Units) != 1 || got.Header.Title != "T" || got.Cautions[0] != "w" || got.Notebook.Name != "n.ipynb" {
		t.Errorf("got %+v, want one unit, the header, the warning and the notebook", got)
	}
	if b, err := got.Bytes(); err != nil {
		t.Errorf("the record cannot be written: %v\n%s", err, b)
	}
}

func TestParameterRecord(t *testing.T) {
	for _, c := range []struct {
		q    quantity.Quantity
		want record.Figure
	}{
		{quantity.Of(45, "deg"), record.Figure{Name: "p", Value: "45", Unit: "deg"}},
		{quantity.Of(-0.06, "nm"), record.Figure{Name: "p", Value: "-0.06", Unit: "nm"}},
		{quantity.Quantity{Value: 1e-7}, record.Figure{Name: "p", Value: "1e-07"}},
		{quantity.Quantity{Value: math.Inf(1)}, record.Figure{Name: "p"}},
	} {
		got := parameterRecord("p", c.q)
		if got != c.want {
			t.Errorf("got %+v, want %+v", got, c.want)
		}
		if _, err := got.Value.MarshalJSON(); err != nil {
			t.Errorf("%v cannot be written: %v", c.q, err)
		}
	}
}
