package pdf

import "testing"

// The expected orders are worked by hand from the rules of UAX #9, Hebrew letters standing in for the capital
// letters of its examples.
func TestVisual(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"left to right only", "loss (dB) 12", "loss (dB) 12"},
		{"right to left only", "אבג", "גבא"},
		{"a word within", "car אבג is", "car גבא is"},
		{"two words within", "car אב גד is", "car דג בא is"},
		{"a number within", "car אב 12 גד is", "car דג 12 בא is"},
		{"a number after", "car אב 12, is", "car 12 בא, is"},
		{"a number before", "12 אב", "בא 12"},
		{"brackets are mirrored", "אב (גד) ה", "ה (דג) בא"},
		{"the whole line turns", "אב car גד", "דג car בא"},
		{"a stop at the end", "car אב.", "car בא."},
		{"a stop at the end of a turned line", "אב.", ".בא"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := visual(tt.in); got != tt.want {
				t.Errorf("visual(%q) = %q, want %q", tt.in, got, tt.want)
			}
		})
	}
}
