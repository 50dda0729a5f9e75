package readings

import (
	"strings"
	"testing"

	"wedgework/reports/limits"
)

// TestNotCompared: a limit on what is not compared is not covered, and says so; it can then never be met.
func TestNotCompared(t *testing.T) {
	for _, q := range []limits.Quantity{limits.DGD, limits.ReturnLoss} {
		if ok, why := (&Set{}).Covered(limits.Limit{Quantity: q}, 0); ok || !strings.Contains(why,
			"does not compare readings of "+q.String()) {
			t.Errorf("%s: covered %t, %q", q, ok, why)
		}
	}
}
