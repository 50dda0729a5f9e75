package vocab

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

func run1(t *testing.T, h *fakeHost, src string) starlark.Value {
	t.Helper()
	v, err := runScript(h, src)
	if err != nil {
		_, message := failure(err)
		t.Fatalf("%s\n%s", message, src)
	}
	return v
}

// ruled is the line under the head of a table.
var ruled = regexp.MustCompile(`--+ `)

// TestOutputsKeepTheirOrder: what words show stands between what the cell prints before and after.
func TestOutputsKeepTheirOrder(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, "print('before')\ntable({'a': 1*nm})\nprint('after')\ndisplay(5*deg)\n7*nm")
	var got []string
	for _, o := range h.outputs {
		text := o.Text
		if o.Type != notebook.StreamOutput {
			text, _ = o.Data["text/plain"].(string)
		}
		got = append(got, string(o.Type)+": "+strings.Join(strings.Fields(text), " "))
	}
	want := []string{"stream: before", "display_data: what value a 1 nm", "stream: after", "display_data: 5 deg",
		"execute_result: 7 nm"}
	if len(got) != len(want) {
		t.Fatalf("got %q, want %q", got, want)
	}
	for i := range want {
		if ruled.ReplaceAllString(got[i], "") != want[i] {
			t.Errorf("output %d: got %q, want %q", i, got[i], want[i])
		}
	}
}

func TestPlotIsAFigure(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, exampleStack+`x = sweep(1530*nm, 1565*nm, 1*nm)
plot(s.backward(x), measured("sweep", default="sweep.csv").at(23*degC), limits(isolation=at_least(30*dB), over=x),
    title="Isolation")`)
	if len(h.outputs) != 1 {
		t.Fatalf("got %d outputs, want 1", len(h.outputs))
	}
	o := h.outputs[0]
	f, ok := o.Blocks[0].(document.Figure)
	if !ok || f.Caption != "Isolation" {
		t.Fatalf("got %T with caption %q, want the figure Isolation", o.Blocks[0], f.Caption)
	}
	if svg, _ := o.Data["image/svg+xml"].(string); !strings.Contains(svg, "<svg") {
		t.Error("the figure is not there as SVG")
	}
	for _, want := range []string{"wavelength", "isolation"} {
		if !strings.Contains(f.Text, want) {
			t.Errorf("the description lacks %q: %s", want, f.Text)
		}
	}
}

// TestPlotOfBounds: readings that are bounds are arrows in the colour of their run, and no curves of their own.
func TestPlotOfBounds(t *testing.T) {
	all, err := traces(run1(t, newFakeHost(t), `measured("sweep", default="bounds.csv")`), "")
	if err != nil {
		t.Fatal(err)
	}
	c, err := chart(all)
	if err != nil {
		t.Fatal(err)
	}
	type drawn struct {
		label  string
		marker figure.Marker
		color  figure.Color
		x      []float64
	}
	var got []drawn
	for _, s := range c.Series {
		got = append(got, drawn{s.Label, s.Marker, s.Color, s.X})
	}
	want := []drawn{
		{"measured, 0003, 23 °C", figure.Circle, figure.Blue, []float64{1540, 1560}},
		{"measured, 0003, 23 °C, at least", figure.Arrow, figure.Blue, []float64{1550}},
		{"measured, 0003, 70 °C, at least", figure.Arrow, figure.ColorAt(1), []float64{1540, 1550}},
	}
	if len(all) != 2 || !reflect.DeepEqual(got, want) {
		t.Errorf("%d curves:\n%v\nwant 2:\n%v", len(all), got, want)
	}
}

// Curves of one name are numbered, and the sign of a temperature is a minus.
func TestPlotTellsCurvesApart(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `x = sweep(1530*nm, 1565*nm, 5*nm)
y = (30*dB + 0.1*dB*((x - 1550*nm)/nm)).named("isolation")
plot(y, y + 1*dB, {"at -5 degC": y})`)
	text := h.outputs[0].Blocks[0].(document.Figure).Text
	for _, want := range []string{"Isolation (1):", "Isolation (2):", "At \u22125 degC:"} {
		if !strings.Contains(text, want) {
			t.Errorf("the description lacks %q: %s", want, text)
		}
	}
}

