package material

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
)

// The relative drift of the retardance of a plate with its axis in the face, expansion included, is what NIST
// measured (Etzel, Rose and Wang, Appl. Opt. 39, 5796 (2000), abstract, with its standard
// uncertainty) over the wavelengths it was measured at.
func TestRetardanceDrift(t *testing.T) {
	for _, c := range []struct {
		name       string
		want, u    float64
		at1550     float64 // d(ne-no)/dT at 1550 nm, worked out from it, and its tolerance
		tolerance  float64
		difference float64 // of the handbook's dn/dT at 633 nm, in 1/K
	}{
		{"quartz", -1.23e-4, 0.02e-4, -1.16e-6, 0.02e-6, -6.5e-6 + 5.5e-6},
		{"MgF2", -5.37e-5, 0.17e-5, -0.72e-6, 0.02e-6, 0.5e-6 - 1.1e-6},
	} {
		m, err := Named(c.name)
		if err != nil {
			t.Fatal(err)
		}
		x, known := m.Expansion()
		if !known {
			t.Fatalf("%s: no expansion", c.name)
		}
		birefringence := func(nm, celsius float64) float64 {
			n, err := m.At(quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(celsius))
			if err != nil {
				t.Fatal(err)
			}
			return n.E - n.O
		}
		for _, nm := range []float64{633, 788, 1318, 1539} {
			retardance := func(celsius float64) float64 {
				return birefringence(nm, celsius) * (1 + x.A*(celsius-20))
			}
			got := (retardance(25) - retardance(15)) / 10 / retardance(20)
			// 1e-9: what the reference temperatures of 19 and 20 degC make of a relative slope.
			if math.Abs(got-c.want) > 1e-8 || math.Abs(got-c.want) > c.u {
				t.Errorf("%s at %g nm: retardance drifts by %.5g/K, want %.5g", c.name, nm, got, c.want)
			}
		}
		if got := (birefringence(1550, 30) - birefringence(1550, 20)) / 10; math.Abs(got-c.at1550) > c.tolerance {
			t.Errorf("%s: d(ne-no)/dT = %.4g/K at 1550 nm, want %.4g", c.name, got, c.at1550)
		}
		// The handbook's difference is of the same sign, and its two digits leave a quarter.
		if got := (birefringence(633, 30) - birefringence(633, 20)) / 10; math.Abs(got/c.difference-1) > 0.25 {
			t.Errorf("%s: d(ne-no)/dT = %.4g/K at 633 nm, the handbook has %.4g", c.name, got, c.difference)
		}
	}
}

// The group indices of a heated crystal follow its heated dispersion.
func TestGroupIndexWhenHot(t *testing.T) {
	for _, name := range []string{"quartz", "MgF2", "YVO4"} {
		c, err := Named(name)
		if err != nil {
			t.Fatal(err)
		}
		at := func(l quantity.Length) Indices {
			n, err := c.At(l, quantity.Celsius(85))
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		const l, h = 1550e-9, 1e-10
		n, up, down := at(l), at(l+h), at(l-h)
		want := n.E - l*(up.E-down.E)/(2*h)
		// 1e-10 of rounding over the step of 0.1 nm in 1550; the drift of the slope itself is 1e-5.
		if math.Abs(n.GroupE-want) > 1e-8 {
			t.Errorf("%s at 85 degC: group index %.10f, want %.10f", name, n.GroupE, want)
		}
	}
}

// LiNbO3's coefficients are the slopes of the temperature form of G. J. Edwards and M. Lawrence (1984) at
// 1550 nm, 24.5 degC; YVO4's differ from the slopes of H. S. Shi et al. (2001) between 20 and 110 degC at
// 1064 nm by what its card says.
func TestThermoOpticAgainstOtherForms(t *testing.T) {
	edwards := func(c [7]float64, celsius float64) float64 {
		const l2 = 1.55 * 1.55
		f := (celsius - 24.5) * (celsius + 570.5)
		return math.Sqrt(c[0] + (c[1]+c[4]*f)/(l2-math.Pow(c[2]+c[5]*f, 2)) + c[6]*f - c[3]*l2)
	}
	o := [7]float64{4.9048, 0.11775, 0.21802, 0.027153, 2.2314e-8, -2.9671e-8, 2.1429e-8}
	e := [7]float64{4.5820, 0.09921, 0.21090, 0.021940, 5.2716e-8, -4.9143e-8, 2.2971e-7}
	slope := func(c [7]float64) float64 { return edwards(c, 25) - edwards(c, 24) }

	shi := func(cold, hot []float64) float64 {
		n, _ := (&dispersion{Form: "laurent", Coefficients: cold}).at(1.064)
		m, _ := (&dispersion{Form: "laurent", Coefficients: hot}).at(1.064)
		return (m - n) / 90
	}
	ln, err := Named("LiNbO3")
	if err != nil {
		t.Fatal(err)
	}
	yvo4, err := Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what           string
		got, want, tol float64
	}{
		{"LiNbO3 o", slope(o), ln.thermo.O, 0.05e-6},
		{"LiNbO3 e", slope(e), ln.thermo.E, 0.05e-6},
		{"YVO4 o", shi([]float64{3.778790, 0.070479, 0.045731, 0.009701}, []float64{3.784201, 0.070662, 0.047693,
			0.009539}),
			16.7e-6, 0.05e-6},
		{"YVO4 e", shi([]float64{4.607200, 0.108087, 0.052495, 0.014305}, []float64{4.611804, 0.107499, 0.055024,
			0.014498}),
			10.4e-6, 0.06e-6},
		{"YVO4 o, both measurements", yvo4.thermo.O, 16.7e-6, 2e-6},
		{"YVO4 e, both measurements", yvo4.thermo.E, 10.4e-6, 2.1e-6},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s: dn/dT %.4g/K, want %.4g within %g", c.what, c.got, c.want, c.tol)
		}
	}
}

