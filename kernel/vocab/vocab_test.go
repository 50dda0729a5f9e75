package vocab

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// TestRegistry walks every word and method: documented, and with an example that runs.
func TestRegistry(t *testing.T) {
	var all []*Word
	for _, name := range Names() {
		all = append(all, Lookup(name))
	}
	all = append(all, Methods()...)
	for _, w := range all {
		t.Run(w.title(), func(t *testing.T) {
			help := w.Help()
			for _, want := range []string{w.Signature(), w.Summary, strings.Split(w.Example, "\n")[0]} {
				if !strings.Contains(help, want) {
					t.Errorf("help lacks %q", want)
				}
			}
			for _, p := range w.Params {
				if !strings.Contains(help, "    "+p.Name) {
					t.Errorf("help lacks the parameter %s", p.Name)
				}
				if p.Default != nil && !strings.Contains(help, spelled(p.Default)) {
					t.Errorf("help lacks the default %s of %s", spelled(p.Default), p.Name)
				}
			}
			if strings.HasSuffix(w.Summary, ".") || strings.Contains(w.Summary, "\n") {
				t.Errorf("the summary is one line without a full stop, got %q", w.Summary)
			}
			if w.Call != nil && w.Returns == "" {
				t.Error("a function says what it returns")
			}
			if _, err := runScript(newFakeHost(t), w.Example); err != nil {
				_, message := failure(err)
				t.Errorf("the example fails: %s\n%s", message, w.Example)
			}
		})
	}
}

func TestNamesAreSorted(t *testing.T) {
	names := Names()
	if !slices.IsSorted(names) || len(names) != len(Words()) {
		t.Errorf("got %d names, sorted %v, for %d words", len(names), slices.IsSorted(names), len(Words()))
	}
	for _, n := range names {
		if len(n) == 1 {
			t.Errorf("%q: cells use one-letter names themselves", n)
		}
		if Lookup(n) == nil {
			t.Errorf("Lookup(%q) finds nothing", n)
		}
	}
	if Lookup("wedgie") != nil {
		t.Error("Lookup finds a word that is not there")
	}
}

func TestRegisterRefuses(t *testing.T) {
	call := func(*starlark.Thread, Args) (starlark.Value, error) { return starlark.None, nil }
	good := Word{Name: "unheard_of", Summary: "s", Example: "1", Call: call}
	for _, c := range []struct {
		name   string
		change func(*Word)
		want   string
	}{
		{"twice", func(w *Word) { w.Name = "sin" }, "registered twice"},
		{"a unit", func(w *Word) { w.Name = "nm" }, "name of a unit"},
		{"no summary", func(w *Word) { w.Summary = "" }, "needs a name, a summary and an example"},
		{"neither", func(w *Word) { w.Call = nil }, "either a function or a constant"},
		{"no kind", func(w *Word) { w.Params = []Param{{Name: "x", Doc: "d"}} }, `parameter "x" needs`},
		{"bad default", func(w *Word) {
			w.Params = []Param{{Name: "x", Doc: "d", Kind: angleKind, Default: starlark.MakeInt(5)}}
		}, "default of x: must be an angle such as 13*deg, got the plain number 5"},
	} {
		t.Run(c.name, func(t *testing.T) {
			defer func() {
				if got, _ := recover().(string); !strings.Contains(got, c.want) {
					t.Errorf("got panic %q, want one with %q", got, c.want)
				}
			}()
			w := good
			c.change(&w)
			Register(w)
		})
	}
	if Lookup(good.Name) != nil {
		t.Error("a refused word was registered all the same")
	}
}

func TestHelp(t *testing.T) {
	got := Lookup("sweep").Help()
	for _, want := range []string{
		"sweep(start, stop, step=, count=)",
		"count: a whole number such as 2; optional; keyword only",
		"Errors",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("help of sweep lacks %q:\n%s", want, got)
		}
	}
	if got := Lookup("degC").Help(); !strings.Contains(got, "25*degC - 23*degC is 2 K") {
		t.Errorf("help of degC does not tell a temperature from a difference:\n%s", got)
	}
	if got := Overview(); !strings.Contains(got, "units: GHz, THz") {
		t.Errorf("the overview lacks the units:\n%s", got)
	}
}