func TestSettings(t *testing.T) {
	for _, c := range []struct {
		bound, src, want, inForce string
	}{
		{"4.5*deg", `given("x", 5*deg)`, "4.5 deg", "4.5 deg"},
		{"80*mrad", `given("x", 5*deg)`, "80 mrad", "80 mrad"},
		{"70*degC", `given("x", 23*degC)`, "70 °C", "70 °C"},
		{"3", `given("x", 2.5)`, "3", "3"},
		{`"B"`, `given("x", "A")`, `"B"`, `"B"`},
		{"False", `given("x", True)`, "False", "False"},
		{"4.5", `given("x",
    5*deg)`, "error: given: the setting x=4.5 must be an angle like its default 5*deg, got the plain number 4.5", ""},
		{"4.5*mm", `given("x",
    5*deg)`, "error: given: the setting x=4.5*mm must be an angle like its default 5*deg, got the length 4.5 mm", ""},
		{"5*kelvin", `given("x",
    23*degC)`,
			"error: given: the setting x=5*kelvin must be a temperature like its default 23*degC, got the " +
				"temperature difference 5 K", ""},
		{"5", `given("x",
    "A")`, `error: given: the setting x=5 must be a text like its default "A", got the plain number 5`, ""},
		{"5 deg", `given("x", 5*deg)`, "error: given: setting x:1:3: found a name after expression, expected the end",
			""},
		{"2**2.0", `given("x", 1)`, "4.0", "4.0"},
		{"1.0 if 1*mm == 1 else 2.5", `given("x",
    1.0)`,
			"error: given: setting x:1:13: cannot compare 1 mm (length) with the plain number 1: give the number a " +
				"unit", ""},
		{`"a"*100000000`, `given("x",
    "A")`, "error: given: setting x:1:4: repeating 1 bytes 100000000 times is over the limit", ""},
		{`"a"*20000`, `given("x", "A")`, `error: given: the setting x is a text of 20000 bytes, expected at most 10000`,
			""},
		{"[i for i in range(1 << 40)]", `given("x",
    1)`, "error: given: setting x:1:13: range: range(1099511627776) has more elements", ""},
		{`given("x", 2)`, `given("x", 1)`, "error: calls inside calls are over the limit of 1000 deep", ""},
		{"[0]*99999", `given("x",
    5*deg)`,
			"error: given: the setting x=[0]*99999 must be an angle like its default 5*deg, got a list of 99999 values",
			""},
	} {
		h := newFakeHost(t)
		h.settings["x"] = c.bound
		got := ""
		if v, err := runScript(h, c.src); err != nil {
			_, message := failure(err)
			got = "error: " + message
		} else {
			got = v.String()
		}
		if !strings.HasPrefix(got, c.want) || h.inForce["x"] != c.inForce {
			t.Errorf("%s: got %s, in force %q, want %s, in force %q", c.bound, got, h.inForce["x"], c.want, c.inForce)
		}
	}
}

func TestReportTellsTheHost(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `report(title="T", part="P", revision="B", change="CR-1", customer_order="4711", lot_size=12)`)
	want := record.Header{Title: "T", Part: "P", Revision: "B", Change: "CR-1",
		Extra: []document.Field{{Name: "customer order", Value: "4711"}, {Name: "lot size", Value: "12"}}}
	if h.header == nil || h.header.Title != want.Title || h.header.Change != want.Change || len(h.header.Extra) != 2 ||
		h.header.Extra[0] != want.Extra[0] || h.header.Extra[1] != want.Extra[1] {
		t.Errorf("got %+v, want %+v", h.header, want)
	}
}

