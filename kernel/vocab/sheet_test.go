package vocab

import (
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/document"
)

// TestText: values stand in the Markdown as they are, formulas are set, and the source goes along for front ends.
func TestText(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `text("## Result\n\nLeast is **{}** with $\\frac{1}{2}\\pi$ of {name}", -33.7218*dB, name="a*b_c")`)
	o := h.outputs[len(h.outputs)-1]
	plain := document.Text(o.Blocks)
	if _, ok := o.Blocks[0].(document.Heading); !ok || !strings.Contains(plain, "Least is \u221233.72 dB with 1/2π "+
		"of a*b_c") {
		t.Errorf("shown as %q", plain)
	}
	if html, _ := o.Data["text/html"].(string); !strings.Contains(html, "<strong>\u221233.72") {
		t.Errorf("as HTML %q", html)
	}
	if source, _ := o.Data["text/markdown"].(string); !strings.Contains(source, `a\*b\_c`) {
		t.Errorf("as Markdown %q", source)
	}
}

// TestDatasheet: guaranteed is the limit where there is one, and what 99 % of the units keep where there is none;
// typical is the median.
func TestDatasheet(t *testing.T) {
	h := newFakeHost(t)
	v := run1(t, h, exampleStack+`tol = {"rotator1.angle": normal(0.3*deg)}
lim = limits(isolation=at_least(30*dB), over=sweep(1545*nm, 1555*nm, 5*nm))
a = s.trials(500, tol, limits=lim)
b = s.trials(500, tol, wavelength=1550*nm)
d, e = datasheet(a, title="HA-1550"), datasheet(b)
display(d)
k = [f.name for f in b.figures].index("isolation")
[d.guaranteed[0] == 30*dB, d.typical[0] == a.figures[0].percentile(50),
    e.guaranteed[k] == b.figures[k].percentile(1), d.names[0] == "isolation"]`)
	if v.String() != "[True, True, True, True]" {
		t.Errorf("got %s", v)
	}
	o := h.outputs[len(h.outputs)-2]
	table := o.Blocks[1].(document.Table)
	if o.Blocks[0].(document.Heading).Text != "HA-1550" || !strings.Contains(table.Rows[0][3], "≥ 30.00 dB") ||
		!strings.HasSuffix(table.Rows[0][5], "%") {
		t.Errorf("the sheet shows %+v", o.Blocks)
	}
	if f := o.Blocks[2].(document.Figure); !strings.Contains(f.Text, "units (%)") {
		t.Errorf("the figure is described as %q", f.Text)
	}
}

// TestDatasheetOfLot: of measured units the typical value is the mean, and what is guaranteed is a limit that the
// tolerance interval meets, or the end of that interval.
func TestDatasheetOfLot(t *testing.T) {
	path := filepath.Join("testdata", "lot-of-twelve.csv")
	h := newFakeHost(t)
	v := run1(t, h, exampleStack+`d = measured("units", default="`+path+`")
def sheet(least):
    many = lot(verify(s, d, limits=limits(isolation=at_least(least), over=1550*nm),
        uncertainty=budget(repeatability=0.05*dB)))
    c = [c for c in many.characteristics if c.name == "minimum isolation"][0]
    a = datasheet(many, title="HA-1550")
    display(a)
    mean = sum(c.values)/len(c.values)
    low = mean - c.factor*c.deviation
    return [a.names[0] == c.name, abs(a.typical[0] - mean) < 1e-9*dB, abs(a.guaranteed[0] - low) < 1e-9*dB,
        a.guaranteed[0] == least, c.keeps_limit]
[sheet(30*dB), sheet(41.5*dB)]`)
	if want := "[[True, True, False, True, True], [True, True, True, False, False]]"; v.String() != want {
		t.Errorf("got %s, want %s", v, want)
	}
	var from []string
	for _, o := range h.outputs {
		if len(o.Blocks) == 3 {
			from = append(from, o.Blocks[1].(document.Table).Rows[0][4])
			if f := o.Blocks[2].(document.Figure); !strings.Contains(f.Caption, "measured units") {
				t.Errorf("the figure has the caption %q", f.Caption)
			}
		}
	}
	if want := "limit, which the tolerance interval meets; tolerance interval"; strings.Join(from, "; ") != want {
		t.Errorf("the sheets say %q, want %q", from, want)
	}
}

// TestPrintedDigits: print shows a quantity with the digits that mean something, str gives all that there are.
func TestPrintedDigits(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `x = 33.71522778*dB`+"\n"+`print(x, str(x), 1550.12345*nm, 0.107992*dB)`)
	if got, want := h.outputs[0].Text, "33.72 dB 33.71522778 dB 1550.123 nm 0.108 dB\n"; got != want {
		t.Errorf("printed %q, want %q", got, want)
	}
}

// TestTableAlignsDecimals: numbers of a column have as many decimals as the one that has most; columns of different
// units and of texts stay as they are.
func TestTableAlignsDecimals(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, `table([["a", "b", "c", "d"], [81, 1*nm, "x", 1e-9], [81.4, 2*deg, "1.25", 3], [-8.25, 3*nm, "2", 0.5]])`)
	var got []string
	for _, row := range h.outputs[0].Blocks[0].(document.Table).Rows {
		got = append(got, strings.Join(row, "|"))
	}
	want := "81.00|1 nm|x|1e-09 81.40|2 deg|1.25|3 -8.25|3 nm|2|0.5"
	if strings.Join(got, " ") != want {
		t.Errorf("rows %q, want %q", strings.Join(got, " "), want)
	}
}
