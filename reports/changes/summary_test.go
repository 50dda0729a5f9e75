package changes

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wedgework/reports/notebook"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/require"
)

func limit(quantity, rule, over string, value, margin record.Number, outcome string) record.Limit {
	return record.Limit{Quantity: quantity, Rule: rule, Over: over, Limit: value, Margin: margin, Outcome: outcome,
		Unit: "dB", Uncertainty: "0.20"}
}

// Groups stand by consequence: what is decided, what it rests on, then what somebody changed.
func TestRanking(t *testing.T) {
	c := compare(t, func(r *record.Record) {
		r.Units[0].Verdicts[0].Outcome = "fail"
		r.Units[0].Limits[0].Margin, r.Units[0].Limits[0].Limit = "-0.20", "34.30"
		r.Units[0].Diagnosis.Fitted[0].Value = "44.40"
		r.Inputs[0].File.SHA256, r.Constants[0].SHA256, r.Program.Version = "d", "e", "2"
		r.Units[0].Budgets = []record.Budget{{Figure: "isolation"}}
	})
	var titles []string
	for _, g := range c.Groups {
		titles = append(titles, g.Title)
	}
	want := "Verdicts, Margins, Fitted parameters, Limits, Inputs, Constants, Program, Uncertainty"
	if got := strings.Join(titles, ", "); got != want {
		t.Errorf("groups %s, want %s", got, want)
	}
	for _, k := range kinds {
		if !slices.Contains(ranking, k.title) {
			t.Errorf("%s has no rank", k.title)
		}
	}
}

// A limit is the one that bounds the same, whatever its number and its range.
func TestLimitsByWhatTheyBound(t *testing.T) {
	c := compare(t, func(r *record.Record) {
		r.Units[0].Limits = []record.Limit{limit("insertion loss", "at most", "23 °C", "0.60", "0.20", "pass"),
			r.Units[0].Limits[0]}
		r.Units[0].Limits[1].Over = "70 °C"
	})
	text := c.Document().Text()
	for _, want := range []string{"isolation, at least, over", "insertion loss, at most, 23 °C"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "no longer asked") {
		t.Errorf("a limit with another range counts as gone:\n%s", text)
	}

	// A reading that decides a limit is the same reading when another limit is put in front.
	leak := func(n int) func(r *record.Record) {
		return func(r *record.Record) {
			loss := limit("insertion loss", "at most", "23 °C", "0.60", "0.20", "pass")
			r.Units[0].Limits = append([]record.Limit{loss, loss}[:n], r.Units[0].Limits...)
			r.Units[0].Leaks = []record.Leak{{Name: fmt.Sprintf("decides limit %d", n+1), At: "1565 nm"}}
		}
	}
	both, err := Compare(revision(t, leak(0)), revision(t, leak(2)))
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range both.Groups {
		if g.Title == "Leak" {
			t.Errorf("the leak of the same reading counts as changed: %+v", g.Changes)
		}
	}
}

// The limits that fail now stand first, then those that lost most in their uncertainties. Last digits do not count.
func TestMarginsByConsequence(t *testing.T) {
	with := func(a, b, c, d record.Number, outcome string) func(r *record.Record) {
		return func(r *record.Record) {
			r.Units[0].Limits = []record.Limit{
				limit("insertion loss", "at most", "23 °C", "0.60", a, "pass"),
				limit("isolation", "at least", "23 °C", "30.00", b, "pass"),
				limit("PDL", "at most", "23 °C", "0.10", c, outcome),
				limit("DGD", "at most", "23 °C", "0.30", d, "pass")}
			r.Units[0].Limits[1].Uncertainty = "0.05"
		}
	}
	c, err := Compare(revision(t, with("0.50", "4.00", "0.05", "0.10", "pass")),
		revision(t, with("0.30", "3.80", "-0.01", "0.11", "fail")))
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, b := range c.margins() {
		for _, r := range strings.Split(fmt.Sprint(b), "[")[3:] {
			order = append(order, strings.Fields(r)[0])
		}
	}
	if got := strings.Join(order, " "); got != "PDL isolation insertion" {
		t.Errorf("order %q, want PDL, isolation, insertion loss, and no DGD", got)
	}
	if len(c.Moved) != 1 || !strings.Contains(c.Document().Text(),
		"One result moved by one unit of its last digit: margins 1.") {
		t.Errorf("moved %+v", c.Moved)
	}
}

