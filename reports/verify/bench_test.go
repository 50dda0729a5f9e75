package verify_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/verifytest"
)

// demo is the verification of a demo unit as notebooks/verify-single-stage.ipynb states it.
func demo(t testing.TB, unit string) verify.Spec {
	t.Helper()
	name := "lot-26-11-unit-" + unit + ".csv"
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", name))
	if err != nil {
		t.Fatal(err)
	}
	table, err := measured.Read(measured.NewFile(name, data))
	if err != nil {
		t.Fatal(err)
	}
	readings, err := verify.FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	loss := band(0.6, 23, 23)
	loss.Quantity, loss.AtLeast = limits.InsertionLoss, false
	spec := verify.Spec{Model: verify.ForStack(verifytest.SingleStage(t, 42, 0.0002)), Readings: readings,
		Limits: limits.Limits{band(30, 23, 23), loss, band(22, -5, 70)},
		Tolerances: map[string]verify.Tolerance{
			"rotator1.angle":      {Shape: verify.Uniform, Value: quantity.Of(0.3, "deg")},
			"rotator1.extinction": {Shape: verify.Uniform, Value: quantity.Of(3, "dB")},
			"wedge2.axis":         {Shape: verify.Uniform, Value: quantity.Of(0.15, "deg")},
			"beam.loss":           {Shape: verify.Normal, Value: quantity.Of(0.02, "dB")},
		},
		Fit: []string{"rotator1.angle", "rotator1.extinction"},
	}
	for _, c := range []struct {
		name  string
		value quantity.Quantity
	}{{"repeatability", quantity.Of(0.04, "dB")}, {"power_meter", quantity.Of(0.03, "dB")},
		{"reference", quantity.Of(0.02, "dB")},
		{"wavelength", quantity.Of(0.02, "nm")}, {"temperature", quantity.Of(0.3, "kelvin")}} {
		spec.Budget.Contributions = append(spec.Budget.Contributions, uncertainty.Contribution{Name: c.name,
			Value: c.value})
	}
	spec.Budget.Floor = &uncertainty.Floor{Level: quantity.Of(62, "dB"), Uncertainty: quantity.Of(0.5, "dB")}
	return spec
}

// A demo unit from readings to verdicts, 483 readings each way at three temperatures.
func BenchmarkRun(b *testing.B) {
	for _, unit := range []string{"0417", "0418", "0419"} {
		s := demo(b, unit)
		b.Run(unit, func(b *testing.B) {
			for b.Loop() {
				if _, err := verify.Run(context.Background(), s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
