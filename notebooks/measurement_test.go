package notebooks

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/dsi"
	"wedgework/reports/dsi/dsitest"
	"wedgework/reports/record"
)

// sameMeasurements asks that the record for other programs holds every digit of a record that it carries.
func sameMeasurements(t *testing.T, r *record.Record) {
	t.Helper()
	data, err := dsi.Write(r)
	if err != nil {
		t.Fatal(err)
	}
	got, err := dsitest.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	var want []record.Unit
	for _, u := range r.Units {
		carried := record.Unit{Unit: u.Unit, Lot: u.Lot, Input: u.Input, Measured: u.Measured, Verdicts: u.Verdicts,
			Figures: u.Figures, Diagnosis: record.Diagnosis{Fitted: u.Diagnosis.Fitted}}
		for _, l := range u.Limits {
			l.Risk = nil // under a prior; not carried
			carried.Limits = append(carried.Limits, l)
		}
		want = append(want, carried)
	}
	if diff := cmp.Diff(got, want); diff != "" {
		t.Errorf("-read back +record:\n%s", diff)
	}
}

// measurementOf writes the record for other programs beside others of a test, from a record; it returns its path.
func measurementOf(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r, err := record.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	out, err := dsi.Write(r)
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), dsi.FileName)
	if err := os.WriteFile(path, out, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}
