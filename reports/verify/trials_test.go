package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// tail is what an expanded uncertainty leaves out on either side.
const tail = (1 - 0.954499736) / 2

// TestSpecifiedBand holds the band of the specified model against the distribution of a sum of angle errors, in
// closed form: the leakage amplitude is a monotonic function of |d + e|, so that its quantiles are those of the angle.
func TestSpecifiedBand(t *testing.T) {
	deg := func(v float64) quantity.Quantity { return quantity.Of(v, "deg") }
	for name, c := range map[string]struct {
		tolerances map[string]verify.Tolerance
		upper      float64 // the angle error exceeded with probability tail
		null       float64 // the magnitude of the angle error exceeded with it
		near       float64 // relative
	}{
		// One uniform angle: P(|x| > s) = 1 - s/a.
		"uniform": {map[string]verify.Tolerance{"wedge1.axis": {Shape: verify.Uniform, Value: deg(0.3)}},
			0.3 * (1 - 2*tail), 0.3 * (1 - tail), 1e-3},
		// One normal angle: two standard deviations; both tails at the null (tables of the normal distribution).
		"normal": {map[string]verify.Tolerance{"wedge2.axis": {Shape: verify.Normal, Value: deg(0.15)}},
			0.3, 0.15 * 2.2776, 4e-3},
		// The sum of two: a trapezoid, P(x > s) = (a + b - s)^2 / (8ab) above a - b. Drawn, so not exact.
		"trapezoid": {map[string]verify.Tolerance{"wedge1.axis": {Shape: verify.Uniform, Value: deg(0.3)},
			"wedge2.axis": {Shape: verify.Uniform, Value: deg(0.2)}},
			0.5 - math.Sqrt(8*0.3*0.2*tail), 0.5 - math.Sqrt(8*0.3*0.2*tail/2), 0.03},
	} {
		t.Run(name, func(t *testing.T) {
			s := scenario(nominal, lab)
			s.Tolerances, s.Fit, s.Limits = c.tolerances, nil, nil
			amplitude := func(angle float64) float64 {
				m := nominal
				sin := math.Sin(angle * math.Pi / 180)
				q := 1 / (1 + math.Pow(10, m.extinction/10))
				return math.Sqrt(math.Pow(10, -m.loss/10) * (sin*sin + q))
			}
			seen := 0
			for _, curve := range run(t, s).Curves {
				if curve.Quantity != limits.Isolation {
					continue
				}
				for k, l := range curve.Wavelengths {
					off := perNanometre*(float64(l)*1e9-1550) + perKelvin*(curve.Temperature.Celsius()-23)
					centre := amplitude(off)
					low, high := centre, amplitude(c.null)
					switch d := math.Abs(off); {
					case d < 1e-9: // the centre is the least there is
					case d > 1: // all trials on one side of the null
						low, high = amplitude(d-c.upper), amplitude(d+c.upper)
					default:
						continue
					}
					seen++
					got := [2]float64{math.Pow(10, -curve.Specified.High[k]/20),
						math.Pow(10, -curve.Specified.Low[k]/20)}
					if may := c.near * (high - low); math.Abs(got[0]-low) > may || math.Abs(got[1]-high) > may {
						t.Errorf("%.0f nm, %.0f degC: leak amplitude from %.6f to %.6f, want %.6f to %.6f",
							float64(l)*1e9,
							curve.Temperature.Celsius(), got[0], got[1], low, high)
					}
				}
			}
			if seen < 100 {
				t.Errorf("%d points compared", seen)
			}
		})
	}
}

