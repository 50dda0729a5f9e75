package verify_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/verify"
)

// TestReflectanceTolerances: a tolerance on a coating acts through double bounces, and what it leaves open of the leak widens
// the interval of the extinction ratio. Of 40 units with faces of 0.2 %, whose film and first wedge have reflectances drawn
// within tolerances of half that, their extinction lies in its 95.45 % interval for 36 to 40: fewer than 36 would come of one
// honest set in twenty-five.
func TestReflectanceTolerances(t *testing.T) {
	const units, faces, share = 40, 0.002, 0.5
	covered := make([]bool, units)
	err := parallel.Each(units, func(k int) error {
		p := plant(k + 1000)
		p.gross, p.d, p.e = "", p.d/2, 0
		p.extinction = 38 + 6*float64(k)/units
		rng := rand.New(rand.NewPCG(5, uint64(k)))
		p.faces, p.film, p.first = faces, max(0, 1+share*rng.NormFloat64()), max(0, 1+share*rng.NormFloat64())
		s := p.spec(t, 4)
		s.Fit = []string{"rotator1.angle", "rotator1.extinction"}
		coating := verify.Tolerance{Shape: verify.Normal, Value: quantity.Of(100*share*faces, "percent")}
		s.Tolerances = map[string]verify.Tolerance{
			"rotator1.angle":       {Shape: verify.Uniform, Value: quantity.Of(0.5, "deg")},
			"rotator1.extinction":  {Shape: verify.Uniform, Value: quantity.Of(3, "dB")},
			"rotator1.reflectance": coating,
			"wedge1.reflectance":   coating,
		}
		r, err := verify.Run(context.Background(), s)
		if err != nil {
			return err
		}
		for _, e := range r.Diagnosis.Explanations {
			if e.Label != "rotator1.angle, rotator1.extinction" {
				continue
			}
			for _, f := range e.Parameters {
				if f.Path == "rotator1.extinction" {
					covered[k] = f.Low <= p.extinction && (f.AtLeast || p.extinction <= f.High)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	in := 0
	for _, yes := range covered {
		if yes {
			in++
		}
	}
	t.Logf("%d of %d", in, units)
	if in < 36 {
		t.Errorf("the interval of the extinction holds it for %d of %d units", in, units)
	}
}
