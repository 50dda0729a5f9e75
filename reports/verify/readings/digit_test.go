package readings

import (
	"testing"

	"wedgework/reports/limits"
	"wedgework/reports/measured"
)

// TestDigitOfFile: readings of 40.00 are given to 0.01 dB, which the number 40 does not show.
func TestDigitOfFile(t *testing.T) {
	table, err := measured.Read(measured.NewFile("stuck.csv",
		[]byte("wavelength [nm],temperature [degC],isolation [dB]\n1550,23,40.00\n1551,23,40.00\n")))
	if err != nil {
		t.Fatal(err)
	}
	r, err := FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	if got := r.Digit[limits.Isolation]; got < 0.0099 || got > 0.0101 {
		t.Errorf("got %g dB, want 0.01 dB", got)
	}
}
