package vocab

import (
	"context"
	"strings"
	"testing"

	"wedgework/reports/measured"
)

const savedSeries = "x = sweep(1540*nm, 1560*nm, 10*nm)\n" +
	"y = series(x, [30.123456789012*dB, 34.2*dB, None], label=\"isolation\")\n"

// TestSavedTables reads back what is saved: the numbers with all their digits, the units in the heads.
func TestSavedTables(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, savedSeries+exampleStack+`save("a.csv", y)
save("grid.csv", crystal("YVO4").no(x, sweep(0*degC, 20*degC, 10*kelvin)))
save("both.xlsx", {"one": y, "all": rows("films.csv"), "two": {"a": y, "b": y + 1*dB}})
save("sweep.csv", measured("sweep", default="sweep.csv"))
save("units.csv", s.trials(50, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm))
save("values.csv", {"a": 1.5*dB, "b": "text"})
`)
	if got := string(h.saved["a.csv"]); got != "wavelength [nm],isolation "+
		"[dB]\n1540,30.123456789012\n1550,34.2\n1560,\n" {
		t.Errorf("a.csv is %q", got)
	}
	read := func(name, sheet string) *measured.Rows {
		t.Helper()
		r, err := measured.ReadRows(context.Background(), measured.NewFile(name, h.saved[name]), sheet)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return r
	}
	if r := read("grid.csv", ""); len(r.Lines) != 9 || r.Columns[0].Name != "temperature" ||
		r.Columns[0].Numbers[3] != 10 || r.Columns[1].Numbers[3] != 1540 {
		t.Errorf("grid.csv is %+v", r.Columns)
	}
	if r := read("both.xlsx", "all"); r.Columns[3].Texts[0] != "0417" || r.Columns[1].Numbers[1] != 44.9 {
		t.Errorf("the sheet of rows is %+v", r.Columns)
	}
	if r := read("both.xlsx", "two"); r.Columns[2].Name != "b" || r.Columns[2].Numbers[0] != 31.123456789012 {
		t.Errorf("the sheet of series is %+v", r.Columns)
	}
	again, err := measured.Read(measured.NewFile("sweep.csv", h.saved["sweep.csv"]))
	if err != nil || again.Isolation == nil {
		t.Errorf("saved readings do not read as readings: %v", err)
	}
	if r := read("units.csv", ""); len(r.Lines) != 50 || !strings.HasPrefix(r.Columns[1].Name, "isolation, ") {
		t.Errorf("units.csv has %d rows of %+v", len(r.Lines), r.Columns)
	}
	if got := string(h.saved["values.csv"]); got != "what,value,unit\na,1.5,dB\nb,text,\n" {
		t.Errorf("values.csv is %q", got)
	}
}

// TestSavedFigures: a drawing without scripts, pixels, and the caption of a call.
func TestSavedFigures(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, savedSeries+exampleStack+`save("a.svg", panel({"design": y}), title="a title")
save("a.png", [panel(y), panel(y)], size=(100*mm, 60*mm))
save("stack.svg", s)
save("u.svg", s.trials(50, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm))
`)
	for _, name := range []string{"a.svg", "stack.svg", "u.svg"} {
		svg := string(h.saved[name])
		if !strings.HasPrefix(svg, "<?xml") || !strings.Contains(svg, "</svg>") || strings.Contains(svg, "<script") {
			t.Errorf("%s is %.100q, want a drawing without scripts", name, svg)
		}
	}
	if !strings.HasPrefix(string(h.saved["a.png"]), "\x89PNG") {
		t.Errorf("a.png is %.20q", h.saved["a.png"])
	}
}

// TestSavedSource loads what was saved: the values are the same.
func TestSavedSource(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, savedSeries+`save("v.star", {"y1": y, "slope": -0.06*deg/kelvin, "t1": 23*degC, "loss": 0.2/cm,
    "many": [1, 2.0, None, True, "a\"b\n"], "pair": (x, {"k": 5*dB}), "empty": ()})`)
	source := string(h.saved["v.star"])
	v := run1(t, newFakeHost(t), source+savedSeries+`
[y1 == y, slope == -0.06*deg/kelvin, t1 == 23*degC, loss == 0.2/cm, many == [1, 2.0, None, True, "a\"b\n"],
    pair[0] == x, pair[1] == {"k": 5*dB}, empty == ()]`)
	if got := v.String(); got != "[True, True, True, True, True, True, True, True]" {
		t.Errorf("read back: %s of\n%s", got, source)
	}
	if !strings.Contains(source, "30.123456789012*dB, 34.2*dB, None") {
		t.Errorf("the series is written as %s", source)
	}
}
