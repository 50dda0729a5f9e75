package vocab

import (
	"fmt"
	"math"
	"testing"

	"wedgework/optics/published"
)

// evaluated runs a cell and returns its value as a plain number; a quantity in the unit the cell names.
func evaluated(t *testing.T, src string) float64 {
	t.Helper()
	x, ok := plain(run1(t, newFakeHost(t), src))
	if !ok {
		t.Fatalf("%s is no plain number", src)
	}
	return x
}

// TestPublishedIndices: what a cell gets from crystal(), glass() and paramagnet() meets testdata/published/indices.csv.
func TestPublishedIndices(t *testing.T) {
	methods := map[string]string{"o": "no", "e": "ne", "iso": "n"}
	words := map[string]string{"fused silica": "glass", "TGG": "paramagnet"}
	for _, row := range published.Rows(t, "indices.csv") {
		word := words[row[0]]
		if word == "" {
			word = "crystal"
		}
		src := fmt.Sprintf("%s(%q).%s(%s*um, 20*degC)", word, row[0], methods[row[1]], row[2])
		if got, want, tolerance := evaluated(t, src), published.Number(t, row[3]),
			published.Number(t, row[4]); math.Abs(got-want) > tolerance {
			t.Errorf("%s: got %.5f, want %.5f within %g (%s)", src, got, want, tolerance, row[6])
		}
	}
}

// TestPublishedConsequences: walk-off, birefringence, delay and plate thickness from cells meet
// testdata/published/walkoff.csv; where the file states the indices, of a crystal made from them.
func TestPublishedConsequences(t *testing.T) {
	const lone = "s = stack(plate(c, thickness=1*mm, axis=0*deg), beam=collimator(waist=200*um, " +
		"working_distance=10*mm), align_at=l, align_temperature=20*degC)\n"
	for _, row := range published.Rows(t, "walkoff.csv") {
		src := fmt.Sprintf("c = crystal(%q)\n", row[1])
		if row[4] != "" {
			src = fmt.Sprintf("c = crystal(\"as stated\", no=%s, ne=%s, at=%s*um)\n", row[4], row[5], row[2])
		}
		src += fmt.Sprintf("l = %s*um\n", row[2])
		switch row[0] {
		case "walk-off":
			angle := row[3] + "*deg"
			if row[3] == "max" {
				angle = "atan(c.ne(l, 20*degC) / c.no(l, 20*degC))"
			}
			src += fmt.Sprintf("c.walkoff(%s, l, 20*degC).to(deg)", angle)
		case "birefringence":
			src += "c.birefringence(l, 20*degC)"
		case "delay": // of a whole stack; a negative crystal delays o
			src += lone + "s.forward(l, 20*degC).dgd.to(ps) * (1 if c.birefringence(l, 20*degC) > 0 else -1)"
		case "quarter-wave":
			src += "retarder(c, retardance=90*deg, at=l, axis=0*deg).thickness.to(um)"
		case "half-wave":
			src += "retarder(c, at=l, axis=0*deg).thickness.to(um)"
		default:
			t.Fatalf("unknown quantity %q", row[0])
		}
		if got, want, tolerance := evaluated(t, src), published.Number(t, row[6]),
			published.Number(t, row[8]); math.Abs(got-want) > tolerance {
			t.Errorf("%s of %s at %s um: got %.5f %s, want %.5f within %g (%s)",
				row[0], row[1], row[2], got, row[7], want, tolerance, row[9])
		}
	}
}

// TestPublishedFaraday: what cells get from paramagnet() and garnet() meets the rows of testdata/published/faraday.csv
// that speak of built-in materials; optics/material tests the others.
func TestPublishedFaraday(t *testing.T) {
	for _, row := range published.Rows(t, "faraday.csv") {
		var src string
		switch name := row[1]; {
		case row[0] == "verdet":
			src = fmt.Sprintf("-paramagnet(%q).verdet(%s*nm, %s*degC).to(rad/tesla/metre)", name, row[2], row[3])
		case row[0] == "verdet-ratio-633":
			src = fmt.Sprintf("p = paramagnet(%q)\np.verdet(%s*nm) / p.verdet(632.8*nm)", name, row[2])
		case name != "YIG" && name != "Bi:RIG":
			continue
		case row[0] == "rotation": // of a film used at that wavelength, by its thickness
			src = fmt.Sprintf("r = rotator(garnet(%q), thickness=0.1*mm, at=%s*nm, temperature=%s*degC)\n(r.angle / "+
				"r.thickness).to(deg/cm)", name, row[2], row[3])
		case row[0] == "per-kelvin":
			src = fmt.Sprintf("abs(garnet(%q).per_kelvin.to(deg/kelvin))", name)
		case row[0] == "per-nm":
			src = fmt.Sprintf("abs(garnet(%q).per_nm.to(deg/nm))", name)
		case row[0] == "saturation":
			src = fmt.Sprintf("garnet(%q).saturation.to(mT)", name)
		case row[0] == "extinction":
			src = fmt.Sprintf("garnet(%q).extinction.to(dB)", name)
		case row[0] == "loss-45":
			src = fmt.Sprintf("g = garnet(%q)\n10 * log10(exp(1)) * (g.absorption * rotator(g).thickness)", name)
		default:
			t.Fatalf("unknown quantity %q", row[0])
		}
		got, want, met := evaluated(t, src), published.Number(t, row[4]), false
		switch row[7] {
		case "rel":
			met = math.Abs(got-want) <= published.Number(t, row[6])*math.Abs(want)
		case "abs":
			met = math.Abs(got-want) <= published.Number(t, row[6])
		case "upper bound":
			met = got <= want*(1+1e-12)
		case "lower bound":
			met = got >= want*(1-1e-12)
		}
		if met != (row[8] == "yes") {
			t.Errorf("%s of %s: got %.5g %s, published %g (%s %s), reproduced: %s (%s)",
				row[0], row[1], got, row[5], want, row[7], row[6], row[8], row[9])
		}
	}
}