func TestLastDigit(t *testing.T) {
	for _, c := range []struct {
		was, is string
		want    bool
	}{
		{"33.60", "33.61", true}, {"33.60", "33.59", true}, {"33.60", "33.62", false}, {"33.60", "33.60", false},
		{"9.99", "10.00", true}, {"0.999999", "1.000000", true}, {"33.6", "33.60", false}, {"12", "13", false},
		{"0.01", "-0.01", false}, {"-0.01", "0.00", false}, {"-1.20", "-1.21", true}, {"−1.20", "−1.21", true},
		{"0.33 ± 0.07 dB", "0.34 ± 0.07 dB", true}, {"0.33 dB, 12 checks", "0.34 dB, 13 checks", false},
		{"pass", "fail", false}, {"", "0.01", false}, {"0.33 dB", "0.34 nm", false},
	} {
		if got := lastDigit(c.was, c.is); got != c.want {
			t.Errorf("%q to %q: %t, want %t", c.was, c.is, got, c.want)
		}
	}
	// What somebody stated is told to the last digit.
	c := compare(t, func(r *record.Record) { r.Units[0].Limits[0].Limit = "30.01" })
	if len(c.Moved) != 0 || len(c.Groups) != 1 || c.Groups[0].Title != "Limits" {
		t.Errorf("a limit that moved by its last digit: groups %+v, moved %+v", c.Groups, c.Moved)
	}
}

