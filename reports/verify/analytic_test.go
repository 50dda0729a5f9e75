package verify_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/readings"
)

// analytic is a model of one's own, independent of the optics: backward leakage sin^2(d + e) of a rotation
// error d that drifts with wavelength and temperature and an axis error e, plus the fraction of light
// 1/(1 + ER) that an imperfect rotator leaves in the wrong polarization, less a flat loss.
type analytic struct{ angle, axis1, axis2, apex, extinction, loss, ripple float64 } // deg, dB

var nominal = analytic{angle: 45, axis1: 22.5, axis2: 67.5, apex: 5, extinction: 45, loss: 0.35}

// The slopes of the film, those of the scenario.
const (
	perNanometre = -0.07 // deg
	perKelvin    = -0.06 // deg
)

func (m analytic) at(d verify.Direction, nm, celsius float64) verify.Transmission {
	drift := 1 + (perNanometre*(nm-1550)+perKelvin*(celsius-23))/45
	rotation := m.angle * drift
	q := 1 / (1 + math.Pow(10, m.extinction/10))
	pass := math.Pow(10, -m.loss/10)
	if d == verify.Forward {
		pass *= 1 - q
		return verify.Transmission{T1: pass * 1.002, T2: pass * 0.998}
	}
	s := math.Sin((rotation - 45 + m.axis2 - m.axis1 - 45) * math.Pi / 180)
	leak := pass * (s*s + q)
	return verify.Transmission{T1: leak * 1.05, T2: leak * 0.95}
}

func (m analytic) Over(ctx context.Context, d verify.Direction, ls []quantity.Length,
	t quantity.Temperature) ([]verify.Transmission, error) {
	out := make([]verify.Transmission, len(ls))
	for i, l := range ls {
		out[i] = m.at(d, float64(l)*1e9, t.Celsius())
	}
	return out, ctx.Err()
}

// Ghosts is the power of one of amplitude ripple.
func (m analytic) Ghosts(_ context.Context, ls []quantity.Length, _ quantity.Temperature) ([]float64, error) {
	return slices.Repeat([]float64{m.ripple * m.ripple}, len(ls)), nil
}

// Ripple is that of one ghost of amplitude ripple, which beats with all of the leakage.
func (m analytic) Ripple(_ context.Context, ls []quantity.Length, t quantity.Temperature) ([]verify.Ripple, error) {
	r := make([]verify.Ripple, len(ls))
	for i, l := range ls {
		leak := m.at(verify.Backward, float64(l)*1e9, t.Celsius())
		r[i] = verify.Ripple{Mean: math.Sqrt2 * m.ripple * math.Sqrt(leak.Mean()),
			T1: math.Sqrt2 * m.ripple * math.Sqrt(leak.T1)}
	}
	return r, nil
}

// Delays, StepDelay and Returned: it has no delay, and sends nothing back.
func (m analytic) Delays(_ context.Context, ls []quantity.Length, _ quantity.Temperature) ([]float64, error) {
	return make([]float64, len(ls)), nil
}

func (m analytic) StepDelay(_, _ quantity.Length, _ quantity.Temperature) (float64, error) {
	return 0, nil
}

func (m analytic) Returned(_ context.Context, ls []quantity.Length,
	_ quantity.Temperature) ([]verify.Returned, error) {
	return make([]verify.Returned, len(ls)), nil
}

// Axes: it has no fibres.
func (m analytic) Axes(context.Context, []quantity.Length, quantity.Temperature) ([]verify.Axes, error) {
	return nil, nil
}

func (m *analytic) fields() map[string]*float64 {
	return map[string]*float64{"rotator1.angle": &m.angle, "wedge1.axis": &m.axis1, "wedge2.axis": &m.axis2,
		"wedge1.apex": &m.apex, "rotator1.extinction": &m.extinction, "beam.loss": &m.loss}
}

func (m analytic) Adjusted(values map[string]quantity.Quantity) (verify.Model, error) {
	for path, q := range values {
		f, ok := m.fields()[path]
		if !ok {
			return nil, fmt.Errorf("no parameter %q", path)
		}
		*f = q.Value
	}
	return m, nil
}

func (m analytic) Parameters() []verify.Parameter {
	return []verify.Parameter{
		{Path: "wedge1.axis", Value: quantity.Of(m.axis1, "deg")},
		{Path: "wedge1.apex", Value: quantity.Of(m.apex, "deg")},
		{Path: "rotator1.angle", Value: quantity.Of(m.angle, "deg")},
		{Path: "rotator1.extinction", Value: quantity.Of(m.extinction, "dB")},
		{Path: "wedge2.axis", Value: quantity.Of(m.axis2, "deg")},
		{Path: "beam.loss", Value: quantity.Of(m.loss, "dB")},
	}
}

func (m analytic) Cautions() []string { return nil }

// instrument says how a unit is measured in a test.
type instrument struct {
	step         float64 // nm, from 1500 to 1580
	temperatures []float64
	noise        float64 // dB, per reading
	common       float64 // dB, one error for all
	wavelength   float64 // nm, one error per run
	temperature  float64 // K, one error per run
	floor        float64 // dB; 0: none
	seed         uint64
	again        uint64 // another seed for the noise of the readings; 0: none
}

