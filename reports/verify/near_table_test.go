package verify_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/require"
	"wedgework/reports/verify"
	"wedgework/reports/verify/decide"
)

// nearTally counts one row of the table. Its fields are written to a file, so that parts of a soak can be added up.
type nearTally struct {
	Units, Limits         int
	Broken, BrokenPassed  int
	Sound, SoundFailed    int
	Undecided, Passed     int
	Refused, QualityFails int
	// Stated are the false acceptances that the passes state, summed.
	Stated float64
	// Held counts figures and those whose interval holds the truth: the limits' by quantity, key figures, parameters.
	Held map[string][2]int
	// Conformance counts decisions by the conformance probability that they state, and how many of them truly conform.
	Conformance [len(nearBins) + 1]nearBin
}

// nearBin is a class of conformance probabilities.
type nearBin struct {
	N, Conform int
	Stated     float64 // summed
}

// nearBins part the probabilities.
var nearBins = [...]float64{0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99}

func (c *nearTally) held(what string, held bool) {
	if c.Held == nil {
		c.Held = map[string][2]int{}
	}
	n := c.Held[what]
	n[0]++
	if held {
		n[1]++
	}
	c.Held[what] = n
}

// count adds the verdicts on one unit.
func (c *nearTally) count(u near, r *verify.Result, of nearTruth) {
	c.Units++
	if r.Quality.Outcome == document.Fail {
		c.QualityFails++
	}
	for _, d := range r.Decisions {
		truth := of.worst[d.Limit.Quantity]
		broken := truth < d.Limit.Value
		if !d.Limit.AtLeast {
			broken = truth > d.Limit.Value
		}
		c.Limits++
		if broken {
			c.Broken++
		} else {
			c.Sound++
		}
		switch d.Outcome {
		case document.Pass:
			c.Passed++
			c.Stated += d.FalseAcceptance()
			if broken {
				c.BrokenPassed++
			}
		case document.Undecided:
			c.Undecided++
		default:
			if !broken {
				c.SoundFailed++
			}
		}
		if !d.AtLeast {
			c.held(d.Limit.Quantity.String(), d.Low <= truth && truth <= d.High)
			k, found := slices.BinarySearch(nearBins[:], d.Conformance)
			if found {
				k++
			}
			b := &c.Conformance[k]
			b.N++
			b.Stated += d.Conformance
			if !broken {
				b.Conform++
			}
		}
	}
	c.keyFigures(u, r, of)
	c.parameters(u, r)
}

// keyFigures looks whether the intervals of the key figures hold what is true of them.
func (c *nearTally) keyFigures(u near, r *verify.Result, of nearTruth) {
	for _, f := range r.Figures {
		truth := math.NaN()
		switch {
		case !f.Determined || f.Extrapolate:
		case f.Name == decide.MinimumIsolation:
			truth = of.mean
			if r.Polarization != verify.Scrambled {
				truth = of.worst[limits.Isolation]
			}
		case f.Run < 0:
		default:
			k := slices.IndexFunc(u.temperatures, func(t float64) bool {
				return math.Abs(t-r.Runs[f.Run].Temperature.Celsius()) < 0.5
			})
			switch f.Name {
			case decide.PeakWavelength:
				truth = of.peak[k]
			case decide.PeakIsolation:
				if truth = of.height[k]; of.peak[k] != of.peak[k] {
					truth = math.NaN()
				}
			case decide.InsertionLoss:
				truth = of.loss[k]
			}
		}
		if truth == truth {
			c.held("key figure: "+f.Name, f.Low <= truth && truth <= f.High)
		}
	}
}

// parameters looks whether the diagnosis holds what was planted.
func (c *nearTally) parameters(u near, r *verify.Result) {
	if len(r.Diagnosis.Gross) > 0 {
		c.held("no gross error named", false)
		return
	}
	c.held("no gross error named", true)
	for _, d := range r.Diagnosis.Departures {
		switch {
		case d.Path == "rotator1.angle":
			truth := d.Nominal.Value + u.d + u.e
			c.held("d + e", d.Low <= truth && truth <= d.High)
		case d.Path == "rotator1.extinction" && d.AtLeast:
			c.held("extinction, at least", d.Low <= u.extinction)
		case d.Path == "rotator1.extinction":
			c.held("extinction", d.Low <= u.extinction && u.extinction <= d.High)
		}
	}
}

