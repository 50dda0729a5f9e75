package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
)

// linearTicks places labelled ticks at multiples of 1, 2 or 5 times a power of ten, about count of them,
// and unlabelled ones between. Labels are divided by 10^exponent, which the axis label then states; it is
// zero for numbers that people read easily.
func linearTicks(lo, hi float64, count int) (ticks []plot.Tick, exponent int) {
	step, parts := niceStep((hi - lo) / float64(max(count, 1)))
	if m := math.Max(math.Abs(lo), math.Abs(hi)); m >= 1e5 || m < 1e-2 {
		exponent = 3 * int(math.Floor(math.Log10(m)/3))
	}
	scale := math.Pow10(exponent)
	decimals := max(0, -int(math.Floor(math.Log10(step/scale)+1e-9)))
	minor := step / float64(parts)
	// Counting in whole minor steps keeps rounding errors from adding up; the slack keeps the ends.
	first, last := math.Ceil(lo/minor-1e-6), math.Floor(hi/minor+1e-6)
	for k := first; k <= last; k++ {
		t := plot.Tick{Value: k * minor}
		if math.Mod(k, float64(parts)) == 0 {
			t.Value = k / float64(parts) * step
			t.Label = number(t.Value/scale, decimals)
		}
		t.Value = math.Min(math.Max(t.Value, lo), hi) // the slack must not put an end tick outside
		ticks = append(ticks, t)
	}
	return ticks, exponent
}

// niceStep returns the least step of the form 1, 2 or 5 times 10^k that is not much below raw, and into how
// many parts the small ticks divide it.
func niceStep(raw float64) (step float64, parts int) {
	power := math.Pow10(int(math.Floor(math.Log10(raw))))
	for _, s := range []struct {
		factor float64
		parts  int
	}{{1, 5}, {2, 4}, {5, 5}} {
		if s.factor*power >= raw*0.85 { // one number more than asked for is better than half as many
			return s.factor * power, s.parts
		}
	}
	return 10 * power, 5
}

// logTicks places labelled ticks at powers of ten, at 1, 2 and 5 times them where few powers fit, and
// unlabelled ones at the other multiples.
func logTicks(lo, hi float64, count int) []plot.Tick {
	first, last := int(math.Floor(math.Log10(lo))), int(math.Ceil(math.Log10(hi)))
	decades := math.Log10(hi / lo)
	stride := max(1, int(math.Ceil(decades/float64(max(count, 1)))))
	var ticks []plot.Tick
	for e := first; e <= last; e++ {
		for m := 1; m < 10; m++ {
			v := float64(m) * math.Pow10(e)
			if v < lo*(1-1e-9) || v > hi*(1+1e-9) {
				continue
			}
			t := plot.Tick{Value: math.Min(math.Max(v, lo), hi)}
			switch {
			case m == 1 && e%stride == 0, decades < 1.5 && (m == 2 || m == 5):
				t.Label = logLabel(v, e)
			case stride > 1 && m > 1:
				continue // nine ticks to a decade would run together
			}
			ticks = append(ticks, t)
		}
	}
	return ticks
}

func logLabel(v float64, exponent int) string {
	if exponent < -3 || exponent > 4 {
		return minus(strconv.FormatFloat(v, 'e', 0, 64))
	}
	return number(v, max(0, -exponent))
}

// number prints v with the decimals of its axis, and a true minus sign.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return minus(s)
}

func minus(s string) string { return strings.ReplaceAll(s, "-", "\u2212") }

// RoundValues returns about count values between two, at multiples of 1, 2 or 5 times a power of ten; none where both
// are
// the same.
func RoundValues(lo, hi float64, count int) []float64 {
	if !(hi > lo) {
		return nil
	}
	var values []float64
	ticks, _ := linearTicks(lo, hi, count)
	for _, t := range ticks {
		if t.Label != "" && t.Value > lo && t.Value < hi {
			values = append(values, t.Value)
		}
	}
	return values
}