func cellsOf(t *testing.T, sources ...string) []byte {
	t.Helper()
	nb := &notebook.Notebook{Minor: 4}
	for _, s := range sources {
		nb.Cells = append(nb.Cells, notebook.Cell{Type: notebook.CodeCell, Source: s})
	}
	data, err := nb.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The difference of cells, held against diff of GNU diffutils, which finds as few lines as can be, too.
func TestCells(t *testing.T) {
	old := []string{"a = 1\nb = 2", "limits(isolation=at_least(30*dB))", "gone = 1", "same"}
	now := []string{"new = 3", "a = 1\nb = 2", "limits(isolation=at_least(32*dB),\n       pdl=at_most(0.1*dB))", "same"}
	got, err := Cells(cellsOf(t, old...), cellsOf(t, now...))
	if err != nil {
		t.Fatal(err)
	}
	want := "[{0 1 [+ new = 3]} {2 3 [- limits(isolation=at_least(30*dB)) + limits(isolation=at_least(32*dB), +      " +
		"  pdl=at_most(0.1*dB))]} {3 0 [- gone = 1]}]"
	if s := fmt.Sprint(got); s != want {
		t.Errorf("got %s, want %s", s, want)
	}

	tool := require.Tool(t, "diff")
	dir := t.TempDir()
	letters := func(seed, n int) []string {
		all := make([]string, n)
		for i := range all {
			seed = (seed*1103515245 + 12345) & 0x7fffffff
			all[i] = string(rune('a' + seed>>16%5))
		}
		return all
	}
	for k := range 60 {
		a, b := letters(k, 3+k%17), letters(k*7+1, 2+k%13)
		for name, l := range map[string][]string{"a": a, "b": b} {
			if err := os.WriteFile(filepath.Join(dir, name), []byte(strings.Join(l, "\n")+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		out, _ := exec.Command(tool, "--minimal", filepath.Join(dir, "a"), filepath.Join(dir, "b")).Output()
		theirs := 0
		for _, l := range strings.Split(string(out), "\n") {
			if strings.HasPrefix(l, "<") || strings.HasPrefix(l, ">") {
				theirs++
			}
		}
		ours, kept := 0, []string{}
		at := 0
		for _, g := range gaps(a, b) {
			kept = append(append(kept, a[at:g.a0]...), b[g.b0:g.b1]...)
			at = g.a1
			ours += g.a1 - g.a0 + g.b1 - g.b0
		}
		if kept = append(kept, a[at:]...); !slices.Equal(kept, b) || ours != theirs {
			t.Fatalf("%v to %v: %d lines, diff has %d; put together %v", a, b, ours, theirs, kept)
		}
	}
}

func TestDifferenceOfLines(t *testing.T) {
	was := "x\na\nb\nc\nd\ne\nf\ng\nh"
	got := difference("code\n"+was, "code\n"+strings.NewReplacer("d", "D", "g\n", "").Replace(was))
	want := []string{"  ...", "  b", "  c", "- d", "+ D", "  e", "  f", "- g", "  h"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Without a notebook it is said that the cells are not compared, never that nothing changed in them.
func TestCellsUnread(t *testing.T) {
	c := compare(t, func(r *record.Record) { r.Notebook.SHA256 = "d" })
	if !c.Unread || !strings.Contains(c.Document().Text(), "give compare the PDF of both reports") {
		t.Errorf("unread %t:\n%s", c.Unread, c.Document().Text())
	}
}

// However much changed, the summary ends on the first page: it can precede the new report by itself.
func TestSummaryFitsOnePage(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	for _, units := range []int{1, 100} {
		all := func(r *record.Record) {
			first := r.Units[0]
			r.Units = nil
			for n := range units {
				u := first
				u.Unit = fmt.Sprintf("04%02d", n)
				u.Limits, u.Diagnosis.Fitted = nil, nil
				for k := range 40 {
					u.Limits = append(u.Limits, limit("isolation", "at least",
						fmt.Sprintf("%d nm to %d nm, -5 °C to 70 °C", 1500+k, 1530+k), "30.00", "4.10", "pass"))
					u.Diagnosis.Fitted = append(u.Diagnosis.Fitted, record.Fitted{Name: fmt.Sprintf("wedge%d.apex", k),
						Unit: "deg", Value: "5.000", Within: "pass"})
				}
				u.Verdicts = nil
				for _, subject := range []string{"model agreement", "limit conformity", "data quality"} {
					u.Verdicts = append(u.Verdicts, record.Verdict{Subject: subject, Outcome: "pass",
						Sentence: strings.Repeat("long ", 90)})
				}
				r.Units = append(r.Units, u)
			}
			for k := range 30 {
				r.Settings = append(r.Settings, record.Setting{Name: fmt.Sprintf("setting%d", k), Value: "1 deg"})
				r.Inputs = append(r.Inputs, record.Input{Name: fmt.Sprintf("input%d", k)})
				r.Constants = append(r.Constants, record.Source{Name: fmt.Sprintf("material%d", k)})
			}
		}
		worse := func(r *record.Record) {
			all(r)
			for n := range r.Units {
				r.Units[n].Verdicts[0].Outcome = "fail"
				for k := range r.Units[n].Limits {
					r.Units[n].Limits[k].Margin, r.Units[n].Limits[k].Outcome = "-1.00", "fail"
					r.Units[n].Diagnosis.Fitted[k].Value = "5.300"
				}
				r.Units[n].Limits[0].Margin = "4.11"
				r.Units[n].Limits[0].Outcome = "pass"
			}
			for k := range r.Settings {
				r.Settings[k].Value = "2 deg"
			}
			for k := range r.Inputs {
				r.Inputs[k].File.SHA256, r.Inputs[k].File.Name = "z", strings.Repeat("name", 30)
			}
			for k := range r.Constants {
				r.Constants[k].SHA256 = "z"
			}
			r.Notebook.SHA256, r.Program.Version, r.Program.Go = "z", "2", "go9"
		}
		c, err := Compare(revision(t, all), revision(t, worse))
		if err != nil {
			t.Fatal(err)
		}
		page, _, err := pdf.Render(c.Document(), pdf.Options{})
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "changes.pdf")
		if err := os.WriteFile(path, page, 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, "-f", "1", "-l", "1", path, "-").CombinedOutput()
		if err != nil {
			t.Fatal(err)
		}
		if want := "by one unit of"; !strings.Contains(string(out), want) {
			t.Errorf("%d units: the first page lacks the last line of the summary:\n%s", units, out)
		}
	}
}

// A check of the data is that of the limit which it is about, whatever its number.
func TestChecksByWhatTheyBound(t *testing.T) {
	checks := func(n int) func(r *record.Record) {
		return func(r *record.Record) {
			loss := limit("insertion_loss", "at most", "23 °C", "0.60", "0.20", "pass")
			u := &r.Units[0]
			u.Limits = append([]record.Limit{loss}[:n], append(u.Limits, loss)[:len(u.Limits)+1-n]...)
			for i, l := range u.Limits {
				u.Checks = append(u.Checks, record.Check{Name: fmt.Sprintf("coverage of limit %d", i+1), Outcome: "pass",
					Finding: l.Quantity})
			}
		}
	}
	c, err := Compare(revision(t, checks(0)), revision(t, checks(1)))
	if err != nil {
		t.Fatal(err)
	}
	if !c.Same() {
		t.Errorf("another order of the limits counts as a change: %+v", c.Groups)
	}
}

// A limit more is said in a line, in words that people use.
func TestNewLimitInShort(t *testing.T) {
	c := compare(t, func(r *record.Record) {
		l := limit("pdl", "at most", "23 °C", "0.10", "0.08", "pass")
		l.Measured, l.Decision = "0.02", strings.Repeat("the rule ", 30)
		r.Units[0].Limits = append(r.Units[0].Limits, l)
		r.Units[0].Budgets = []record.Budget{{Figure: "maximum PDL", Unit: "dB", K: "2.00", Expanded: "0.03",
			Contributions: []record.Contribution{{Name: "repeatability"}}}}
	})
	text := c.Document().Text()
	for _, want := range []string{"PDL at most (23 °C): new", "0.10 dB, measured 0.02, margin 0.08, pass",
		"U = 0.03 dB, k = 2.00"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	for _, raw := range []string{"decision_rule", "pdl", "the rule", "guard_band", "repeatability"} {
		if strings.Contains(text, raw) {
			t.Errorf("the text has %q:\n%s", raw, text)
		}
	}
}

func TestCut(t *testing.T) {
	for _, c := range []struct {
		text string
		most int
		want string
	}{
		{"short", 5, "short"},
		{"insertion loss at most 0.60 dB", 26, "insertion loss at most…"},
		{"insertion loss, at most 0.60 dB", 16, "insertion loss…"},
		{"one two", 4, "one…"},
		{strings.Repeat("x", 50), 30, strings.Repeat("x", 29) + "…"},
	} {
		if got := cut(c.text, c.most); got != c.want {
			t.Errorf("%q cut to %d is %q, want %q", c.text, c.most, got, c.want)
		}
	}
}