func TestWarnTellsTheHost(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `warn("not settled")`)
	if len(h.warnings) != 1 || h.warnings[0] != "not settled" {
		t.Errorf("got %q, want the warning", h.warnings)
	}
	if len(h.outputs) != 1 || h.outputs[0].Blocks[0] != (document.Caution{Text: "not settled"}) {
		t.Errorf("got %v, want a caution on the cell", h.outputs)
	}
}

func TestClearOutput(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, "clear_output()\nclear_output(wait=True)")
	want := []notebook.Output{{Type: notebook.ClearOutput}, {Type: notebook.ClearOutput, Wait: true}}
	if !reflect.DeepEqual(h.outputs, want) {
		t.Errorf("got %+v, want clear at once, then at the next output", h.outputs)
	}
}

// TestDisplayInPlace: a display with an id is replaced by the next of that id.
func TestDisplayInPlace(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, "for i in range(3): display(i, id=\"count\")\ndisplay(7)")
	var got []string
	for _, o := range h.outputs {
		got = append(got, fmt.Sprint(o.Type, " ", o.DisplayID, " ", o.Data["text/plain"]))
	}
	want := []string{"display_data count 0", "update_display_data count 1", "update_display_data count 2",
		"display_data  7"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestVerifyTellsTheHost(t *testing.T) {
	h := newFakeHost(t)
	v := run1(t, h, Lookup("verify").Example+"\nv")
	if len(h.verified) != 1 {
		t.Fatalf("got %d results, want 1", len(h.verified))
	}
	r, ok := h.verified[0].(*verify.Result)
	if !ok || r.Unit != "0002" {
		t.Fatalf("got %T %+v, want the result of unit 0002", h.verified[0], h.verified[0])
	}
	shown, err := Show(v)
	if err != nil {
		t.Fatal(err)
	}
	verdicts := 0
	for _, b := range shown.Blocks {
		if _, ok := b.(document.Verdict); ok {
			verdicts++
		}
	}
	if verdicts != 3 {
		t.Errorf("the card shows %d verdicts, want 3 apart", verdicts)
	}
	m := JSON(v).(map[string]any)
	if m["agreement"].(map[string]any)["outcome"] != r.Agreement.Outcome.String() {
		t.Errorf("JSON says %v, the result %v", m["agreement"], r.Agreement.Outcome)
	}
}

// TestVerificationPlot: each run has its readings, the model as specified in its band, and as diagnosed.
func TestVerificationPlot(t *testing.T) {
	v := run1(t, newFakeHost(t), Lookup("verify").Example+"\nv").(*Verification)
	all, err := traces(v, "")
	if err != nil {
		t.Fatal(err)
	}
	c, err := chart(all)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Series) != 3 || len(c.Bands) != 1 {
		t.Fatalf("got %d series and %d bands, want readings, two models and one band", len(c.Series), len(c.Bands))
	}
	for _, s := range c.Series {
		if s.Color != c.Series[0].Color {
			t.Errorf("%s has a colour of its own, want that of its run", s.Label)
		}
	}
	if _, err := traces(v, "dgd"); err == nil {
		t.Error("a verification without DGD plots one")
	}
}

// TestCancelled: a long word ends with its cell.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	s, err := session.New(session.Config{Words: Words(), Local: map[string]any{HostKey: Host(newFakeHost(t))}})
	if err != nil {
		t.Fatal(err)
	}
	src := exampleStack + "s.backward(sweep(1500*nm, 1580*nm, count=50000), temperature=sweep(0*degC, 30*degC, " +
		"10*kelvin))"
	_, err = s.Run(ctx, session.Cell{Name: "cell", Source: src}, nil)
	var e *session.Error
	if !errors.As(err, &e) || e.Kind != session.Interrupted {
		t.Errorf("got %v, want an interruption", err)
	}
}

