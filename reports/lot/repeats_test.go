package lot

import (
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// Two files of a unit are tests of it where both read the same figure at one temperature and over one range, in one
// condition; a file of isolation and one of insertion loss complete each other.
func TestWhatRepeats(t *testing.T) {
	file := func(sha, condition string, celsius, low float64, q limits.Quantity) *verify.Result {
		return &verify.Result{Unit: "7", Lot: "1", SHA256: sha, Condition: condition, Runs: []verify.Sweep{{
			Temperature: quantity.Celsius(celsius), Low: quantity.Length(low * 1e-9), High: quantity.Length((low + 30) * 1e-9),
			Count: map[limits.Quantity]int{q: 31}}}}
	}
	one := file("a", "", 23, 1535, limits.Isolation)
	for what, c := range map[string]struct {
		other *verify.Result
		want  bool
	}{
		"the same again":       {file("b", "", 23, 1535, limits.Isolation), true},
		"the same bytes":       {file("a", "", 23, 1535, limits.Isolation), false},
		"another figure":       {file("b", "", 23, 1535, limits.InsertionLoss), false},
		"another temperature":  {file("b", "", 70, 1535, limits.Isolation), false},
		"another range":        {file("b", "", 23, 1570, limits.Isolation), false},
		"in another condition": {file("b", "after damp heat", 23, 1535, limits.Isolation), false},
	} {
		if got := repeats(one, c.other); got != c.want {
			t.Errorf("%s: a test of the unit %v, want %v", what, got, c.want)
		}
	}
}
