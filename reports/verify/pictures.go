package verify

import (
	"context"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// Collapse lays the readings of all wavelengths and temperatures on one curve: the leak of a single stage depends on
// how far the rotation is from the null, and on next to nothing else.
type Collapse struct {
	Points []CollapsePoint
	Curve  []CollapsePoint // by the model as diagnosed, Run -1
}

// CollapsePoint is an isolation against how far the rotation lies from what would null the leak there.
type CollapsePoint struct {
	Run       int
	Off       float64 // deg
	Isolation float64 // dB, net of the floor, with the errors that the readings share taken off
}

// Valley is where the isolation lies over wavelength and temperature, by the model as diagnosed.
type Valley struct {
	Temperatures []quantity.Temperature
	Specified    []quantity.Length // wavelength of the peak; 0 where it lies outside the sweep
	Diagnosed    []quantity.Length
	Within       []Contour // where the isolation is at least so much
	Peaks        []ValleyPeak
}

// Contour holds at every temperature of a valley the first and last wavelength at which the isolation is at least Level
// dB; 0 and 0 where it nowhere is.
type Contour struct {
	Level     float64
	Low, High []quantity.Length
}

// ValleyPeak is a measured peak.
type ValleyPeak struct {
	Temperature quantity.Temperature
	Wavelength  quantity.Length
	U           quantity.Length // expanded
}

// Ledger is what one reading's leak is made of, in power, by the model as diagnosed. What the parts leave to the
// reading is what noise and the errors of the bench made of it.
type Ledger struct {
	Line        int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Why         string // why this reading: "decides limit 1"
	Parts       []LedgerPart
	Sum         float64 // of the parts
	Read        float64 // leak power as read, the floor included
}

// LedgerPart is one way for light to get back.
type LedgerPart struct {
	Name  string
	Power float64
}

// pictures draws up what a reviewer who knows isolators looks at. They speak of one rotator: a second one makes the
// leak a product, and none of this holds.
func (x *examiner) pictures(ctx context.Context, r *Result) error {
	if !x.fitted() || len(x.gross) > 0 {
		return nil
	}
	best := x.found.best()
	var film []string
	for _, p := range best.model.Parameters() {
		if strings.HasSuffix(p.Path, ".angle") && p.Value.Dimension() == quantity.OfAngle {
			film = append(film, p.Path)
		}
	}
	if len(film) == 1 {
		turn, err := x.turning(ctx, best.model, film[0])
		if err != nil {
			return err
		}
		r.Collapse = x.collapse(r, turn)
		if r.Ledgers, err = x.ledgers(ctx, r, best.model, film[0]); err != nil {
			return err
		}
	}
	var err error
	r.Valley, err = x.valley(ctx, r)
	return err
}

// turned is what a leak becomes as the rotation is varied: least + swing sin^2(off + t), with t the variation.
type turned struct{ least, swing, off float64 }

// probing is by how much the stated angle is varied to find that, once and twice to either side. Five values fix the
// three numbers, and by how much the rotation varies there for it: a film's slopes go with its thickness.
const probing = 7 * float64(quantity.Degree)

func (x *examiner) turning(ctx context.Context, m Model, path string) ([]turned, error) {
	return x.d.plan(x.d.obs[:x.d.back]).turning(ctx, m, path)
}

func (p *plan) turning(ctx context.Context, m Model, path string) ([]turned, error) {
	v, err := varied(m, path)
	if err != nil {
		return nil, err
	}
	var at [5][]float64
	err = each(len(at), func(k int) error {
		a, err := adjusted(m, []*vary{v}, []float64{v.at + float64(k-2)*probing})
		if err != nil {
			return err
		}
		at[k], err = p.predict(ctx, a)
		return err
	})
	if err != nil {
		return nil, err
	}
	all := make([]turned, len(p.obs))
	for i := range all {
		// P = A - C cos 2kt + S sin 2kt; of the even parts at once and twice the ratio is 2 + 2 cos 2kt.
		down, mid, up := at[1][i], at[2][i], at[3][i]
		even, wide := (up+down)/2-mid, (at[4][i]+at[0][i])/2-mid
		kt := 2 * probing
		if cos := wide/even/2 - 1; even > 0 && math.Abs(cos) < 1 {
			kt = math.Acos(cos)
		}
		s := (up - down) / (2 * math.Sin(kt))
		c := even / (1 - math.Cos(kt))
		swing := math.Hypot(s, c)
		all[i] = turned{least: mid + c - swing, swing: 2 * swing, off: math.Atan2(s, c) / 2}
	}
	return all, nil
}

func (x *examiner) collapse(r *Result, turn []turned) *Collapse {
	c := &Collapse{}
	least, swing := 0.0, 0.0
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range r.Points { // points are the backward observations in their order
		off := turn[i].off / float64(quantity.Degree)
		least, swing = least+turn[i].least/float64(len(r.Points)), swing+turn[i].swing/float64(len(r.Points))
		low, high = min(low, off), max(high, off)
		if p.Censored || p.Outlier {
			continue
		}
		// What the shared errors made of the reading is what the curve with them has more than the one without.
		clean := sqrt(turn[i].least + turn[i].swing*math.Pow(math.Sin(turn[i].off), 2))
		c.Points = append(c.Points, CollapsePoint{p.Run, off, decibels(clean + p.Diagnosed.Residual)})
	}
	const points = 121
	for k := range points {
		off := low + (high-low)*float64(k)/(points-1)
		leak := least + swing*math.Pow(math.Sin(off*float64(quantity.Degree)), 2)
		c.Curve = append(c.Curve, CollapsePoint{-1, off, decibels(sqrt(leak))})
	}
	return c
}

// ledgers takes the readings that decide the isolation limits, and the one with the most isolation.
func (x *examiner) ledgers(ctx context.Context, r *Result, m Model, film string) ([]Ledger, error) {
	var list []Ledger
	var at []observation
	add := func(i int, why string) {
		o := x.d.obs[i]
		line := x.d.Rows[o.row].Line
		if k := slices.IndexFunc(list, func(l Ledger) bool { return l.Line == line }); k >= 0 {
			list[k].Why += ", " + why
			return
		}
		list = append(list, Ledger{Line: line, Wavelength: o.l, Temperature: o.t, Why: why, Read: o.gross})
		at = append(at, o)
	}
	for k, d := range r.Decisions {
		if d.Limit.Quantity == limits.Isolation && d.Decided {
			i := slices.IndexFunc(x.d.obs[:x.d.back], func(o observation) bool { return x.d.Rows[o.row].Line == d.Line })
			if i >= 0 && !x.isOut(i) {
				add(i, "decides limit "+itoa(k+1))
			}
		}
	}
	least := -1
	for i, o := range x.d.obs[:x.d.back] {
		if !x.isOut(i) && !x.censored[i] && (least < 0 || o.gross < x.d.obs[least].gross) {
			least = i
		}
	}
	if least >= 0 {
		add(least, "most isolation")
	}
	sealed, err := x.sealed(m)
	if err != nil {
		return nil, err
	}
	err = each(len(list), func(k int) error {
		one := x.d.plan(at[k : k+1])
		with, err := one.predict(ctx, m)
		if err != nil {
			return err
		}
		ripple, err := one.ripple(ctx, m)
		if err != nil {
			return err
		}
		pure, err := one.predict(ctx, sealed)
		if err != nil {
			return err
		}
		least, err := one.least(ctx, sealed, film)
		if err != nil {
			return err
		}
		ghosts := min(ripple[0]*ripple[0], least)
		parts := []LedgerPart{
			{"rotation and axes off the null", pure[0] - least},
			{"extinction ratio of the film", with[0] - pure[0]},
			{"double bounces", ghosts},
			{"rejected beams and tilt of the rays", least - ghosts},
		}
		if x.d.floor != nil {
			parts = append(parts, LedgerPart{"floor of the fixture", x.d.floor.Power})
		}
		for _, p := range parts {
			p.Power = max(p.Power, 0)
			list[k].Parts = append(list[k].Parts, p)
			list[k].Sum += p.Power
		}
		return nil
	})
	return list, err
}

// least is the leak that is left of one observation when the film turns as it should for it.
func (p *plan) least(ctx context.Context, m Model, path string) (float64, error) {
	v, err := varied(m, path)
	if err != nil {
		return 0, err
	}
	turn, err := p.turning(ctx, m, path)
	if err != nil {
		return 0, err
	}
	leak := func(t float64) (float64, error) {
		a, err := adjusted(m, []*vary{v}, []float64{v.at + t})
		if err != nil {
			return 0, err
		}
		all, err := p.predict(ctx, a)
		if err != nil {
			return 0, err
		}
		return all[0], nil
	}
	near := math.Abs(turn[0].off)/2 + probing/10 // the stated angle varies the rotation by nearly as much
	t, err := golden(leak, -turn[0].off-near, -turn[0].off+near, turnEnough)
	if err != nil {
		return 0, err
	}
	return leak(t)
}

// sealed is the model with no light in the wrong polarization.
func (x *examiner) sealed(m Model) (Model, error) {
	values := map[string]quantity.Quantity{}
	for _, p := range m.Parameters() {
		if v, err := newVary(p); err == nil && v.leak {
			values[p.Path] = v.quantity(leastLeak)
		}
	}
	return m.Adjusted(values)
}

func itoa(n int) string { return number(float64(n), 0) }

// The grid of a valley: fine enough for straight lines between.
const (
	valleyRows    = 16
	valleyColumns = 161
)

func (x *examiner) valley(ctx context.Context, r *Result) (*Valley, error) {
	v := &Valley{}
	var runs []Sweep
	lo, hi := quantity.Length(math.Inf(1)), quantity.Length(math.Inf(-1))
	for _, s := range x.d.runs {
		if s.Isolations > 0 {
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
	for _, l := range x.spec.Limits {
		if l.Quantity == limits.Isolation && l.AtLeast && !slices.ContainsFunc(v.Within, func(c Contour) bool { return c.Level == l.Value }) {
			v.Within = append(v.Within, Contour{Level: l.Value})
		}
	}
	if len(v.Within) == 0 {
		v.Within = []Contour{{Level: 30}}
	}
	slices.SortFunc(v.Within, func(a, b Contour) int { return compare2(a.Level, b.Level) })
	var ls []quantity.Length
	for k := range valleyColumns {
		ls = append(ls, lo+(hi-lo)*quantity.Length(k)/(valleyColumns-1))
	}
	models := []Model{x.spec.Model, x.found.best().model}
	rows := make([][]Transmission, len(models)*valleyRows)
	err := each(len(rows), func(i int) (err error) {
		rows[i], err = models[i/valleyRows].Over(ctx, Backward, ls, v.Temperatures[i%valleyRows])
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
	for _, f := range r.Figures {
		if f.Unit == "nm" && f.Determined && f.Run >= 0 {
			v.Peaks = append(v.Peaks, ValleyPeak{x.d.runs[f.Run].Temperature,
				quantity.Length(f.Measured) * quantity.Nanometre, quantity.Length(f.High-f.Low) / 2 * quantity.Nanometre})
		}
	}
	return v, nil
}

// deepest returns the wavelength of least leak by a parabola through the lowest point and its neighbours; 0 when that
// is an end of the sweep.
func deepest(ls []quantity.Length, row []Transmission) quantity.Length {
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

// under returns the first and last wavelength at which the leak is at most so much, straight lines between the points.
func under(ls []quantity.Length, row []Transmission, level float64) (low, high quantity.Length) {
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