// TestPublishedMagnets: magnet() meets the field on the axis and the remanences of testdata/published/magnets.csv.
func TestPublishedMagnets(t *testing.T) {
	// Of the coefficient, what a magnet keeps of its field from 20 to 70 degC.
	const of = "m = magnet(inner=1.5*mm, outer=3*mm, length=4*mm, material=%q)\n"
	for _, row := range published.Rows(t, "magnets.csv") {
		var src string
		switch row[0] {
		case "ring":
			src = fmt.Sprintf("magnet(inner=1.5*mm, outer=3*mm, length=4*mm, remanence=1.2*tesla).field(%s*mm, "+
				"20*degC).to(tesla)", row[2])
		case "remanence":
			src = fmt.Sprintf(of+"m.field(0*mm, 20*degC) / magnet(inner=1.5*mm, outer=3*mm, length=4*mm, "+
				"remanence=1*tesla).field(0*mm, 20*degC)", row[1])
		case "coefficient":
			src = fmt.Sprintf(of+"100 * (m.field(0*mm, 70*degC) / m.field(0*mm, 20*degC) - 1) / 50", row[1])
		case "example": // of a material that is not built in
			continue
		default:
			t.Fatalf("unknown kind %q", row[0])
		}
		got, want, tolerance := evaluated(t, src), published.Number(t, row[3]), published.Number(t, row[5])
		if row[6] == "rel" {
			tolerance *= math.Abs(want)
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s of %s at %s: got %.7g %s, want %.7g within %g (%s)",
				row[0], row[1], row[2], got, row[4], want, tolerance, row[7])
		}
	}
}

// TestPractice: the demo design in cells, as the trade knows it (common practice, no source). Isolation counts the
// whole backward loss, and the trade quotes the film's own: the insertion loss is taken off before 34.7 dB at 15 nm and
// 30 dB at 26 nm off the peak are looked for.
func TestPractice(t *testing.T) {
	v := run1(t, newFakeHost(t), `film = garnet("Bi:RIG", per_nm=-0.07*deg/nm, per_kelvin=-0.06*deg/kelvin,
    extinction=70*dB, absorption=2.56*dB/cm)
c = crystal("YVO4")
w1 = wedge(c, apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted="front")
w2 = wedge(c, apex=5*deg, thickness=0.5*mm, axis=67.5*deg, slanted="back")
def design(film):
    return stack(w1, gap(0.5*mm), rotator(film, angle=45*deg, at=1550*nm, temperature=23*degC), gap(0.5*mm), w2,
                 beam=collimator(waist=200*um, working_distance=10*mm))
s = design(film)
loss = s.forward(1550*nm).insertion_loss
def off(d):
    return (s.backward(1550*nm + d).isolation - loss).to(dB)
capped = design(garnet("Bi:RIG", extinction=40*dB))
near_peak = sweep(1500*nm, 1600*nm, 0.1*nm)
def peak(t):
    return s.backward(near_peak, t).isolation.argmax()
[off(15*nm), off(-15*nm), off(26*nm), off(-26*nm), loss.to(dB), s.forward(1550*nm).dgd.to(ps),
 ((peak(43*degC) - peak(3*degC)) / (40*kelvin)).to(nm/kelvin),
 (capped.backward(1550*nm).isolation - capped.forward(1550*nm).insertion_loss).to(dB)]`)
	items, _ := elements(v)
	for i, c := range []struct {
		what            string
		want, tolerance float64 // of sin^2 against the rest of the model, or of the 0.1 nm of the sweep
	}{
		{"isolation 15 nm above the peak", 34.7, 0.15},
		{"isolation 15 nm below", 34.7, 0.15},
		{"isolation 26 nm above", 30.0, 0.15},
		{"isolation 26 nm below", 30.0, 0.15},
		{"insertion loss", 0.3, 0.2},
		{"delay of 1 mm of YVO4 in ps", 0.70, 0.01},
		{"shift of the peak in nm/K", -0.86, 0.01},
		{"peak capped by an extinction ratio of 40 dB", 40, 0.05},
	} {
		got, _ := plain(items[i])
		if math.Abs(got-c.want) > c.tolerance {
			t.Errorf("%s: %.3f, want %g within %g", c.what, got, c.want, c.tolerance)
		}
	}
	// A level per length is the same loss as its coefficient, and the film's own loss.
	loss := evaluated(t, `g = garnet("Bi:RIG", absorption=2.56*dB/cm)
10 * log10(exp(1)) * (g.absorption * rotator(g, thickness=0.4*mm).thickness)`)
	if want := 2.56 * 0.04; math.Abs(loss-want) > 1e-12 {
		t.Errorf("0.4 mm of 2.56 dB/cm lose %.6f dB, want %.6f", loss, want)
	}
}