var lab = instrument{step: 0.5, temperatures: []float64{-5, 23, 70}, noise: 0.05, common: 0.05, wavelength: 0.02,
	temperature: 0.5, floor: 62, seed: 1}

// figures are an isolation, an insertion loss and a PDL, as far as given.
func figures(values ...float64) []readings.Figure {
	var all []readings.Figure
	for k, v := range values {
		all = append(all, readings.NewFigure(limits.Quantities[k], v))
	}
	return all
}

// figure is what a row has of a quantity, measured or not.
func figure(r *verify.Reading, q limits.Quantity) *readings.Figure {
	for i := range r.Figures {
		if r.Figures[i].Quantity == q {
			return &r.Figures[i]
		}
	}
	f := readings.NewFigure(q, math.NaN())
	return &f
}

func iso(r *verify.Reading) *readings.Figure { return figure(r, limits.Isolation) }
func ins(r *verify.Reading) *readings.Figure { return figure(r, limits.InsertionLoss) }
func pdl(r *verify.Reading) *readings.Figure { return figure(r, limits.PDL) }

// measure simulates the readings of a unit with a scrambled source.
func (in instrument) measure(unit analytic) verify.Readings {
	rng := rand.New(rand.NewPCG(in.seed, 42))
	r := verify.Readings{File: "unit.csv", Unit: "0417", Lot: "26-11", Polarization: verify.Scrambled,
		Meta: [][2]string{{"measured", "2026-11-18"}, {"power meter calibration due", "2027-03-01"}}}
	common := in.common * rng.NormFloat64()
	floor := 0.0
	if in.floor > 0 {
		floor = math.Pow(10, -in.floor/10)
	}
	fresh := rand.New(rand.NewPCG(in.again, 43))
	noise := func() float64 {
		n := rng.NormFloat64()
		if in.again > 0 {
			n = fresh.NormFloat64()
		}
		return in.noise * n
	}
	line := 5
	for _, t := range in.temperatures {
		dl, dt := in.wavelength*rng.NormFloat64(), in.temperature*rng.NormFloat64()
		for k := 0; float64(k)*in.step <= 80+1e-9; k++ {
			nm := 1500 + float64(k)*in.step
			back := unit.at(verify.Backward, nm+dl, t+dt).Mean() + floor
			ahead := unit.at(verify.Forward, nm+dl, t+dt).Mean()
			line++
			r.Rows = append(r.Rows, verify.Reading{Line: line,
				Wavelength: quantity.Length(quantity.Of(nm, "nm").SI()), Temperature: quantity.Celsius(t),
				Figures: figures(-10*math.Log10(back)+common+noise(), -10*math.Log10(ahead)+common+noise(), 0.02)})
		}
	}
	return r
}

// budget is the honest one for an instrument.
func (in instrument) budget() uncertainty.Budget {
	b := uncertainty.Budget{}
	add := func(name string, v float64, unit string) {
		b.Contributions = append(b.Contributions, uncertainty.Contribution{Name: name, Value: quantity.Of(v, unit)})
	}
	add("repeatability", in.noise, "dB")
	add("power_meter", in.common, "dB")
	add("wavelength", in.wavelength, "nm")
	add("temperature", in.temperature, "kelvin")
	if in.floor > 0 {
		b.Floor = &uncertainty.Floor{Level: quantity.Of(in.floor, "dB"), Uncertainty: quantity.Of(0.5, "dB")}
	}
	return b
}

func band(value, lowT, highT float64) limits.Limit {
	return limits.Limit{Quantity: limits.Isolation, AtLeast: true, Value: value,
		Low: 1535 * quantity.Nanometre, High: 1565 * quantity.Nanometre,
		TemperatureLow: quantity.Celsius(lowT), TemperatureHigh: quantity.Celsius(highT)}
}

// scenario is the specification of the tests: limits and tolerances of the scenario.
func scenario(unit analytic, in instrument) verify.Spec {
	loss := band(0.8, -5, 70)
	loss.Quantity, loss.AtLeast = limits.InsertionLoss, false
	return verify.Spec{
		Model:    nominal,
		Readings: in.measure(unit),
		Limits:   limits.Limits{band(30, 23, 23), band(22, -5, 70), loss},
		Budget:   in.budget(),
		Tolerances: map[string]verify.Tolerance{
			"rotator1.angle":      {Shape: verify.Uniform, Value: quantity.Of(0.3, "deg")},
			"wedge2.axis":         {Shape: verify.Uniform, Value: quantity.Of(0.2, "deg")},
			"rotator1.extinction": {Shape: verify.Normal, Value: quantity.Of(2, "dB")},
			"beam.loss":           {Shape: verify.Normal, Value: quantity.Of(0.05, "dB")},
		},
		Fit: []string{"rotator1.angle", "rotator1.extinction"},
	}
}

func run(t *testing.T, s verify.Spec) *verify.Result {
	t.Helper()
	r, err := verify.Run(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