// add sums two parts of a soak.
func (c *nearTally) add(o *nearTally) {
	c.Units += o.Units
	c.Limits += o.Limits
	c.Broken += o.Broken
	c.BrokenPassed += o.BrokenPassed
	c.Sound += o.Sound
	c.SoundFailed += o.SoundFailed
	c.Undecided += o.Undecided
	c.Passed += o.Passed
	c.QualityFails += o.QualityFails
	c.Refused += o.Refused
	c.Stated += o.Stated
	for what, n := range o.Held {
		if c.Held == nil {
			c.Held = map[string][2]int{}
		}
		was := c.Held[what]
		c.Held[what] = [2]int{was[0] + n[0], was[1] + n[1]}
	}
	for k, b := range o.Conformance {
		c.Conformance[k].N += b.N
		c.Conformance[k].Conform += b.Conform
		c.Conformance[k].Stated += b.Stated
	}
}

func (c *nearTally) share(what string) string {
	n := c.Held[what]
	if n[0] == 0 {
		return "–"
	}
	return fmt.Sprintf("%.1f %%", share(n[1], n[0]))
}

// soakOf reads how many units a soak measures, and the first of them.
func soakOf(t testing.TB, short int) (first, units int) {
	soak := os.Getenv("WEDGEWORK_SOAK")
	if soak == "" {
		return 0, short
	}
	units = 4000
	if n, err := strconv.Atoi(soak); err == nil && n > 1 {
		units = n
	}
	if from := os.Getenv("WEDGEWORK_SOAK_FIRST"); from != "" {
		var err error
		if first, err = strconv.Atoi(from); err != nil || first < 0 {
			t.Fatalf("WEDGEWORK_SOAK_FIRST: found %q, expected the number of a unit, from 0 up", from)
		}
	}
	return first, units
}

// TestNearTheLimits measures what matters: of units near their limits, how often a broken limit passes, against the
// false acceptance that the reports state; and how often the intervals hold what is true over the band. 24 units;
// WEDGEWORK_SOAK=1 makes it 4,000, another number that many, WEDGEWORK_SOAK_FIRST begins with a later one, and
// WEDGEWORK_SOAK_TALLIES names a folder in which the parts of a soak are kept and added up.
func TestNearTheLimits(t *testing.T) {
	first, units := soakOf(t, require.Sample(12, 24))
	rows := map[string]*nearTally{}
	for _, row := range nearRows {
		rows[row.name] = &nearTally{}
	}
	var lock sync.Mutex
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for k := range next {
				u := nearUnit(k)
				s, of, refused := u.spec(t)
				var r *verify.Result
				var err error
				if refused == nil {
					r, err = verify.Run(context.Background(), s)
				}
				lock.Lock()
				switch {
				case refused != nil:
					t.Logf("unit %d (%s): %v", k, u.row, refused)
					rows[u.row].Units++
					rows[u.row].Refused++
				case err != nil:
					t.Errorf("unit %d: %v", k, err)
				default:
					rows[u.row].count(u, r, of)
					u.tell(t, k, r, of)
				}
				lock.Unlock()
			}
		})
	}
	for k := first; k < first+units; k++ {
		next <- k
	}
	close(next)
	wait.Wait()
	if folder := os.Getenv("WEDGEWORK_SOAK_TALLIES"); folder != "" {
		rows = kept(t, filepath.Join(folder, fmt.Sprintf("near-%06d.json", first)), rows)
	}
	printNear(t, rows)
	checkNear(t, rows)
}

// tell writes what is to be looked at: broken limits that pass.
func (u near) tell(t *testing.T, k int, r *verify.Result, of nearTruth) {
	for _, d := range r.Decisions {
		truth := of.worst[d.Limit.Quantity]
		if d.Outcome == document.Pass && (truth < d.Limit.Value) == d.Limit.AtLeast && truth != d.Limit.Value {
			t.Logf("unit %d (%s, every %g nm, %v degC): %s of %.3f passes %.3f, measured %.3f (%.3f to %.3f), false "+
				"acceptance %.2g, quality %v", k, u.row, u.step, u.temperatures, d.Limit.Quantity, truth,
				d.Limit.Value, d.Measured, d.Low, d.High, d.FalseAcceptance(), r.Quality.Outcome)
		}
	}
}