// What is doubtful, provisional, in conflict or left out stands on the card.
func TestCardsSayWhatIsDoubtful(t *testing.T) {
	card := func(rows [][2]string) string {
		var s strings.Builder
		for _, r := range rows {
			s.WriteString(r[0] + ": " + r[1] + "\n")
		}
		return s.String()
	}
	crystal := func(name string) string {
		c, err := Named(name)
		if err != nil {
			t.Fatal(err)
		}
		return card(c.Describe())
	}
	tgg, err := NamedParamagnet("tgg")
	if err != nil {
		t.Fatal(err)
	}
	yig, err := NamedGarnet("yig")
	if err != nil {
		t.Fatal(err)
	}
	silica, err := NamedGlass("Fused Silica")
	if err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct{ card, want string }{
		"quartz activity":   {crystal("quartz"), "not modelled: optical activity"},
		"quartz retardance": {crystal("quartz"), "drifts by -123"},
		"MgF2 heat":         {crystal("MgF2"), "caution: dno/dT is doubtful"},
		"alpha-BBO":         {crystal("alpha-BBO"), "caution: provisional"},
		"alpha-BBO heat":    {crystal("alpha-BBO"), "doubtful: the same figures"},
		"calcite fits": {crystal("calcite"),
			"another fit: Ghosh (1999): no -0.00005 at 1550 nm, ne +0.00049 at 1550 nm"},
		"calcite, a twin": {crystal("calcite"), "another fit: Handbook of Optics: ne the same to 1e-5 at 1550 nm"},
		"YVO4 fits": {crystal("YVO4"),
			"another fit: Lomheim and DeShazer (1978): no +0.00407 at 1550 nm, ne +0.00584 at 1550 nm"},
		"YVO4 within a fit": {crystal("YVO4"), "another fit: Shi (2001): no +0.00073 at 1340 nm"},
		"rutile unknown":    {crystal("rutile"), "dn/dT: not known"},
		"TGG conflicts":     {card(tgg.Describe()), "113.6 rad/(T m), 15 % below"},
		"TGG Verdet":        {card(tgg.Describe()), "Verdet constant: -36.4 rad/(T m) at 1053 nm"},
		"YIG from memory":   {card(yig.Describe()), "from memory"},
		"silica fits": {card(silica.Describe()),
			"another fit: Arosa and de la Fuente (2020): n -0.00003 at 1550 nm"},
		"silica temperature": {card(silica.Describe()), "a handbook entry gives 12.9"},
	} {
		if !strings.Contains(c.card, c.want) {
			t.Errorf("%s: the card lacks %q:\n%s", what, c.want, c.card)
		}
	}
}