func TestSpelled(t *testing.T) {
	for _, want := range []string{"1550*nm", "-0.06*deg/kelvin", "0.2/cm", "6*mm**2", "23*degC", "0.1*percent"} {
		v, err := runScript(newFakeHost(t), want)
		if err != nil {
			t.Fatal(err)
		}
		if got := spelled(v); got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}

func TestJSON(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{"1550*nm", `{"unit":"nm","value":1550}`},
		{"-0.06*deg/kelvin", `{"unit":"deg/kelvin","value":-0.06}`},
		{"25*degC", `{"unit":"degC","value":25}`},
		{"sweep(1*nm, 2*nm, 1*nm)", `[{"unit":"nm","value":1},{"unit":"nm","value":2}]`},
		{"2*sweep(1, 2, 1)", `{"axis":{"name":"plain number","unit":"","values":[1,2]},"label":"",` +
			`"unit":"","values":[2,4]}`},
		{`{"a": [1, 2.5, None, True, "x"]}`, `{"a":[1,2.5,null,true,"x"]}`},
		{`{1*nm: (1,)}`, `{"1 nm":[1]}`},
		{`series(sweep(1*nm, 2*nm, 1*nm), [3*dB, None], label="loss")`, `{"axis":{"name":"wavelength","unit":"nm",` +
			`"values":[1,2]},"label":"loss","unit":"dB","values":[3,null]}`},
		{`float("nan")`, `null`},
		{`float("inf")*nm`, `{"unit":"nm","value":null}`},
		{`pow(10, 30)`, `1000000000000000000000000000000`},
		{`nm`, `"nm"`},
		{`measured("repeats", default="repeats.csv")[0].rows`, `4`},
		{`at_least(30*dB)`, `{"rule":"at least","value":{"unit":"dB","value":30}}`},
		{`normal(0.3*deg)`, `{"shape":"normal","value":{"unit":"deg","value":0.3}}`},
		{`gap(1*mm, name="air")`, `{"kind":"gap","length":{"unit":"mm","value":1},"name":"air"}`},
		{`limits(pdl=at_most(0.1*dB), over=1550*nm)`, `[{"guard":1,"quantity":"pdl","rule":"at most","temperature":` +
			`[{"unit":"degC","value":23},{"unit":"degC","value":23}],"value":{"unit":"dB","value":0.1},` +
			`"wavelength":[{"unit":"nm","value":1550},{"unit":"nm","value":1550}]}]`},
	} {
		v, err := runScript(newFakeHost(t), c.src)
		if err != nil {
			t.Fatalf("%s: %v", c.src, err)
		}
		got, err := json.Marshal(JSON(v))
		if err != nil || string(got) != c.want {
			t.Errorf("%s: got %s, %v, want %s", c.src, got, err, c.want)
		}
	}
}

func TestShow(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{"1550*nm", "1550 nm"},
		{`"text"`, "text"},
		{"sweep(1*nm, 2*nm, 1*nm)", "<sweep of 2 points, 1 nm to 2 nm>"},
		{"sin", "sin(x)\n"},
	} {
		v, err := runScript(newFakeHost(t), c.src)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := Show(v); err != nil || got.Blocks != nil || !strings.HasPrefix(got.Text, c.want) {
			t.Errorf("%s: got %q, want %q", c.src, got.Text, c.want)
		}
	}
}

// Several verifications are a table of their verdicts.
func TestShowVerifications(t *testing.T) {
	one := func(unit string, o document.Outcome) starlark.Value {
		return &Verification{result: &verify.Result{Unit: unit, Agreement: verify.Verdict{Outcome: o},
			Conformity: verify.Verdict{Outcome: document.Pass}}}
	}
	got, err := Show(starlark.NewList([]starlark.Value{one("0417", document.Pass), one("0418", document.Fail)}))
	if err != nil || len(got.Blocks) != 1 {
		t.Fatalf("got %+v, %v; want a table", got, err)
	}
	table := got.Blocks[0].(document.Table)
	if rows := fmt.Sprint(table.Rows); len(table.Columns) != 4 ||
		rows != "[[0417 pass pass not checked] [0418 fail pass not checked]]" {
		t.Errorf("%d columns, rows %s", len(table.Columns), rows)
	}
	if got, _ := Show(starlark.NewList([]starlark.Value{one("0417",
		document.Pass), starlark.MakeInt(1)})); got.Blocks != nil {
		t.Errorf("a mixed list is shown as %+v, want text", got.Blocks)
	}
}

