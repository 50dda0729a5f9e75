package pictures

import (
	"context"
	"math"
	"strings"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/compare"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// Collapse lays the readings of all wavelengths and temperatures on one curve: the leakage of a single stage depends on
// how far the rotation is from the null, and on next to nothing else.
type Collapse struct {
	Points []CollapsePoint
	Curve  []CollapsePoint // by the fitted model, Run -1
}

// CollapsePoint is an isolation against how far the rotation lies from what would null the leakage there.
type CollapsePoint struct {
	Run       int
	Off       float64 // deg
	Isolation float64 // dB, net of the floor, with the errors that the readings share taken off
}

// Valley is where the isolation lies over wavelength and temperature, by the fitted model.
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

// Ledger is what one reading's leakage is made of, in power, by the fitted model. What the parts leave to the
// reading is what noise and the errors of the bench made of it.
type Ledger struct {
	Line        int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Why         string // why this reading: "decides limit 1"
	Parts       []LedgerPart
	Sum         float64 // of the parts
	Read        float64 // leakage power as read, the floor included
}

// LedgerPart is one way for light to get back.
type LedgerPart struct {
	Name  string
	Power float64
}

// Scene is what the pictures are drawn up from.
type Scene struct {
	*readings.Measurement
	Limits            limits.Limits
	Specified, Fitted model.Model
	Points            []compare.Point
	Decisions         []decide.Decision
	Figures           []decide.Figure
}

// Pictures is what a reviewer who knows isolators looks at.
type Pictures struct {
	Collapse *Collapse // nil where the model has not exactly one rotator
	Valley   *Valley   // nil with readings at one temperature
	Ledgers  []Ledger
}

// Draw draws the pictures up. A collapse and ledgers speak of one rotator: a second one makes the leakage a product,
// and none of this holds.
func Draw(ctx context.Context, x *Scene) (Pictures, error) {
	var out Pictures
	var film []string
	for _, p := range x.Fitted.Parameters() {
		if strings.HasSuffix(p.Path, ".angle") && p.Value.Dimension() == quantity.OfAngle {
			film = append(film, p.Path)
		}
	}
	if len(film) == 1 {
		isolations := predict.NewBatch(x.Set, x.Obs[:x.Back])
		turn, err := turning(ctx, isolations, model.Coarse(x.Fitted), film[0])
		if err != nil {
			return out, err
		}
		out.Collapse = x.collapse(turn)
		if out.Ledgers, err = x.ledgers(ctx, film[0]); err != nil {
			return out, err
		}
	}
	var err error
	out.Valley, err = x.valley(ctx)
	return out, err
}

// turned is what a leakage becomes as the rotation is varied: least + swing sin^2(off + t), with t the variation.
type turned struct{ least, swing, off float64 }

// probing is by how much the stated angle is varied to find that, once and twice to either side. Five values fix the
// three numbers, and by how much the rotation varies there for it: a film's slopes go with its thickness.
const probing = 7 * float64(quantity.Degree)

func turning(ctx context.Context, p *predict.Batch, m model.Model, path string) ([]turned, error) {
	v, err := model.VariableOf(m, path)
	if err != nil {
		return nil, err
	}
	var at [5][]float64
	err = parallel.Each(len(at), func(k int) error {
		a, err := model.Adjust(m, []*model.Variable{v}, []float64{v.At + float64(k-2)*probing})
		if err != nil {
			return err
		}
		at[k], err = p.Predict(ctx, a)
		return err
	})
	if err != nil {
		return nil, err
	}
	all := make([]turned, len(p.Obs))
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

func (x *Scene) collapse(turn []turned) *Collapse {
	c := &Collapse{}
	least, swing := 0.0, 0.0
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range x.Points { // points are the backward observations in their order
		off := turn[i].off / float64(quantity.Degree)
		least, swing = least+turn[i].least/float64(len(x.Points)), swing+turn[i].swing/float64(len(x.Points))
		low, high = min(low, off), max(high, off)
		if p.Censored || p.Outlier {
			continue
		}
		// What the shared errors made of the reading is what the curve with them has more than the one without.
		clean := readings.Root(turn[i].least + turn[i].swing*math.Pow(math.Sin(turn[i].off), 2))
		c.Points = append(c.Points, CollapsePoint{p.Run, off, readings.Decibels(clean + p.Diagnosed.Residual)})
	}
	const points = 121
	for k := range points {
		off := low + (high-low)*float64(k)/(points-1)
		leak := least + swing*math.Pow(math.Sin(off*float64(quantity.Degree)), 2)
		c.Curve = append(c.Curve, CollapsePoint{-1, off, readings.Decibels(readings.Root(leak))})
	}
	return c
}
