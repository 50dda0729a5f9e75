package assign_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"wedgework/reports/assign"
	"wedgework/reports/require"
)

// kinds are costs as they come up: all different, many alike, and chances of passing by the sum of two errors, which is
// what films and wedges have.
var kinds = map[string]func(rng *rand.Rand, rows, columns int) assign.Costs{
	"random": func(rng *rand.Rand, rows, columns int) assign.Costs {
		return fill(rows, columns, func(int, int) float64 { return rng.NormFloat64() })
	},
	"ties": func(rng *rand.Rand, rows, columns int) assign.Costs {
		return fill(rows, columns, func(int, int) float64 { return float64(rng.IntN(4)) })
	},
	"chances": func(rng *rand.Rand, rows, columns int) assign.Costs {
		a, b := make([]float64, rows), make([]float64, columns)
		for i := range a {
			a[i] = 0.3 * rng.NormFloat64()
		}
		for j := range b {
			b[j] = 0.3 * rng.NormFloat64()
		}
		return fill(rows, columns, func(i, j int) float64 {
			d := a[i] + b[j]
			return -(math.Erf((0.2-d)/0.1) + math.Erf((0.2+d)/0.1)) / 2
		})
	},
}

func fill(rows, columns int, of func(i, j int) float64) assign.Costs {
	c := assign.Costs{Rows: rows, Columns: columns, Each: make([]float64, rows*columns)}
	for k := range c.Each {
		c.Each[k] = of(k/columns, k%columns)
	}
	return c
}

// proved checks that a pairing is one, and that its prices prove it.
func proved(t *testing.T, name string, c assign.Costs, p *assign.Pairing) {
	t.Helper()
	sorted := slices.Sorted(slices.Values(p.Column))
	total, size := 0.0, 0.0
	for i, j := range p.Column {
		if j < 0 || j >= c.Columns || i > 0 && sorted[i] == sorted[i-1] {
			t.Fatalf("%s: %v is no pairing", name, p.Column)
		}
		total += c.At(i, j)
		size += math.Abs(c.At(i, j))
	}
	// Rounding of as many additions as there are prices.
	if gap := total - assign.Bound(c, p.Prices); !(math.Abs(gap) < 1e-12*float64(c.Columns)*(1+size)) ||
		math.Abs(total-p.Total) > 1e-12*(1+size) {
		t.Errorf("%s: a total of %g (%g), and the prices prove no more than %g less", name, total, p.Total, gap)
	}
}

// TestAgainstAllPairings: of few rows every pairing is looked at.
func TestAgainstAllPairings(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		for name, kind := range kinds {
			rows := 1 + rng.IntN(5)
			c := kind(rng, rows, rows+rng.IntN(3))
			p, err := assign.Solve(context.Background(), c)
			if err != nil {
				t.Fatal(err)
			}
			proved(t, name, c, p)
			if want := least(c, 0, make([]bool, c.Columns)); math.Abs(p.Total-want) > 1e-12 {
				t.Errorf("%s of %d by %d: %g, want %g", name, c.Rows, c.Columns, p.Total, want)
			}
		}
	}
}

func least(c assign.Costs, row int, taken []bool) float64 {
	if row == c.Rows {
		return 0
	}
	best := math.Inf(1)
	for j := range taken {
		if !taken[j] {
			taken[j] = true
			best = min(best, c.At(row, j)+least(c, row+1, taken))
			taken[j] = false
		}
	}
	return best
}

// TestAgainstScipy holds totals against scipy.optimize.linear_sum_assignment.
func TestAgainstScipy(t *testing.T) {
	python := require.Tool(t, "/usr/bin/python3")
	if exec.Command(python, "-c", "import scipy").Run() != nil {
		require.Missing(t, "scipy is not installed")
	}
	rng := rand.New(rand.NewPCG(3, 4))
	type sample struct {
		Name  string
		Costs [][]float64
		Total float64
	}
	var all []sample
	for _, size := range [][2]int{{1, 1}, {7, 7}, {40, 40}, {40, 65}, {150, 150}, {150, 400}} {
		for name, kind := range kinds {
			c := kind(rng, size[0], size[1])
			p, err := assign.Solve(context.Background(), c)
			if err != nil {
				t.Fatal(err)
			}
			proved(t, name, c, p)
			s := sample{Name: fmt.Sprint(name, size), Total: p.Total}
			for i := range c.Rows {
				s.Costs = append(s.Costs, c.Each[i*c.Columns:(i+1)*c.Columns])
			}
			all = append(all, s)
		}
	}
	data, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "costs.json")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "-c", `
import json, sys, numpy
from scipy.optimize import linear_sum_assignment
for s in json.load(open(sys.argv[1])):
    c = numpy.array(s["Costs"])
    r, k = linear_sum_assignment(c)
    off = abs(c[r, k].sum() - s["Total"])
    if off > 1e-9:
        print(s["Name"], c[r, k].sum(), s["Total"])
print("done")
`, file).CombinedOutput()
	if err != nil || string(out) != "done\n" {
		t.Errorf("%s%v", out, err)
	}
}

// TestRefusals.
func TestRefusals(t *testing.T) {
	for what, c := range map[string]assign.Costs{
		"no rows":      {},
		"too few":      {Rows: 2, Columns: 1, Each: []float64{1, 2}},
		"too short":    {Rows: 1, Columns: 2, Each: []float64{1}},
		"not a number": {Rows: 1, Columns: 2, Each: []float64{1, math.NaN()}},
		"infinite":     {Rows: 1, Columns: 1, Each: []float64{math.Inf(1)}},
	} {
		if _, err := assign.Solve(context.Background(), c); err == nil {
			t.Errorf("%s: no error", what)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := assign.Solve(ctx, kinds["random"](rand.New(rand.NewPCG(5, 6)), 50, 50)); err == nil {
		t.Error("an ended context: no error")
	}
}

func BenchmarkSolve(b *testing.B) {
	for name, kind := range kinds {
		c := kind(rand.New(rand.NewPCG(7, 8)), 2000, 2000)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := assign.Solve(context.Background(), c); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
