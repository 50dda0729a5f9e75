package lot

import "testing"

// Signals bear the number of the rule that they break, as the report prints it: nine values in a row on one side of
// the line are rule 2, seven that rise rule 3 (ISO 7870-2).
func TestSignalsBearTheirRule(t *testing.T) {
	rules := func(values []float64) map[int]bool {
		found := map[int]bool{}
		for _, s := range NewChart(values).Signals {
			found[s.Rule] = true
			if s.Rule < 1 || s.Rule > 3 {
				t.Errorf("%v: rule %d", values, s.Rule)
			}
		}
		return found
	}
	if got := rules([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}); !got[3] {
		t.Errorf("values that rise break the rules %v, want 3 among them", got)
	}
	above := []float64{-8, -8.2, -7.9, 2, 2.1, 2, 2.2, 2.1, 2, 2.1, 2.2, 2.1, 2, 2.2, 2.1, 2, 2.1}
	if got := rules(above); !got[2] {
		t.Errorf("values on one side break the rules %v, want 2 among them", got)
	}
}