// kept writes the tallies of one part of a soak and returns the sum of all parts in its folder.
func kept(t *testing.T, file string, rows map[string]*nearTally) map[string]*nearTally {
	t.Helper()
	data, err := json.MarshalIndent(rows, "", " ")
	if err == nil {
		err = os.WriteFile(file, data, 0o666)
	}
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(filepath.Dir(file), "near-*.json"))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]*nearTally{}
	for _, row := range nearRows {
		all[row.name] = &nearTally{}
	}
	for _, f := range files {
		part := map[string]*nearTally{}
		if data, err := os.ReadFile(f); err != nil {
			t.Fatal(err)
		} else if err := json.Unmarshal(data, &part); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		for name, c := range part {
			if all[name] == nil {
				t.Fatalf("%s: found the row %q, which the table does not have", f, name)
			}
			all[name].add(c)
		}
	}
	return all
}

// printNear writes the tables of kernel/topics/text/accuracy.md.
func printNear(t *testing.T, rows map[string]*nearTally) {
	columns := []string{"isolation", "insertion loss", "PDL", "DGD", "d + e", "extinction", "extinction, at least",
		"key figure: " + decide.MinimumIsolation, "key figure: " + decide.PeakWavelength,
		"key figure: " + decide.PeakIsolation, "key figure: " + decide.InsertionLoss, "no gross error named"}
	text := "\n| how they were measured | limits | broken | of them passed | stated | sound limits failed | " +
		"undecided | quality fails |\n"
	for _, row := range nearRows {
		c := rows[row.name]
		text += fmt.Sprintf("| %s | %d | %d | %d | %.2f | %d of %d | %d | %.1f %% |\n", row.name, c.Limits, c.Broken,
			c.BrokenPassed, c.Stated, c.SoundFailed, c.Sound, c.Undecided, share(c.QualityFails+c.Refused, c.Units))
	}
	text += "\n| interval holds |"
	for _, what := range columns {
		text += " " + what + " |"
	}
	for _, row := range nearRows {
		text += "\n| " + row.name + " |"
		for _, what := range columns {
			text += " " + rows[row.name].share(what) + " |"
		}
	}
	honest := honestOf(rows)
	text += "\n\n| conformance stated | decisions | mean of it | of them conform |\n"
	for k, b := range honest.Conformance {
		low, high := 0.0, 1.0
		if k > 0 {
			low = nearBins[k-1]
		}
		if k < len(nearBins) {
			high = nearBins[k]
		}
		text += fmt.Sprintf("| %g to %g | %d | %.3f | %.3f |\n", low, high, b.N, b.Stated/float64(max(b.N, 1)),
			share(b.Conform, b.N)/100)
	}
	for _, what := range columns {
		text += fmt.Sprintf("all true budgets, %s: %s of %d\n", what, honest.share(what), honest.Held[what][0])
	}
	t.Log(text)
}

// honestOf sums the rows whose budget is true as it is; noise below the stated one makes intervals hold more.
func honestOf(rows map[string]*nearTally) *nearTally {
	all := &nearTally{}
	for _, row := range nearRows {
		if row.honest {
			all.add(rows[row.name])
		}
	}
	return all
}

// checkNear asks for what the reports promise, as far as so many units can show it.
func checkNear(t *testing.T, rows map[string]*nearTally) {
	for _, row := range nearRows {
		c := rows[row.name]
		// Poisson's upper end: beyond it by chance once in a thousand.
		if most := c.Stated + 3.1*math.Sqrt(c.Stated) + 2; row.honest && float64(c.BrokenPassed) > most {
			t.Errorf("%s: %d broken limits pass, %.2f are stated", row.name, c.BrokenPassed, c.Stated)
		}
		least := 0.95*float64(c.Units) - 3*math.Sqrt(0.05*float64(c.Units)) - 1
		if row.name != "floor of 50 dB stated as 62 dB" && !row.honest && float64(c.QualityFails+c.Refused) < least {
			t.Errorf("%s: data quality fails in %d of %d", row.name, c.QualityFails+c.Refused, c.Units)
		}
	}
}
