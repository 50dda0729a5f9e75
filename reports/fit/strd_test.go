package fit_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"testing"

	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
)

const strd = "../../testdata/published/strd"

// certified is one set of the NIST Statistical Reference Datasets; see the README beside the data.
type certified struct {
	Model        string
	Parameters   int
	Level        string
	Observations int
	Start1       []float64
	Start2       []float64
	Certified    []float64
	SD           []float64 `json:"certified_sd"`
	RSS          float64   `json:"certified_rss"`
	DataFile     string    `json:"data_file"`
}

// models are the functions of the sets, written out from the "model" text of certified.json.
var models = map[string]func(b []float64, x float64) float64{
	"Misra1a":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"BoxBOD":   func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Chwirut2": func(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
	"DanWood":  func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"Rat42":    func(b []float64, x float64) float64 { return b[0] / (1 + math.Exp(b[1]-b[2]*x)) },
	"Rat43": func(b []float64, x float64) float64 {
		return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x), 1/b[3])
	},
	"Thurber": rational3,
	"Hahn1":   rational3,
	"Kirby2": func(b []float64, x float64) float64 {
		return (b[0] + x*(b[1]+x*b[2])) / (1 + x*(b[3]+x*b[4]))
	},
	"Eckerle4": func(b []float64, x float64) float64 {
		z := (x - b[2]) / b[1]
		return b[0] / b[1] * math.Exp(-0.5*z*z)
	},
	"MGH09": func(b []float64, x float64) float64 { return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3]) },
	"MGH17": func(b []float64, x float64) float64 {
		return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4])
	},
	"Bennett5": func(b []float64, x float64) float64 { return b[0] * math.Pow(b[1]+x, -1/b[2]) },
	"Gauss1": func(b []float64, x float64) float64 {
		p, q := (x-b[3])/b[4], (x-b[6])/b[7]
		return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-p*p) + b[5]*math.Exp(-q*q)
	},
	"Lanczos3": func(b []float64, x float64) float64 {
		return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
	},
}

func rational3(b []float64, x float64) float64 {
	return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
}

// TestReferenceDatasets fits every set kept from both published starts. Source: NIST Statistical
// Reference Datasets, nonlinear regression.
func TestReferenceDatasets(t *testing.T) {
	// Six significant digits, what the certified values are commonly held to.
	const digits = 1e-6
	data, err := os.ReadFile(filepath.Join(strd, "certified.json"))
	if err != nil {
		t.Fatal(err)
	}
	var sets map[string]certified
	if err := json.Unmarshal(data, &sets); err != nil {
		t.Fatal(err)
	}
	levels := map[string]int{}
	names := make([]string, 0, len(sets))
	for name := range sets {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		set := sets[name]
		levels[set.Level]++
		model, ok := models[name]
		if !ok {
			t.Errorf("%s: no model", name)
			continue
		}
		y, x := observations(t, set.DataFile)
		if len(y) != set.Observations {
			t.Errorf("%s: got %d observations, want %d", name, len(y), set.Observations)
		}
		for i, start := range [][]float64{set.Start1, set.Start2} {
			for how, problem := range map[string]fit.Problem{"": plainly(model, x, y),
				"/as a verification": asVerified(t, model, x, y, start)} {
				t.Run(name+"/start"+strconv.Itoa(i+1)+how, func(t *testing.T) {
					problem.Start = start
					s, err := fit.Solve(context.Background(), problem)
					if err != nil {
						t.Fatal(err)
					}
					near(t, "residual sum of squares", s.ChiSquared, set.RSS, digits)
					if got, want := s.DOF, set.Observations-set.Parameters; got != want {
						t.Errorf("got %d degrees of freedom, want %d", got, want)
					}
					// The sets have no uncertainties of their own: theirs is the scatter about the fit.
					scatter := math.Sqrt(s.ChiSquared / float64(s.DOF))
					for j := range start {
						near(t, "parameter "+strconv.Itoa(j+1), s.Parameters[j], set.Certified[j], digits)
						near(t, "its deviation", s.Sigma[j]*scatter, set.SD[j], digits)
					}
				})
			}
		}
	}
	for _, level := range []string{"Lower", "Average", "Higher"} {
		if levels[level] < 2 {
			t.Errorf("%d sets of level %s: expected at least 2", levels[level], level)
		}
	}
}

// plainly is a set as anybody would fit it: residuals, and derivatives that the solver takes itself.
func plainly(model func(b []float64, x float64) float64, x, y []float64) fit.Problem {
	return fit.Problem{Count: len(y), Residuals: func(_ context.Context, p, r []float64) error {
		for k := range y {
			r[k] = y[k] - model(p, x[k])
		}
		return nil
	}}
}

// asVerified is a set as a verification fits it: residuals whitened by a covariance, here of independent unit
// variances, derivatives handed over, and bounds on every parameter, here far off.
func asVerified(t *testing.T, model func(b []float64, x float64) float64, x, y, start []float64) fit.Problem {
	t.Helper()
	c := uncertainty.NewCovariance(len(y))
	for i := range y {
		c.AddPoint(i, 1)
	}
	white, err := c.Whitener()
	if err != nil {
		t.Fatal(err)
	}
	p := plainly(model, x, y)
	bare := p.Residuals
	p.Residuals = func(ctx context.Context, b, r []float64) error {
		err := bare(ctx, b, r)
		white.Apply(r)
		return err
	}
	p.Jacobian = func(ctx context.Context, b, _ []float64, columns [][]float64) error {
		at, other := append([]float64{}, b...), make([]float64, len(y))
		for j := range b {
			// Half the difference over a step of 1e-5, whose square is the order of what it neglects.
			h := 1e-5 * math.Max(math.Abs(b[j]), 1e-6)
			at[j] = b[j] + h
			if err := p.Residuals(ctx, at, columns[j]); err != nil {
				return err
			}
			at[j] = b[j] - h
			if err := p.Residuals(ctx, at, other); err != nil {
				return err
			}
			at[j] = b[j]
			for k := range other {
				columns[j][k] = (columns[j][k] - other[k]) / (2 * h)
			}
		}
		return nil
	}
	for _, v := range start {
		p.Lower, p.Upper = append(p.Lower, v-1e9), append(p.Upper, v+1e9)
	}
	return p
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g (relative difference %.1e)", what, got, want, got/want-1)
	}
}

func observations(t *testing.T, file string) (y, x []float64) {
	t.Helper()
	f, err := os.Open(filepath.Join(strd, file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] { // the first holds the names
		for k, to := range []*[]float64{&y, &x} {
			v, err := strconv.ParseFloat(row[k], 64)
			if err != nil {
				t.Fatal(err)
			}
			*to = append(*to, v)
		}
	}
	return y, x
}
