package index

import "testing"

// What a value is called on the page: limits in words, parameters as a cell writes them.
func TestValuesAreCalled(t *testing.T) {
	for want, v := range map[string]Value{
		"insertion loss":           {Kind: "limit", Name: "insertion_loss"},
		"rotator1.half_wave_plate": {Kind: OfParameter, Name: "rotator1.half_wave_plate"},
	} {
		if got := v.said(); got != want {
			t.Errorf("%q is called %q, want %q", v.Name, got, want)
		}
	}
}
