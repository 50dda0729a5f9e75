package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"sync/atomic"
	"testing"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
	"wedgework/reports/verify"
)

// TestReflectanceTolerances: a tolerance on a coating acts through double reflections, and what it leaves open of the
// leakage widens the interval of the extinction ratio. Of 40 units with faces of 0.2 %, whose film and first wedge have
// reflectances drawn within tolerances of half that, the extinction of 38 should lie in its 95.45 % interval, and that
// of fewer than 34 in one honest set in three hundred (of 15: 12); where double reflections are taken to be those of
// the design it is 28.
func TestReflectanceTolerances(t *testing.T) {
	const faces, share = 0.002, 0.5
	units := require.Sample(15, 40)
	in := count(t, units, func(k int) (bool, error) {
		p := plant(k + 1000)
		p.gross, p.d, p.e = "", p.d/2, 0
		p.extinction = 38 + 6*float64(k)/float64(units)
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
			return false, err
		}
		f := fitted(r, "rotator1.angle, rotator1.extinction", "rotator1.extinction")
		if f == nil {
			t.Errorf("unit %d: the two are not fitted together", k)
			return false, nil
		}
		return f.Low <= p.extinction && (f.AtLeast || p.extinction <= f.High), nil
	})
	t.Logf("%d of %d", in, units)
	if in < units*34/40 {
		t.Errorf("the interval of the extinction holds it for %d of %d units", in, units)
	}
}

// TestFittedReflectance: where a coating is itself what is sought, its double reflections are all that tells of it.
// Freeing it too never makes a fit worse, and of 12 units with films of one to two times the reflectance drawn, what is
// found lies within three standard uncertainties of the truth for at least 10.
func TestFittedReflectance(t *testing.T) {
	const units, faces = 12, 0.001
	const together = "rotator1.angle, rotator1.reflectance"
	in := count(t, units, func(k int) (bool, error) {
		p := plant(k + 1000)
		p.gross, p.d, p.e, p.extinction = "", p.d/2, 0, 42
		p.faces, p.film = faces, 1+rand.New(rand.NewPCG(5, uint64(k))).Float64()
		s := p.spec(t, 4)
		s.Fit = []string{"rotator1.angle", "rotator1.reflectance"}
		s.Tolerances = map[string]verify.Tolerance{
			"rotator1.angle":       {Shape: verify.Uniform, Value: quantity.Of(0.5, "deg")},
			"rotator1.reflectance": {Shape: verify.Normal, Value: quantity.Of(0.1, "percent")},
		}
		r, err := verify.Run(context.Background(), s)
		if err != nil {
			return false, err
		}
		chi := map[string]float64{}
		for _, e := range r.Diagnosis.Explanations {
			chi[e.Label] = e.ChiSquared
		}
		both := chi[together]
		for _, one := range s.Fit {
			if both == 0 || both > chi[one]*(1+1e-6) {
				t.Errorf("unit %d: chi-squared is %.6g with both free and %.6g with %s", k, both, chi[one], one)
			}
		}
		f := fitted(r, together, "rotator1.reflectance")
		if f == nil {
			return false, nil // said above
		}
		truth := 100 * faces * p.film
		t.Logf("unit %d: %.3f ± %.3f %%, truth %.3f", k, f.Value, f.Sigma, truth)
		return math.Abs(f.Value-truth) <= 3*f.Sigma, nil
	})
	if in < 10 {
		t.Errorf("%d of %d are near the truth", in, units)
	}
}

// count looks at units side by side and returns of how many the check holds.
func count(t *testing.T, units int, check func(k int) (bool, error)) int {
	t.Helper()
	var n atomic.Int64
	err := parallel.Each(units, func(k int) error {
		holds, err := check(k)
		if holds {
			n.Add(1)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return int(n.Load())
}

// fitted returns what an explanation says of a parameter; nil when there is no such explanation.
func fitted(r *verify.Result, label, path string) *verify.Fitted {
	for _, e := range r.Diagnosis.Explanations {
		for i := range e.Parameters {
			if e.Label == label && e.Parameters[i].Path == path {
				return &e.Parameters[i]
			}
		}
	}
	return nil
}