// TestLot: a file with a unit column is verified unit by unit.
func TestLot(t *testing.T) {
	h := newFakeHost(t)
	v := run1(t, h, `d = measured("lot", default="lot.csv")
(len(d), [u.unit for u in d], d[1].at(23*degC).isolation.max())`)
	if got, want := v.String(), `(2, ["0001", "0002"], 41 dB)`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// TestLotTogether: what two units of a lot show together: the mean of 38.1 and 37.1 dB read at 1540 nm, and the
// one-sided tolerance factor of two values for 95 % with 95 % confidence, 26.26 (ISO 16269-6; from memory, and of a
// noncentral t).
func TestLotTogether(t *testing.T) {
	h := newFakeHost(t)
	src := exampleStack + `v = verify(s, measured("lot", default="lot.csv"), limits=limits(isolation=at_least(30*dB),
    over=1540*nm), uncertainty=budget(repeatability=0.05*dB))
l = lot(v)
c = l.characteristics[0]
`
	for expression, want := range map[string]string{
		"(l.units, c.name, c.condition, c.units)":                               `(("0001", "0002"), "minimum isolation", "1540 nm, 23 °C", ("0001", "0002"))`,
		"(round(c.least, 1), round(c.greatest, 1), c.high, c.slope, c.signals)": `(37.1 dB, 38.1 dB, None, None, None)`,
		"(round(c.mean, 1), round(c.deviation, 2), round(c.factor, 2))":         `(37.6 dB, 0.71 dB, 26.26)`,
		"lot(v, proportion=90*percent).characteristics[0].low == c.low":         `False`,
	} {
		if got := run1(t, h, src+expression).String(); got != want {
			t.Errorf("%s: got %s, want %s", expression, got, want)
		}
	}
}

// TestLotOfReadings: of one reading a unit no curve is laid, and the figures are the readings: their mean, (38.1 +
// 37.1) / 2, their standard deviation, 1 / root 2, and the tolerance limit, the mean less 26.2597 standard deviations
// (SciPy 1.10.1: stats.nct.ppf(0.95, 1, root 2 * 1.6448536) / root 2).
func TestLotOfReadings(t *testing.T) {
	h := newFakeHost(t)
	src := exampleStack + `v = verify(s, measured("lot", default="one-reading-each.csv"),
    limits=limits(isolation=at_least(30*dB), over=1540*nm), uncertainty=budget(repeatability=0.05*dB))
c = lot(v).characteristics[0]
`
	for expression, want := range map[string]string{
		"(c.least, c.greatest, round(c.mean, 9), round(c.deviation, 6))": `(37.1 dB, 38.1 dB, 37.6 dB, 0.707107 dB)`,
		"abs(c.low - (37.6*dB - 26.2597*0.70710678*dB)) < 0.001*dB":      `True`,
	} {
		if got := run1(t, h, src+expression).String(); got != want {
			t.Errorf("%s: got %s, want %s", expression, got, want)
		}
	}
}

// TestFurtherFigures: limits on PDL, DGD and return loss are decided by the readings of a lot, with a repeatability for
// each figure, and stand among the characteristics of the lot in their units. The greatest of three DGD readings about
// 0.021 ps, and the least return loss of three at 61.1 dB, are within their noise of 0.002 ps and 0.2 dB of the mean.
func TestFurtherFigures(t *testing.T) {
	h := newFakeHost(t)
	src := exampleStack + `v = verify(s, measured("lot", default="further.csv"), limits=limits(dgd=at_most(0.1*ps),
    return_loss=at_least(50*dB), pdl=at_most(0.5*dB), over=sweep(1530*nm, 1534*nm, 1*nm)),
    uncertainty=budget(repeatability={"isolation": 0.05*dB, "pdl": 0.01*dB, "dgd": 2*fs, "return_loss": 0.2*dB}))
l = v[0].limits
c = lot(v).characteristics
`
	for expression, want := range map[string]string{
		"[x.figure for x in l]": `["maximum PDL", "maximum DGD", "minimum return loss"]`,
		"(abs(l[1].measured - 0.021*ps) < 0.004*ps, bool(l[1]), abs(l[2].measured - 61.1*dB) < 0.3*dB)": `(True, True, True)`,
		"(l[1].uncertainty < 0.006*ps, l[2].uncertainty < 0.5*dB)":                                      `(True, True)`,
		"[x.name for x in c[:3]]":                                                           `["maximum PDL", "maximum DGD", "minimum return loss"]`,
		"(c[1].least < c[1].mean, c[1].mean < 0.1*ps)":                                      `(True, True)`,
		"str(budget(repeatability={\"pdl\": 0.01*dB, \"dgd\": contribution(2*fs, dof=4)}))": `"<budget of 2 contributions>"`,
	} {
		if got := run1(t, h, src+expression).String(); got != want {
			t.Errorf("%s: got %s, want %s", expression, got, want)
		}
	}
}

// TestDecisionOfReading: one reading of 38.1 dB with a normal error of 0.5 dB against at least 38 dB, by simple
// acceptance: it conforms with Phi(0.2), U = 2u. With the prior of 40 dB and 1 dB two normal distributions multiply:
// the posterior has the mean (40 + 4 * 38.1) / 5 and the standard deviation 1 / root 5. The global risks are
// probabilities of the normal distribution of true and read value (JCGM 106:2012, clause 9). All four by SciPy 1.10.1.
func TestDecisionOfReading(t *testing.T) {
	h := newFakeHost(t)
	src := exampleStack + `d = measured("lot", default="one-reading-each.csv")[0]
v = verify(s, d, limits=limits(isolation=at_least(38*dB, guard=0, prior=prior("lot 26-10", mean=40*dB,
    deviation=1*dB)), over=1540*nm), uncertainty=budget(repeatability=0.5*dB))
l = v.limits[0]
`
	for expression, want := range map[string]string{
		"(l.measured, round(l.margin, 6), l.uncertainty, round(l.low, 6))": `(38.1 dB, 0.1 dB, 1 dB, 37.1 dB)`,
		"(round(l.conformance, 6), l.false_rejection)":                     `(0.57926, None)`,
		"(round(l.posterior, 6), round(l.consumers_risk, 7))":              `(0.858435, 0.0061944)`,
		"round(l.producers_risk, 6)":                                       `0.020263`,
	} {
		if got := run1(t, h, src+expression).String(); got != want {
			t.Errorf("%s: got %s, want %s", expression, got, want)
		}
	}
}

// TestDecisions: a verification says of each limit what was compared with it, by the limit's own rule, and what that
// risks. The readings, of 0.5 dB each, depart from the model by 1.94 and 2.37 dB, in amplitude by -0.00280 and
// -0.00208, which differ by 2.2 standard uncertainties. A curve that keeps the model's shape lies 0.00226 below it, at
// 37.65 +/- 0.23 dB; one that follows each reading, at 38.1 +/- 1 dB. Both are likely (package curve averages over
// them), and so the distribution is skewed upwards: the conformance is more than the 0.165 of a normal law with the
// figure's mean and standard uncertainty, and less than the 0.579 of the reading alone.
func TestDecisions(t *testing.T) {
	h := newFakeHost(t)
	src := exampleStack + `d = measured("lot", default="lot.csv")[0]
b = budget(repeatability=0.5*dB)
v = verify(s, d, limits=limits(isolation=at_least(38*dB, guard=0, prior=prior("lot 26-10", mean=40*dB,
    deviation=1*dB)), over=1540*nm), uncertainty=b)
l = v.limits[0]
`
	for expression, want := range map[string]string{
		"(l.figure, l.condition, l.limit, l.guard)":                                                              `("minimum isolation", "1540 nm, 23 °C", 38 dB, 0.0)`,
		"(abs(l.margin - (l.measured - l.limit)) < 1e-9*dB, abs(l.low - (l.measured - l.uncertainty)) < 0.2*dB)": `(True, True)`,
		"(0.2*dB < l.uncertainty, l.uncertainty < 1*dB)":                                                         `(True, True)`,
		"(l.high - l.measured > 1.3*(l.measured - l.low), 0.165 < l.conformance, l.conformance < 0.579)":         `(True, True, True)`,
		"(l.margin < 0*dB, bool(l) or l.outcome)":                                                                `(True, "fail")`,
		"l.consumers_risk < l.producers_risk and l.posterior > l.conformance":                                    "True",
	} {
		if got := run1(t, h, src+expression).String(); got != want {
			t.Errorf("%s: got %s, want %s", expression, got, want)
		}
	}
}

func TestNoHost(t *testing.T) {
	_, err := starlark.Call(&starlark.Thread{}, Words()["measured"], starlark.Tuple{starlark.String("x")}, nil)
	if err == nil || !strings.Contains(err.Error(), "measured: this session does not belong to a notebook") {
		t.Errorf("got %v, want an error that says there is no notebook", err)
	}
}

// TestCards: every value that has a card shows one, and every card has words in it.
func TestCards(t *testing.T) {
	for _, src := range []string{
		`crystal("YVO4")`, `crystal("lot 7", no=1.9, ne=2.1)`, `garnet("Bi:RIG")`,
		`wedge(crystal("YVO4"), slanted="front", name="input")`, `rotator(garnet("Bi:RIG"))`, `gap(1*mm)`,
		`collimator(waist=200*um, working_distance=10*mm)`,
		exampleStack + "s", exampleStack + "s.forward(1550*nm)", exampleStack +
			"s.backward(sweep(1540*nm, 1560*nm, 10*nm))",
		exampleStack + "s.backward(1550*nm).paths[0]",
		`limits(isolation=at_least(30*dB), over=1550*nm)`, `budget(repeatability=0.05*dB, floor=62*dB)`,
		`measured("sweep", default="sweep.csv")`,
	} {
		v := run1(t, newFakeHost(t), src)
		shown, err := Show(v)
		if err != nil || len(shown.Blocks) == 0 {
			t.Errorf("%s: no card, %v", src, err)
			continue
		}
		if text := document.Text(shown.Blocks); len(text) < 15 || strings.Contains(text, "%!") ||
			strings.Contains(text, "NaN") {
			t.Errorf("%s: the card reads\n%s", src, text)
		}
		fields, ok := v.(starlark.HasAttrs)
		if !ok {
			continue
		}
		for _, name := range fields.AttrNames() {
			if a, err := fields.Attr(name); a == nil && err == nil {
				t.Errorf("%s lists .%s and does not have it", v.Type(), name)
			}
		}
	}
}

// TestPathsAreATable: the paths of a response stand side by side, at the end of a cell and in table().
func TestPathsAreATable(t *testing.T) {
	h := newFakeHost(t)
	const src = exampleStack + "p = s.backward(1550*nm).paths\ntable(p)\n"
	run1(t, h, src+"eq([x.label for x in p], ['oo', 'oe', 'eo', 'ee'])\nNone")
	shown, err := Show(run1(t, newFakeHost(t), src+"p"))
	if err != nil {
		t.Fatal(err)
	}
	for _, blocks := range [][]document.Block{h.outputs[0].Blocks, shown.Blocks} {
		table, ok := blocks[0].(document.Table)
		if !ok || len(table.Rows) != 4 || len(table.Columns) != 8 {
			t.Fatalf("got %T %+v, want a table of four paths", blocks[0], blocks[0])
		}
		for i, want := range []string{"oo", "oe", "eo", "ee"} {
			if table.Rows[i][0] != want || len(table.Rows[i]) != 8 {
				t.Errorf("row %d is %q, want the path %s", i+1, table.Rows[i], want)
			}
		}
		// The wedges' rejected rays leave on opposite sides, by equal angles within what dispersion of the two rays
		// leaves.
		if !strings.HasPrefix(table.Rows[1][5], "17.") || !strings.HasPrefix(table.Rows[2][5], "-17.") {
			t.Errorf("tilts of the rejected rays are %s and %s mrad", table.Rows[1][5], table.Rows[2][5])
		}
	}
}
