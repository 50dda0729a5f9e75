package publish

import (
	"strings"
	"testing"
)

const was = `{"schema":"wedgework record","version":1,"program":{"version":"0.2"},"number":"A","units":[{"unit":"0417",
"verdicts":[{"subject":"limit conformity","outcome":"pass","sentence":"every limit is met; 0.35 dB of 0.6 dB"}],
"limits":[{"quantity":"isolation","limit":"30.00","measured":"33.10","outcome":"pass"}]}],"cautions":["old"],
"constants":[{"name":"YVO4","sha256":"00"}],"lots":[{"lot":"26-11","units":[{"unit":"0417","verdicts":["pass"]}]}]}`

const cell = `{"cells":[{"cell_type":"code","execution_count":1,"id":"a","metadata":{},"source":"1","outputs":[` +
	`{"output_type":"stream","name":"stdout","text":"isolation 33.10 dB\n"}]}],"metadata":{},"nbformat":4,"nbformat_minor":5}`

// What another version of the program says of the same readings: other words and further fields leave a report valid,
// any other figure or outcome does not.
func TestSameFigures(t *testing.T) {
	for _, c := range []struct {
		name, old, new string
		same           bool
	}{
		{"nothing", "", "", true},
		{"the version", `"0.2"`, `"0.3"`, true},
		{"the number", `"number":"A"`, `"number":"B"`, true},
		{"the file of a constant", `"00"`, `"01"`, true},
		{"words", "every limit is met; 0.35 dB of 0.6 dB", "all limits are met: 0.35 dB of 0.6 dB", true},
		{"a further field", `"measured":`, `"bias":"0.02","measured":`, true},
		{"a figure", "33.10", "33.11", false},
		{"its sign", `"measured":"33.10"`, `"measured":"-33.10"`, false},
		{"a figure in a sentence", "0.35 dB", "0.36 dB", false},
		{"a figure less", `"measured":"33.10",`, "", false},
		{"an outcome", `"33.10","outcome":"pass"`, `"33.10","outcome":"fail"`, false},
		{"an outcome of a lot", `["pass"]`, `["fail"]`, false},
		{"a caution", `["old"]`, `["old","mind the floor"]`, false},
	} {
		s := &Standing{json: []byte(was), notebook: []byte(cell)}
		is := strings.Replace(was, c.old, c.new, 1)
		if got := s.sameFigures([]byte(is), []byte(cell)); got != c.same {
			t.Errorf("%s: %v, want %v", c.name, got, c.same)
		}
	}
	s := &Standing{json: []byte(was), notebook: []byte(cell)}
	if s.sameFigures([]byte(was), []byte(strings.Replace(cell, "33.10", "33.20", 1))) {
		t.Error("a figure that a cell prints has changed, and the report is taken for valid")
	}
	if (&Standing{}).sameFigures([]byte(was), []byte(cell)) {
		t.Error("nothing stands, and it is taken for valid")
	}
}
