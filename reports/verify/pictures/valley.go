package pictures

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// The grid of a valley: fine enough for straight lines between.
const (
	valleyRows    = 16
	valleyColumns = 161
)

func (x *Scene) valley(ctx context.Context) (*Valley, error) {
	v := &Valley{}
	var runs []readings.Sweep
	lo, hi := quantity.Length(math.Inf(1)), quantity.Length(math.Inf(-1))
	for _, s := range x.Runs {
		if s.Count[limits.Isolation] > 0 {
			runs = append(runs, s)
			lo, hi = min(lo, s.Low), max(hi, s.High)
		}
	}
	if len(runs) < 2 || !(hi > lo) {
		return nil, nil // one temperature has a peak, and no valley
	}
	first, last := runs[0].Temperature, runs[len(runs)-1].Temperature
	for k := range valleyRows {
		v.Temperatures = append(v.Temperatures, first+(last-first)*quantity.Temperature(k)/(valleyRows-1))
	}
	for _, l := range x.Limits {
		if l.Quantity == limits.Isolation && l.AtLeast &&
			!slices.ContainsFunc(v.Within, func(c Contour) bool { return c.Level == l.Value }) {
			v.Within = append(v.Within, Contour{Level: l.Value})
		}
	}
	if len(v.Within) == 0 {
		v.Within = []Contour{{Level: 30}}
	}
	slices.SortFunc(v.Within, func(a, b Contour) int { return cmp.Compare(a.Level, b.Level) })
	var ls []quantity.Length
	for k := range valleyColumns {
		ls = append(ls, lo+(hi-lo)*quantity.Length(k)/(valleyColumns-1))
	}
	models := []model.Model{model.Coarse(x.Specified), model.Coarse(x.Fitted)}
	rows := make([][]model.Transmission, len(models)*valleyRows)
	err := parallel.Each(len(rows), func(i int) (err error) {
		rows[i], err = models[i/valleyRows].Over(ctx, model.Backward, ls, v.Temperatures[i%valleyRows])
		return err
	})
	if err != nil {
		return nil, err
	}
	for k := range valleyRows {
		v.Specified = append(v.Specified, deepest(ls, rows[k]))
		row := rows[valleyRows+k]
		v.Diagnosed = append(v.Diagnosed, deepest(ls, row))
		for j := range v.Within {
			low, high := under(ls, row, quantity.Ratio(-v.Within[j].Level))
			v.Within[j].Low, v.Within[j].High = append(v.Within[j].Low, low), append(v.Within[j].High, high)
		}
	}
	for _, f := range x.Figures {
		if f.Unit == "nm" && f.Determined && f.Run >= 0 {
			v.Peaks = append(v.Peaks, ValleyPeak{x.Runs[f.Run].Temperature,
				quantity.Length(f.Measured) * quantity.Nanometre,
				quantity.Length(f.High-f.Low) / 2 * quantity.Nanometre})
		}
	}
	return v, nil
}

// deepest returns the wavelength of least leakage by a parabola through the lowest point and its neighbours; 0 when
// that is an end of the sweep.
func deepest(ls []quantity.Length, row []model.Transmission) quantity.Length {
	k := 0
	for i := range row {
		if row[i].T1 < row[k].T1 {
			k = i
		}
	}
	if k == 0 || k == len(row)-1 {
		return 0
	}
	a, b, c := row[k-1].T1, row[k].T1, row[k+1].T1
	if bend := a - 2*b + c; bend > 0 {
		return ls[k] + (ls[1]-ls[0])*quantity.Length((a-c)/(2*bend))
	}
	return ls[k]
}

// under returns the first and last wavelength at which the leakage is at most so much, straight lines between the
// points.
func under(ls []quantity.Length, row []model.Transmission, level float64) (low, high quantity.Length) {
	first, last := -1, -1
	for i := range row {
		if row[i].T1 <= level {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return 0, 0
	}
	between := func(in, out int) quantity.Length {
		return ls[in] + (ls[out]-ls[in])*quantity.Length((level-row[in].T1)/(row[out].T1-row[in].T1))
	}
	low, high = ls[first], ls[last]
	if first > 0 {
		low = between(first, first-1)
	}
	if last < len(ls)-1 {
		high = between(last, last+1)
	}
	return low, high
}