// TestSpecifiedFigures holds the interval of a key figure against many more, plain draws of the same closed form:
// as many trials as are made settle it to 7 %.
func TestSpecifiedFigures(t *testing.T) {
	s := scenario(nominal, lab)
	s.Fit = nil
	r := run(t, s)
	rng := rand.New(rand.NewPCG(3, 5))
	var drawn []float64
	for range 100000 {
		m := nominal
		m.angle += 0.3 * (2*rng.Float64() - 1)
		m.axis2 += 0.2 * (2*rng.Float64() - 1)
		m.extinction += 2 * rng.NormFloat64()
		m.loss += 0.05 * rng.NormFloat64()
		// The minimum isolation of the band at 23 degC is at one of its ends.
		drawn = append(drawn, math.Sqrt(max(m.at(verify.Backward, 1535, 23).Mean(), m.at(verify.Backward, 1565,
			23).Mean())))
	}
	slices.Sort(drawn)
	low, high := drawn[int(tail*float64(len(drawn)))], drawn[int((1-tail)*float64(len(drawn)))]
	f := r.Figures[0]
	if f.Name != "minimum isolation" {
		t.Fatalf("the first figure is %s", f.Name)
	}
	shift := math.Pow(10, -f.Bias/20) // what noise lets expect of a raw extreme
	got := [2]float64{math.Pow(10, -f.Specified.High/20) / shift, math.Pow(10, -f.Specified.Low/20) / shift}
	if may := 0.07 * (high - low) / 2; math.Abs(got[0]-low) > may || math.Abs(got[1]-high) > may {
		t.Errorf("leak amplitude from %.5f to %.5f, want %.5f to %.5f ± %.5f", got[0], got[1], low, high, may)
	}
}

// TestSpecifiedJoint: with one figure and one normal tolerance chi-squared is the square of the difference over the sum
// of both variances.
func TestSpecifiedJoint(t *testing.T) {
	in := lab
	in.temperatures = []float64{23}
	unit := nominal
	unit.loss += 0.1
	s := scenario(unit, in)
	s.Fit, s.Limits = nil, nil
	s.Tolerances = map[string]verify.Tolerance{"beam.loss": {Shape: verify.Normal, Value: quantity.Of(0.05, "dB")}}
	for i := range s.Readings.Rows {
		iso(&s.Readings.Rows[i]).Value, pdl(&s.Readings.Rows[i]).Value = math.NaN(), math.NaN()
	}
	r := run(t, s)
	if r.Joint.Count != 1 || len(r.Figures) != 1 {
		t.Fatalf("%d figures, %d of them in chi-squared", len(r.Figures), r.Joint.Count)
	}
	f := r.Figures[0]
	u := (f.High - f.Low) / 4
	want := math.Pow(f.Measured-f.Specified.Value, 2) / (u*u + 0.05*0.05)
	if math.Abs(r.Joint.ChiSquared-want) > 0.01*want {
		t.Errorf("chi-squared %.4f, want %.4f", r.Joint.ChiSquared, want)
	}
}

// stepped is a model that no polynomial follows: beyond a rotation 0.1 deg above nominal the loss is a decibel greater.
type stepped struct{ analytic }

func (m stepped) Over(ctx context.Context, d verify.Direction, ls []quantity.Length,
	t quantity.Temperature) ([]verify.Transmission, error) {
	if m.angle > 45.1 {
		m.loss++
	}
	return m.analytic.Over(ctx, d, ls, t)
}

func (m stepped) Adjusted(values map[string]quantity.Quantity) (verify.Model, error) {
	a, err := m.analytic.Adjusted(values)
	if err != nil {
		return nil, err
	}
	return stepped{a.(analytic)}, nil
}

// TestSpecifiedUnsmooth: a third of the units lose a decibel more, so that the interval of the loss holds both losses
// and nothing between is made of them.
func TestSpecifiedUnsmooth(t *testing.T) {
	s := scenario(nominal, lab)
	s.Model, s.Fit, s.Limits = stepped{nominal}, nil, nil
	s.Tolerances = map[string]verify.Tolerance{"rotator1.angle": {Shape: verify.Uniform, Value: quantity.Of(0.3,
		"deg")}}
	for _, curve := range run(t, s).Curves {
		if curve.Quantity != limits.InsertionLoss {
			continue
		}
		for k, v := range curve.Specified.Value {
			if low, high := v-curve.Specified.Low[k], curve.Specified.High[k]-v; math.Abs(low) > 1e-9 ||
				math.Abs(high-1) > 1e-9 {
				t.Fatalf("the loss lies between %.4f dB below and %.4f dB above, want 0 and 1", low, high)
			}
		}
	}
}
