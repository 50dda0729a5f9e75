package quantity

import (
	"math"
	"strings"
	"testing"
)

func TestArithmeticKeepsDimensions(t *testing.T) {
	nm, um, deg := Of(1550, "nm"), Of(1.55, "um"), Of(2, "deg")
	celsius, kelvin := Of(25, "degC"), Of(10, "kelvin")
	dB, dBm := Of(3, "dB"), Of(-10, "dBm")
	op := func(f func(a, b Quantity) (Quantity, error), a, b Quantity) string {
		q, err := f(a, b)
		if err != nil {
			return "error: " + err.Error()
		}
		return q.String()
	}
	for _, c := range []struct{ name, got, want string }{
		{"sum in the left unit", op(Add, nm, um), "3100 nm"},
		{"difference", op(Sub, um, nm), "0 µm"},
		{"temperature and difference", op(Add, celsius, kelvin), "35 °C"},
		{"difference and temperature", op(Add, kelvin, celsius), "35 °C"},
		{"difference of temperatures", op(Sub, celsius, Of(20, "degC")), "5 K"},
		{"level and ratio", op(Sub, dBm, dB), "-13 dBm"},
		{"difference of levels", op(Sub, dBm, Of(-13, "dBm")), "3 dB"},
		{"compound unit", op(Div, deg, kelvin), "0.2 deg/K"},
		{"compound unit cancels", op(Mul, Of(0.2, "deg"), kelvin), "2 deg K"},
		{"ratio is a plain number", op(Div, nm, um), "1"},
		{"percent times percent", op(Mul, Of(50, "percent"), Of(50, "percent")), "25 %"},
		{"sizes of one dimension cancel", op(Mul, perUnit(1000, "deg", "cm"), Of(0.45, "mm")), "45 deg"},
		{"from the left too", op(Mul, Of(0.45, "mm"), perUnit(1000, "deg", "cm")), "45 deg"},
		{"in a quotient", op(Div, Of(90, "deg"), perUnit(1000, "deg", "cm")), "0.09 cm"},
		{"and in part", op(Mul, perUnit(-40, "rad", "metre"), Of(10, "mm")), "-0.4 rad"},
		{"sizes that do not cancel stay", op(Mul, Of(2, "mm"), Of(3, "um")), "6 mm µm"},
		{"percent of a length", op(Mul, Of(50, "percent"), nm), "775 nm"},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, c.got, c.want)
		}
	}
	for _, c := range []struct{ name, got, want string }{
		{"length and angle", op(Add, nm, deg), "cannot add 1550 nm, a length, to 2 deg, an angle"},
		{"two temperatures", op(Add, celsius, celsius), "difference of temperatures is in kelvin"},
		{"scaled temperature", op(Mul, celsius, Quantity{Value: 2}), "a point on a scale"},
		{"product of levels", op(Mul, dB, dB), "levels in dB add"},
		{"temperature from a difference", op(Sub, kelvin, celsius), "cannot subtract"},
		{"number and length", op(Add, Quantity{Value: 1}, nm), "plain number"},
		{"division by zero", op(Div, nm, Of(0, "nm")), "divided by zero"},
	} {
		if !strings.HasPrefix(c.got, "error: ") || !strings.Contains(c.got, c.want) {
			t.Errorf("%s: got %q, want an error that says %q", c.name, c.got, c.want)
		}
	}
}

// perUnit is v of one unit over another.
func perUnit(v float64, over, under string) Quantity {
	q, err := Div(Of(v, over), Of(1, under))
	if err != nil {
		panic(err)
	}
	return q
}

func TestConversion(t *testing.T) {
	for _, c := range []struct {
		q    Quantity
		unit string
		want string
	}{
		{Of(1550, "nm"), "um", "1.55 µm"},
		{Of(23, "degC"), "kelvin", "296.15 K"},
		{Of(296.15, "kelvin"), "degC", "23 °C"},
		{Of(0, "dBm"), "mW", "1 mW"},
		{Of(2, "mW"), "dBm", "3.010299957 dBm"},
		{Of(180, "deg"), "arcmin", "10800 arcmin"},
		{Of(0.1, "percent"), "percent", "0.1 %"},
	} {
		u, _ := Named(c.unit)
		got, err := c.q.In(u)
		if err != nil || got.String() != c.want {
			t.Errorf("%s in %s: got %s, %v, want %s", c.q, c.unit, got, err, c.want)
		}
	}
	for _, c := range [][2]string{{"nm", "deg"}, {"dB", "dBm"}, {"dB", "mW"}} {
		u, _ := Named(c[1])
		if got, err := Of(1, c[0]).In(u); err == nil {
			t.Errorf("1 %s became %s", c[0], got)
		}
	}
}

