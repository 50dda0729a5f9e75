package lot

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// The data of capability_cpcon50.csv (SAS/QC sample CPCON: amplifier gain, limits 0.8 and 2.4) and of
// capability_pistonrings.csv (D. C. Montgomery, Introduction to Statistical Quality Control: 25 subgroups of five,
// limits 73.95 and 74.05) stand in testdata/published. The figures were worked out with scipy (norm, nct); the interval
// is the one that NIST's e-Handbook 6.1.6 prints.
func TestCapabilityPublished(t *testing.T) {
	none := math.NaN()
	amps := published(t, "capability_cpcon50.csv")
	both := NewCapability(amps, 0.8, 2.4, 0.95)
	near(t, "Cp", both.Cp, 2.005745, 1e-6)
	near(t, "Cpk", both.Cpk, 1.808179, 1e-6)
	near(t, "low", both.Low, 1.438454, 2e-6)
	near(t, "high", both.High, 2.177904, 2e-6)
	one := NewCapability(amps, 0.8, none, 0.95)
	near(t, "Cpl", one.Cpk, 1.808179, 1e-6)
	near(t, "exact least", one.Least, 1.494451, 2e-6)
	near(t, "Cpu", NewCapability(amps, none, 2.4, 0.95).Cpk, 2.203311, 1e-6)
	near(t, "exact least, 97.5 %", NewCapability(amps, 0.8, none, 0.975).Least, 1.438675, 2e-6)
	if !math.IsNaN(one.Cp) {
		t.Errorf("Cp of one limit: %g", one.Cp)
	}
	rings := NewCapability(published(t, "capability_pistonrings.csv"), 73.95, 74.05, 0.95)
	near(t, "Pp", rings.Cp, 1.655086, 1e-6)
	near(t, "Ppk", rings.Cpk, 1.616159, 1e-6)
	near(t, "Ppk low", rings.Low, 1.406699, 2e-6)
	near(t, "Ppk high", rings.High, 1.825618, 2e-6)
}

// published reads the numbers of a file; the last column is the value.
func published(t *testing.T, name string) []float64 {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []float64
	for _, row := range rows {
		if v, err := strconv.ParseFloat(row[len(row)-1], 64); err == nil {
			all = append(all, v)
		}
	}
	return all
}

func TestCapabilityOfNothing(t *testing.T) {
	none := math.NaN()
	for what, c := range map[string]*Capability{
		"one value":  NewCapability([]float64{1}, 0, none, 0.95),
		"all alike":  NewCapability([]float64{0.1, 0.1, 0.1}, 0, none, 0.95),
		"no limit":   NewCapability([]float64{1, 2, 3}, none, none, 0.95),
		"confidence": NewCapability([]float64{1, 2, 3}, 0, none, 1),
	} {
		if c != nil {
			t.Errorf("%s: %+v", what, c)
		}
	}
	if c := NewCapability([]float64{-1, -2, -3}, 0, none, 0.95); c.Cpk >= 0 || !math.IsNaN(c.Least) {
		t.Errorf("a mean beyond the limit: %+v", c)
	}
}
