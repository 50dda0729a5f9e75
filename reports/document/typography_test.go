package document

import "testing"

func TestSentence(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"", ""},
		{"all 9 figures agree", "All 9 figures agree."},
		{"rotator1.angle is -0.5 deg", "rotator1.angle is −0.5°."},
		{"a waist of 180 um (at 3 deg), 5 degrees, 0.1 deg/K", "A waist of 180 µm (at 3°), 5 degrees, 0.1 deg/K."},
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

// TestUnbroken: a number and its unit are not parted at the end of a line; what is no unit may be.
func TestUnbroken(t *testing.T) {
	for in, want := range map[string]string{
		"1535 to 1565 nm, 23 °C":   "1535 to 1565\u00a0nm, 23\u00a0°C",
		"0.20 dB; 95 % (see 3 mm)": "0.20\u00a0dB; 95\u00a0% (see 3\u00a0mm)",
		"line 7 may hide":          "line 7 may hide",
		"10 dBm":                   "10\u00a0dBm",
		"unit 0418 metres":         "unit 0418 metres",
	} {
		if got := Unbroken(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}
