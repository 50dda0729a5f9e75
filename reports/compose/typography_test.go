package compose

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/record"
)

func TestHeadline(t *testing.T) {
	for in, want := range map[string]string{
		"temperature": "Temperature", "least isolation in band": "Least isolation in band",
		"DGD at 1550 nm": "DGD at 1550 nm",
		"n_o":            "n_o", "no": "no", "wedge1.axis": "wedge1.axis", "χ²": "χ²", "": "",
	} {
		if got := headline(in); got != want {
			t.Errorf("headline(%q) = %q, want %q", in, got, want)
		}
	}
}

// Figures and tables are numbered each in their own order through all sections; the outcome's own tables stay as
// they were.
func TestNumber(t *testing.T) {
	own := [][]string{{"-5 °C to 70 °C"}}
	s := []document.Section{
		{Blocks: []document.Block{document.Table{Caption: "a", Columns: columns("temperature"), Rows: own},
			document.Figure{Caption: "b"}, document.Figure{}}},
		{Blocks: []document.Block{document.Figure{Caption: "c"}, document.Table{Caption: "d"}}},
	}
	number(s)
	first := s[0].Blocks[0].(document.Table)
	for _, c := range []struct{ got, want string }{
		{first.Caption, "Table 1. a"}, {first.Columns[0].Head, "Temperature"}, {first.Rows[0][0], "−5 to 70 °C"},
		{s[0].Blocks[1].(document.Figure).Caption, "Figure 1. b"}, {s[0].Blocks[2].(document.Figure).Caption, ""},
		{s[1].Blocks[0].(document.Figure).Caption, "Figure 2. c"}, {s[1].Blocks[1].(document.Table).Caption,
			"Table 2. d"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if own[0][0] != "-5 °C to 70 °C" {
		t.Errorf("the outcome's own table was changed to %q", own[0][0])
	}
}

// Panels that stand together have one range, in whole steps, with room about all that is drawn.
func TestLevel(t *testing.T) {
	charts := []figure.Chart{
		{Series: []figure.Series{{Y: []float64{22.4, math.NaN(), 42}, Err: []float64{0.2, 0, 0.2}}}},
		{Bands: []figure.Band{{Low: []float64{21}, High: []float64{45.8}}}, Limits: []figure.Limit{{At: 20}}},
		{},
	}
	level(charts, 5)
	for i, c := range charts {
		if c.Y.Min != 15 || c.Y.Max != 50 {
			t.Errorf("panel %d runs from %g to %g, want 15 to 50", i, c.Y.Min, c.Y.Max)
		}
	}
	empty := []figure.Chart{{}}
	if level(empty, 5); empty[0].Y.Min != 0 || empty[0].Y.Max != 0 {
		t.Errorf("a chart with nothing in it got the range %g to %g, want none", empty[0].Y.Min, empty[0].Y.Max)
	}
}

// The figures held against limits share their contributions, each of which stands once.
func TestBudgetTable(t *testing.T) {
	meter := record.Contribution{Name: "power_meter", Value: "0.03 dB", Distribution: "normal", Divisor: "1.000",
		Shared: "all", Standard: "0.030"}
	floor := record.Contribution{Name: "floor", Value: "0.5 dB", Distribution: "normal", Divisor: "1.000", DOF: "9.0",
		Shared: "all", Standard: "0.001"}
	u := unit{Unit: record.Unit{Limits: []record.Limit{{Quantity: "isolation"}, {Quantity: "pdl"},
		{Quantity: "insertion_loss"}}}}
	first := record.Budget{Contributions: []record.Contribution{meter, floor}, Standard: "0.030", K: "2.00",
		Expanded: "0.06"}
	third := record.Budget{Contributions: []record.Contribution{meter}, Standard: "0.030", K: "2.00", Expanded: "0.06"}
	got := budgetTable([]unit{u}, []budget{{0, []record.Budget{first}}, {2, []record.Budget{third}}})
	want := [][]string{
		{"power meter", "0.03 dB", "normal", "1", "∞", "all readings", "0.030", "0.030"},
		{"floor", "0.5 dB", "normal", "1", "9.0", "all readings", "0.001", "–"},
		{"combined u", "", "", "", "", "", "0.030", "0.030"},
		{"coverage factor k", "", "", "", "", "", "2.00", "2.00"},
		{"expanded U", "", "", "", "", "", "0.06", "0.06"},
	}
	if d := cmp.Diff(got.Rows, want); d != "" {
		t.Errorf("-got +want:\n%s", d)
	}
	// Of several units the range stands where they differ.
	worse := meter
	worse.Standard = "0.040"
	other := record.Budget{Contributions: []record.Contribution{worse}, Standard: "0.040", K: "2.00", Expanded: "0.08"}
	both := budgetTable([]unit{u, u}, []budget{{2, []record.Budget{third, other}}})
	if got, want := strings.Join([]string{both.Rows[0][6], both.Rows[2][6], both.Rows[3][6]}, ", "),
		"0.030\u00a0to\u00a00.040, 2.00, 0.06\u00a0to\u00a00.08"; got != want {
		t.Errorf("of two units: got %q, want %q", got, want)
	}
	if heads := []string{got.Columns[6].Head, got.Columns[7].Head}; heads[0] != "Limit 1, isolation" ||
		heads[1] != "Limit 3, insertion loss" {
		t.Errorf("heads are %q", heads)
	}
}
