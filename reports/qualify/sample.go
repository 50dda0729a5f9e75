package qualify

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/combin"
)

// Plan is a sample plan: so many units are tested, and the test is passed when at most Allowed of them fail.
type Plan struct {
	Units, Allowed int
	Lot            int // size of the lot that the sample is drawn from; 0: production, so that the binomial law holds
}

// most bounds the units of a plan (a choice).
const most = 1_000_000

// Check reports a plan that is none.
func (p Plan) Check() error {
	switch {
	case p.Units < 1 || p.Units > most:
		return fmt.Errorf("a sample of %d units; expected 1 to %d", p.Units, most)
	case p.Allowed < 0 || p.Allowed >= p.Units:
		return fmt.Errorf("%d failures allowed of %d units; expected 0 to %d", p.Allowed, p.Units, p.Units-1)
	case p.Lot < 0 || p.Lot > 0 && p.Lot < p.Units:
		return fmt.Errorf("a sample of %d units from a lot of %d", p.Units, p.Lot)
	}
	return nil
}

// Accept returns the probability that the plan is passed when a share of all units fails: the operating characteristic.
// Of a lot the number of failing units is the share rounded up to a whole one (hypergeometric law); otherwise it is
// exactly binomial, by the incomplete beta function: P(X <= c) = I(1-p; n-c, c+1).
func (p Plan) Accept(share float64) float64 {
	switch {
	case !(share > 0):
		return 1
	case share >= 1:
		return 0
	case p.Lot == 0:
		return mathext.RegIncBeta(float64(p.Units-p.Allowed), float64(p.Allowed+1), 1-share)
	}
	bad := int(math.Ceil(share*float64(p.Lot) - 1e-9))
	sum := 0.0
	for k := 0; k <= p.Allowed; k++ {
		if k > bad || p.Units-k > p.Lot-bad {
			continue
		}
		sum += math.Exp(combin.LogGeneralizedBinomial(float64(bad), float64(k)) +
			combin.LogGeneralizedBinomial(float64(p.Lot-bad), float64(p.Units-k)) -
			combin.LogGeneralizedBinomial(float64(p.Lot), float64(p.Units)))
	}
	return min(sum, 1)
}

// Quality returns the share of failing units that is accepted with a probability: the LTPD for the consumer's risk, the
// AQL for one less the producer's risk (ISO 2859-1 calls them limiting and acceptable quality). For sampling without a
// lot.
func (p Plan) Quality(accepted float64) float64 {
	return 1 - mathext.InvRegIncBeta(float64(p.Units-p.Allowed), float64(p.Allowed+1), accepted)
}

// Size returns the least number of units that is accepted with at most the risk when the share ltpd fails.
func Size(ltpd, risk float64, allowed, lot int) (int, error) {
	if !(ltpd > 0 && ltpd < 1) || !(risk > 0 && risk < 1) {
		return 0, fmt.Errorf("LTPD %g with consumer's risk %g; expected both between 0 and 1", ltpd, risk)
	}
	// The plan of low units accepts too often: with as many failures allowed it always does.
	low, high := allowed, allowed+1
	end := most
	if lot > 0 {
		end = lot
	}
	accepts := func(n int) bool { return Plan{n, allowed, lot}.Accept(ltpd) > risk }
	for high < end && accepts(high) {
		low, high = high, min(2*high, end)
	}
	if high > end || accepts(high) {
		return 0, fmt.Errorf("no sample of up to %d units proves an LTPD of %g with %d failures allowed", end, ltpd,
			allowed)
	}
	for high-low > 1 {
		if m := (low + high) / 2; accepts(m) {
			low = m
		} else {
			high = m
		}
	}
	return high, nil
}

// Bound returns the share of failing units that is not exceeded with a confidence, after so many failures among the
// units tested (one-sided limit of Clopper and Pearson, Biometrika 26, 404, 1934; exact).
func Bound(failures, units int, confidence float64) float64 {
	if failures >= units {
		return 1
	}
	return Plan{Units: units, Allowed: failures}.Quality(1 - confidence)
}