// 1550 nm must become the float64 nearest to 1.55e-6, and print as it was written.
func TestExactness(t *testing.T) {
	for nm := 1500.0; nm <= 1600; nm += 0.5 {
		if got, want := Of(nm, "nm").SI(), nm/1e9; got != want {
			t.Fatalf("%g nm is %g m, want %g", nm, got, want)
		}
	}
	if got := Of(1550, "nm").String(); got != "1550 nm" {
		t.Errorf("prints as %q", got)
	}
	sum := Of(0.1, "nm")
	for range 9 {
		sum, _ = Add(sum, Of(0.1, "nm"))
	}
	if got := sum.String(); got != "1 nm" {
		t.Errorf("ten tenths print as %q", got)
	}
	if a, b := Of(1550, "nm"), Of(1.55, "um"); Key(a) != Key(b) {
		t.Errorf("keys of one length differ: %s, %s", Key(a), Key(b))
	}
}

func TestCompare(t *testing.T) {
	for _, c := range []struct {
		a, b Quantity
		want int
	}{
		{Of(1550, "nm"), Of(1.55, "um"), 0},
		{Of(1549, "nm"), Of(1.55, "um"), -1},
		{Of(-5, "degC"), Of(70, "degC"), -1},
		{Of(30, "dB"), Of(29.5, "dB"), 1},
	} {
		if got, err := Compare(c.a, c.b); got != c.want || err != nil {
			t.Errorf("%s against %s: %d, %v, want %d", c.a, c.b, got, err, c.want)
		}
	}
	for _, c := range [][2]Quantity{
		{Of(1, "nm"), Of(1, "deg")},
		{Of(25, "degC"), Of(25, "kelvin")},
		{Of(1, "dB"), Of(1, "dBm")},
		{Of(math.NaN(), "nm"), Of(1, "nm")},
	} {
		if got, err := Compare(c[0], c[1]); err == nil {
			t.Errorf("%s against %s: %d, want an error", c[0], c[1], got)
		}
	}
}

func TestPowersAndRoots(t *testing.T) {
	q, err := Of(3, "mm").Pow(2)
	if err != nil || q.String() != "9 mm^2" {
		t.Errorf("square: %s, %v", q, err)
	}
	r, err := q.Sqrt()
	if err != nil || r.String() != "3 mm" {
		t.Errorf("root of the square: %s, %v", r, err)
	}
	if _, err := Of(3, "mm").Sqrt(); err == nil {
		t.Error("the root of a length was taken")
	}
	if q, err := Of(2, "mm").Pow(-1); err != nil || q.String() != "0.5 /mm" {
		t.Errorf("inverse: %s, %v", q, err)
	}
}

// Every unit survives the way to SI and back, and has a dimension the table of names knows how to say.
func TestEveryUnitRoundTrips(t *testing.T) {
	for _, name := range Names() {
		u, ok := Named(name)
		if !ok {
			t.Fatalf("%s is listed and not found", name)
		}
		q := Quantity{12.5, u}
		if back := FromSI(q.SI(), u); math.Abs(back.Value-12.5) > 1e-12 {
			t.Errorf("%s: 12.5 comes back as %g", name, back.Value)
		}
		if u.Name() != name || u.Symbol() == "" {
			t.Errorf("%s calls itself %q, symbol %q", name, u.Name(), u.Symbol())
		}
		if len(name) < 2 {
			t.Errorf("unit name %q: cells use one-letter names themselves", name)
		}
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct {
		got, want string
	}{
		{Of(30, "dB").Text(2), "30.00 dB"},
		{Of(-0.001, "dB").Text(2), "0.00 dB"},
		{Of(-0.06, "deg").String(), "-0.06 deg"},
		{Quantity{Value: 1e-9}.String(), "1e-09"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
