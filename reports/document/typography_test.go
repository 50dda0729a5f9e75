package document

import "testing"

func TestSentence(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"", ""},
		{"all 9 figures agree", "All 9 figures agree."},
		{"rotator1.angle is -0.5 deg", "rotator1.angle is −0.5 deg."},
		{"χ² is small", "χ² is small."},
		{"isolation (1535 nm to 1565 nm, -5 °C to 70 °C): 22 ± -1 dB.",
			"Isolation (1535 to 1565 nm, −5 to 70 °C): 22 ± −1 dB."},
		{"fail when it is at most -w, 10^(-A/20)", "Fail when it is at most −w, 10^(−A/20)."},
		{"fixed-unknown, 2026-11-18, --data and -front", "Fixed-unknown, 2026-11-18, --data and -front."},
		{"|E_n| and chi-squared", "|En| and χ²."},
	} {
		if got := Sentence(c.in); got != c.want {
			t.Errorf("Sentence(%q) = %q, want %q", c.in, got, c.want)
		}
	}
	if got, want := Sentences("wedge1.axis is off; for the rest, nothing"),
		"wedge1.axis is off. For the rest, nothing."; got != want {
		t.Errorf("Sentences: got %q, want %q", got, want)
	}
}
