package predict

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/verifytest"
)

// sweeps returns readings of a band at some temperatures, each swinging by so many kelvin while it is swept.
func sweeps(points int, swings ...float64) readings.Readings {
	var r readings.Readings
	for k := range points {
		for run, swing := range swings {
			r.Rows = append(r.Rows, readings.Reading{Wavelength: (1500 +
				80*quantity.Length(k)/quantity.Length(points-1)) * quantity.Nanometre,
				Temperature: quantity.Celsius(20*float64(run) + swing*math.Sin(float64(7*k))),
				Figures: []readings.Figure{readings.NewFigure(limits.Isolation, 30),
					readings.NewFigure(limits.InsertionLoss, 0.4), readings.NewFigure(limits.PDL, 0.02),
					readings.NewFigure(limits.DGD, 0.01), readings.NewFigure(limits.ReturnLoss, 60)}})
		}
	}
	return r
}

// everyFigure is a budget for readings of all quantities.
var everyFigure = uncertainty.Budget{Contributions: []uncertainty.Contribution{
	{Name: "repeatability", Value: quantity.Of(0.01, "dB")}, {Name: "jitter", Value: quantity.Of(0.001, "ps"),
		Shared: uncertainty.ByPoint}}}

// everyPart are tolerances of every part of the scenario's single stage.
var everyPart = map[string]tolerance.Tolerance{
	"rotator1.angle":      {Shape: tolerance.Uniform, Value: quantity.Of(0.3, "deg")},
	"rotator1.extinction": {Shape: tolerance.Normal, Value: quantity.Of(1.5, "dB")},
	"wedge1.axis":         {Shape: tolerance.Normal, Value: quantity.Of(0.1, "deg")},
	"wedge2.axis":         {Shape: tolerance.Uniform, Value: quantity.Of(0.2, "deg")},
	"wedge1.apex":         {Shape: tolerance.Uniform, Value: quantity.Of(0.05, "deg")},
	"beam.loss":           {Shape: tolerance.Normal, Value: quantity.Of(0.03, "dB")},
}

// TestSurface holds the surface against the units themselves, all of the trials one by one, for tolerances of every
// part of the scenario's single stage: in a steady chamber, one that swings, and one that is heated meanwhile. The ends
// of the interval differ by a hundredth of it at most.
func TestSurface(t *testing.T) {
	surfaces(t, readings.NewSet(sweeps(13, 0, 0.2, 5), uncertainty.Budget{}))
}

// TestSurfaceOfFurther is that of PDL, DGD and return loss.
func TestSurfaceOfFurther(t *testing.T) { surfaces(t, readings.NewSet(sweeps(4, 0), everyFigure)) }

// surfaces holds those of the readings against all trials. What no instrument resolves of a PDL or DGD may differ.
func surfaces(t *testing.T, d *readings.Set) {
	ctx := context.Background()
	p := NewBatch(d, d.Obs)
	s, err := NewScatter(ctx, model.ForStack(verifytest.SingleStage(t, 42, 0.0002)), everyPart, p)
	if err != nil {
		t.Fatal(err)
	}
	for f, quantities := range families {
		if _, at := p.Only(quantities); len(at) > 0 && s.surfaces[f] == nil {
			t.Fatalf("the surface of %v was not kept", quantities)
		}
	}
	laid, err := s.Spread(ctx, p)
	if err != nil {
		t.Fatal(err)
	}
	s.surfaces = nil
	every, err := s.Spread(ctx, p)
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for i := range d.Obs {
		one := func(v []float64) float64 { return v[i] }
		_, down, up := laid.Sides(one)
		centre, wantDown, wantUp := every.Sides(one)
		off := max(math.Abs(down-wantDown), math.Abs(up-wantUp))
		if scale := d.Obs[i].Scale(); scale == readings.Square {
			off = max(off-scale.Moved(resolved[d.Obs[i].Quantity], centre), 0)
		}
		if off > 0 {
			worst = max(worst, off/(wantDown+wantUp))
		}
	}
	t.Logf("the surface is off by %.2g of the interval", worst)
	if worst > 0.01 {
		t.Errorf("the surface is off by %.3f of the interval", worst)
	}
}

func BenchmarkSpecified(b *testing.B) {
	ctx := context.Background()
	d := readings.NewSet(sweeps(161, 0, 0, 0), uncertainty.Budget{})
	p := NewBatch(d, d.Obs)
	m, err := model.Anchor(ctx, model.ForStack(verifytest.SingleStage(b, 42, 0.0002)), d.Runs)
	if err != nil {
		b.Fatal(err)
	}
	var s *Scatter
	b.Run("surface", func(b *testing.B) {
		for b.Loop() {
			if s, err = NewScatter(ctx, m, everyPart, p); err != nil {
				b.Fatal(err)
			}
		}
	})
	var out *Spread
	b.Run("trials", func(b *testing.B) {
		for b.Loop() {
			if out, err = s.Spread(ctx, p); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("sides", func(b *testing.B) {
		for b.Loop() {
			for i := range d.Obs {
				out.Sides(func(v []float64) float64 { return v[i] })
			}
		}
	})
}
