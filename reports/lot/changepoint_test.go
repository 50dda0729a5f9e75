package lot

import (
	"math/rand/v2"
	"testing"
)

// nile is the yearly flow of the Nile at Aswan, 1871 to 1970, in 10^8 m³ (G. W. Cobb, Biometrika 65, 243, 1978; the
// data set of that name in R). Its one step is that of 1898/99, when the flow fell from a mean of 1097.75 to 849.97: 28
// and 72 years.
var nile = []float64{1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
	799,
	958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050,
	969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781,
	865,
	845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050,
	918,
	986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740}

func TestChangesNile(t *testing.T) {
	mean := 0.0
	for _, v := range nile {
		mean += v / float64(len(nile))
	}
	near(t, "mean, as R prints it", mean, 919.35, 1e-9)
	all := Changes(nile)
	if len(all) != 1 || all[0].At != 28 {
		t.Fatalf("%+v, want one step after 28 years", all)
	}
	near(t, "before", all[0].Before, 1097.75, 1e-9)
	near(t, "after", all[0].After, 849.9722, 5e-5)
	// 72 before and after: t = 9.0, p of some 1e-14 in each place
	if p := all[0].PValue; !(p > 0 && p < 1e-9) {
		t.Errorf("p %g", p)
	}
}

// TestChangesRisk: where there is no step, one is seen in at most ChangeRisk of the series, which the bound promises;
// where there are two of three standard deviations each, both are found,
// nine times of ten within two values.
func TestChangesRisk(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	const series = 3000
	seen := 0
	for range series {
		values := make([]float64, 60)
		for i := range values {
			values[i] = 30 + 0.4*r.NormFloat64()
		}
		if len(Changes(values)) > 0 {
			seen++
		}
	}
	// three standard deviations of a binomial number above its mean
	if most := 30 + 3*5.5; float64(seen) > most {
		t.Errorf("%d of %d series without a step have one, at most %g", seen, series, most)
	}
	near := 0
	for range 200 {
		values := make([]float64, 90)
		for i := range values {
			values[i] = r.NormFloat64() + 3*float64(i/30%2)
		}
		all := Changes(values)
		if len(all) < 2 {
			t.Errorf("steps at 30 and 60: %+v", all)
		}
		if len(all) == 2 && abs(all[0].At-30) <= 2 && abs(all[1].At-60) <= 2 {
			near++
		}
	}
	if near < 180 {
		t.Errorf("%d of 200 pairs of steps found within two values, want 180", near)
	}
}

func abs(n int) int { return max(n, -n) }

func TestChangesOfNothing(t *testing.T) {
	for what, values := range map[string][]float64{
		"none": nil, "short": {1, 1, 1, 9, 9, 9, 9}, "alike": {3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3},
		"one that stands out": {0, 1, 0, 1, 0, 1, 0, 1, 9, 1, 0, 1, 0, 1, 0, 1},
	} {
		if all := Changes(values); len(all) > 0 {
			t.Errorf("%s: %+v", what, all)
		}
	}
	if all := Changes([]float64{1, 1, 1, 1, 1, 2, 2, 2, 2, 2}); len(all) != 1 || all[0].At != 5 || all[0].After != 2 {
		t.Errorf("no scatter: %+v", all)
	}
}