// TestPower goes past the interpreter, which has no ** of its own.
func TestPower(t *testing.T) {
	for _, c := range []struct {
		x    string
		y    starlark.Value
		want string
	}{
		{"3*mm", starlark.MakeInt(2), "9 mm^2"},
		{"2*mm", starlark.MakeInt(-1), "0.5 /mm"},
		{"4*mm*mm", starlark.Float(0.5), "2 mm"},
		{"mm", starlark.MakeInt(2), "mm**2"},
		{"mm", starlark.MakeInt(0), "1.0"},
		{"2*sweep(1*mm, 2*mm, 1*mm)",
			starlark.MakeInt(2), "<series over a sweep of 2 points, 1 mm to 2 mm; minimum 4 mm^2, maximum 16 mm^2>"},
		{"3*dB", starlark.MakeInt(2), "error: cannot multiply 3 dB by 3 dB: levels in dB add, they do not multiply"},
		{"3*mm", starlark.String("2"), `error: the exponent of 3 mm must be a plain number such as 2, got the text "2"`},
	} {
		v, err := runScript(newFakeHost(t), c.x)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if r, err := v.(interface {
			Power(starlark.Value) (starlark.Value, error)
		}).Power(c.y); err != nil {
			got = "error: " + err.Error()
		} else {
			got = r.String()
		}
		if got != c.want {
			t.Errorf("%s to the power %s: got %s, want %s", c.x, c.y, got, c.want)
		}
	}
}

func TestGrid(t *testing.T) {
	rows := &Sweep{unit: quantity.MustNamed("degC"), values: []float64{-5, 25, 75}}
	columns := &Sweep{unit: quantity.MustNamed("nm"), values: []float64{1540, 1550, 1560}}
	g := newGrid("isolation",
		rows, columns, quantity.MustNamed("dB"), [][]float64{{31, 32, 33}, {41, 42, 43}, {51, math.NaN(), 53}})
	for _, c := range []struct{ src, want string }{
		{"g.at(1550*nm, 25*degC)", "42 dB"},
		{"g.at(25*degC, 1545*nm)", "41.5 dB"},
		{"g.at(wavelength=1540*nm, temperature=50*degC)", "46 dB"},
		{"g.at(1540*nm).values", "[31.0, 41.0, 51.0]"},
		{"g.at(10*degC).values", "[36.0, 37.0, 38.0]"},
		{"g.at(1540*nm).axis.unit", "degC"},
		{"g.at(sweep(1540*nm, 1550*nm, 5*nm), 25*degC).values", "[41.0, 41.5, 42.0]"},
		{"g.at(sweep(1540*nm, 1545*nm, 5*nm))[0].values", "[31.0, 31.5]"},
		{"g.at(sweep(-5*degC, 25*degC, 30*kelvin))[1].values", "[41.0, 42.0, 43.0]"},
		{"g.min()", "31 dB"},
		{"g.max()", "53 dB"},
		{"g.argmax()", "(75 °C, 1560 nm)"},
		{"g[1].values", "[41.0, 42.0, 43.0]"},
		{"len(g)", "3"},
		{"type(g)", `"grid"`},
		{"g[0:2].values", "[[31.0, 32.0, 33.0], [41.0, 42.0, 43.0]]"},
		{"(g - g[0])[1].values", "[10.0, 10.0, 10.0]"},
		{"(g - g.at(1540*nm))[1].values", "[0.0, 1.0, 2.0]"},
		{"(g[0] - g)[1].values", "[-10.0, -10.0, -10.0]"},
		{"(g + 1*dB).at(1550*nm, 25*degC)", "43 dB"},
		{"g.between(1545*nm, 1560*nm)[0].values", "[32.0, 33.0]"},
		{"[len(a) for a in g.axes]", "[3, 3]"},
		{"g.axis", "error: a grid has two axes: use .axes, or select a series as in .at(23*degC)"},
		{"g.label", `"isolation"`},
		{"(g/dB).label", `""`},
		{"g",
			"<grid of isolation over a sweep of 3 points, -5 °C to 75 °C by a sweep of 3 points, 1540 nm to 1560 nm; " +
				"minimum 31.00 dB, maximum 53.00 dB>"},
	} {
		v, err := runWith(newFakeHost(t), c.src, starlark.StringDict{"g": g})
		got := ""
		if err != nil {
			_, got = failure(err)
			got = "error: " + got
		} else {
			got = v.String()
		}
		if got != c.want {
			t.Errorf("%s: got %s, want %s", c.src, got, c.want)
		}
	}
}
