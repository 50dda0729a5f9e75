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
			t.Run(name+"/start"+strconv.Itoa(i+1), func(t *testing.T) {
				s, err := fit.Solve(context.Background(), fit.Problem{
					Count: len(y),
					Start: start,
					Residuals: func(_ context.Context, p, r []float64) error {
						for k := range y {
							r[k] = y[k] - model(p, x[k])
						}
						return nil
					},
				})
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("%d iterations", s.Iterations)
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
	for _, level := range []string{"Lower", "Average", "Higher"} {
		if levels[level] < 2 {
			t.Errorf("%d sets of level %s: expected at least 2", levels[level], level)
		}
	}
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
