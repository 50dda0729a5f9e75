package vocab

import (
	"slices"
	"strings"
	"testing"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// cautioned lists the cautions that a cell has put out.
func cautioned(h *fakeHost) []string {
	var texts []string
	for _, o := range h.outputs {
		for _, b := range o.Blocks {
			if c, ok := b.(document.Caution); ok {
				texts = append(texts, c.Text)
			}
		}
	}
	return texts
}

// TestExtrapolationIsSaid: a material used outside its fit says so on the cell and to the report, once a cell for each
// side of the fit, and on its card.
func TestExtrapolationIsSaid(t *testing.T) {
	const parts = `beam = collimator(waist=200*um, working_distance=20*mm)
far = crystal("YVO4", extrapolate=True)
`
	for _, c := range []struct {
		name, src string
		want      []string // what each caution says, in order
	}{
		{"inside", parts + `far.no(1550*nm)`, nil},
		{"an index", parts + `far.no(1650*nm)`, []string{"YVO4: 1650 nm is 50 nm (3.1 %) above"}},
		{"a sweep, by its ends", parts + `far.ne(sweep(450*nm, 1650*nm, 50*nm))`,
			[]string{"450 nm is 50 nm (10 %) below",
				"1650 nm is 50 nm"}},
		{"a loop, once", parts + "for l in [1610, 1620, 1630]:\n    far.no(l*nm)", []string{"1610 nm is 10 nm"}},
		{"a response",
			parts + `stack(plate(far, thickness=1*mm, axis=0*deg), beam=beam).forward(sweep(1500*nm, 1700*nm, 100*nm))`,
			[]string{"YVO4: 1700 nm"}},
		{"kelvin as degC",
			parts + `stack(plate(crystal("YVO4"), thickness=1*mm, axis=0*deg), beam=beam).forward(1550*nm, 296*degC)`,
			[]string{"296 °C is far from room temperature"}},
		{"a magnet when hot",
			`magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, material="NdFeB").field(0*mm, 500*degC)`,
			[]string{"500 °C is far from room temperature"}},
		{"a margin when hot",
			`rotator(garnet("Bi:RIG"), field=magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, ` +
				`material="Sm2Co17")).margin(sweep(20*degC, 500*degC, 240*kelvin))`,
			[]string{"500 °C is far from room temperature"}},
		{"an index when hot", `crystal("YVO4").no(1550*nm, 500*degC)`, []string{"500 °C is far from room temperature"}},
		{"a matrix that lacks light", parts + `stack(rotator(garnet("Bi:RIG")), beam=beam).forward(1550*nm).matrix`,
			[]string{".matrix is a Jones matrix and lacks the light that is depolarized"}},
		{"a matrix of all",
			parts + `stack(plate(crystal("YVO4"), thickness=1*mm, axis=0*deg), beam=beam).forward(1550*nm).matrix`,
			nil},
		{"a Mueller matrix", parts + `stack(rotator(garnet("Bi:RIG")), beam=beam).forward(1550*nm).mueller`, nil},
		{"a film",
			parts + `stack(polarizer(axis=0*deg, extinction=50*dB), rotator(garnet("Bi:RIG")), polarizer(axis=45*deg, ` +
				`extinction=50*dB), beam=beam).forward(sweep(1300*nm, 1700*nm, 100*nm))`,
			[]string{"Bi:RIG: 1300 nm is 250 nm from the 1550 nm"}},
		{"a film of that wavelength",
			parts + `stack(polarizer(axis=0*deg, extinction=50*dB), rotator(garnet("Bi:RIG", rotation=2000*deg/cm, ` +
				`at=1310*nm, per_kelvin=-0.05*deg/kelvin, per_nm=-0.1*deg/nm, absorption=0.3/cm), at=1310*nm), ` +
				`polarizer(axis=45*deg, extinction=50*dB), beam=beam, align_at=1310*nm).forward(sweep(1250*nm, 1450*nm, 50*nm))`,
			nil},
		{"a glass", `glass("fused silica", extrapolate=True).n(4*um)`, []string{"fused silica: 4000 nm"}},
		{"a plate of glass",
			parts + `stack(plate(glass("lot 7", n=1.5, extrapolate=True), thickness=1*mm), beam=beam).return_loss(1650*nm)`,
			[]string{"lot 7: 1650 nm"}},
		{"a paramagnet", `paramagnet("TGG", extrapolate=True).verdet(400*nm)`, []string{"TGG: 400 nm"}},
		{"a card", parts + `display(far)`,
			[]string{"YVO4 may be used outside the range of its dispersion fit, 500 nm to 1600 nm"}},
	} {
		h := newFakeHost(t)
		run1(t, h, c.src)
		got := cautioned(h)
		if len(got) != len(c.want) {
			t.Errorf("%s: cautions %q, want %d of them", c.name, got, len(c.want))
			continue
		}
		for i, w := range c.want {
			if !strings.Contains(strings.Join(got, "\n"), w) {
				t.Errorf("%s: cautions %q lack %q", c.name, got, w)
			}
			if c.name != "a card" && len(h.warnings) > i && !strings.Contains(strings.Join(h.warnings, "\n"), w) {
				t.Errorf("%s: warnings %q lack %q", c.name, h.warnings, w)
			}
		}
		if c.name != "a card" && len(h.warnings) != len(c.want) {
			t.Errorf("%s: %d warnings for the report, want %d: %q", c.name, len(h.warnings), len(c.want), h.warnings)
		}
	}
}

// TestVerifySaysWhereItExtrapolates: readings beyond the fit of a crystal are compared by leave, and said so.
func TestVerifySaysWhereItExtrapolates(t *testing.T) {
	h := newFakeHost(t)
	run1(t, h, strings.Replace(exampleStack, `crystal("YVO4")`,
		`crystal("lot 7", no=1.9447, ne=2.1486, at=1550*nm, dno_dt=8.5e-6/kelvin, dne_dt=3e-6/kelvin, over=sweep(1500*nm, `+
			`1552*nm, 1*nm), extrapolate=True)`, 1)+
		`verify(s, measured("sweep", default="unit.csv"), uncertainty=budget(repeatability=0.05*dB))
None`)
	for _, w := range h.warnings {
		if strings.Contains(w, "lot 7: ") && strings.Contains(w,
			"above the range of its dispersion fit, 1500 to 1552 nm") {
			return
		}
	}
	t.Errorf("warnings %q do not tell of the fit", h.warnings)
}

// TestUnsaturatedWhenHot: a magnet that holds at the temperature of alignment and not at the hot end says so where the
// hot end is computed.
func TestUnsaturatedWhenHot(t *testing.T) {
	const parts = `ring = magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-0.35*tesla,
    per_kelvin=-0.2*percent/kelvin)
r = rotator(garnet("Bi:RIG"), field=ring)
s = stack(r, beam=collimator(waist=200*um, working_distance=20*mm))
`
	h := newFakeHost(t)
	run1(t, h, parts+"s.forward(1550*nm)\nNone")
	if got := cautioned(h); len(got) != 0 {
		t.Fatalf("cautions at 23 degC: %q", got)
	}
	run1(t, h, parts+"s.forward(1550*nm, sweep(23*degC, 83*degC, 30*kelvin))\nNone")
	if got := cautioned(h); len(got) != 1 || !strings.Contains(got[0],
		"rotator1 is not saturated throughout at 83 °C") ||
		len(h.warnings) != 1 {
		t.Errorf("cautions at 83 degC: %q, and %q for the report", got, h.warnings)
	}
}

// TestFilmOutsideItsData: a film used far from the wavelength of its data says so where it stands, on the element's
// card and among the cautions of its stack, before any response is asked for; a response does not say it again. Far
// below, iron garnets absorb.
func TestFilmOutsideItsData(t *testing.T) {
	const beam = "beam = collimator(waist=200*um, working_distance=20*mm)\n"
	for _, c := range []struct {
		film, at string
		want     []string // nothing where the film may be used without a word
	}{
		{`garnet("Bi:RIG")`, "1550*nm", nil},
		{`garnet("Bi:RIG")`, "1480*nm", nil},
		{`garnet("Bi:RIG")`, "1625*nm", nil},
		{`garnet("Bi:RIG")`, "1310*nm", []string{"1310 nm is 240 nm from the 1550 nm"}},
		{`garnet("Bi:RIG")`, "1064*nm", []string{"1064 nm is 486 nm", "absorb strongly below about 1100 nm"}},
		{`garnet("Bi:RIG")`, "980*nm", []string{"980 nm is 570 nm", "absorb strongly"}},
		{`garnet("Bi:RIG")`, "900*nm", []string{"900 nm is 650 nm", "absorb strongly"}},
		// A rotation measured at 1310 nm does not bring the slopes of 1550 nm along.
		{`garnet("Bi:RIG", rotation=2000*deg/cm, at=1310*nm)`, "1310*nm",
			[]string{"1310 nm is 240 nm from the 1550 nm"}},
		{`garnet("Bi:RIG", rotation=2000*deg/cm, at=1310*nm, per_nm=-0.1*deg/nm, per_kelvin=-0.05*deg/kelvin)`,
			"1310*nm",
			[]string{"from the 1550 nm"}},
		{`garnet("Bi:RIG", rotation=2000*deg/cm, at=1310*nm, per_nm=-0.1*deg/nm, per_kelvin=-0.05*deg/kelvin, ` +
			`absorption=0.3/cm)`, "1310*nm", nil},
	} {
		tell := func(where string, got []string) {
			t.Helper()
			text := strings.Join(slices.DeleteFunc(got, func(s string) bool {
				return !strings.HasPrefix(s,
					"Bi:RIG: ")
			}), "\n")
			if len(c.want) == 0 && text != "" {
				t.Errorf("%s of %s at %s: %q, want nothing", where, c.film, c.at, got)
			}
			for _, w := range c.want {
				if strings.Count(text, w) != 1 {
					t.Errorf("%s of %s at %s: %q, want %q once", where, c.film, c.at, got, w)
				}
			}
		}
		h := newFakeHost(t)
		run1(t, h, "display(rotator("+c.film+", at="+c.at+"))\nNone")
		tell("card", cautioned(h))
		source := beam + "s = stack(rotator(" + c.film + ", at=" + c.at + "), beam=beam, align_at=" + c.at + ")\n"
		cautions, _ := elements(run1(t, newFakeHost(t), source+"s.cautions"))
		var said []string
		for _, v := range cautions {
			said = append(said, string(v.(starlark.String)))
		}
		tell("s.cautions", said)
		h = newFakeHost(t)
		run1(t, h, source+"display(s.forward("+c.at+"))\nNone")
		tell("response", cautioned(h))
	}
}
