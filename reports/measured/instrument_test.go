package measured

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// The instruments of these tests are simulated: what a bench would read of a part with a known Jones matrix.

// part is a partial polarizer behind a retarder at 33 deg: a PDL and a DGD, known in closed form.
func part(t1, t2, delay, w float64) polar.Matrix {
	a, b := complex(math.Sqrt(t1), 0), complex(math.Sqrt(t2), 0)
	p := cmplx.Exp(complex(0, w*delay/2))
	s, c := math.Sincos(33 * math.Pi / 180)
	r := polar.Matrix{{complex(c, 0), complex(-s, 0)}, {complex(s, 0), complex(c, 0)}}
	return r.Mul(polar.Matrix{{a * p, 0}, {0, b / p}}).Mul(r.Adjoint())
}

// lead is an arbitrary lossless fibre lead.
func lead(rng *rand.Rand) polar.Matrix {
	a, b, c := rng.Float64()*2*math.Pi, rng.Float64()*math.Pi/2, rng.Float64()*2*math.Pi
	u, v := cmplx.Exp(complex(0, a))*complex(math.Cos(b), 0), cmplx.Exp(complex(0, c))*complex(math.Sin(b), 0)
	return polar.Matrix{{u, -cmplx.Conj(v)}, {v, cmplx.Conj(u)}}
}

// launches are the Jones vectors of the four states: linear at 0, 90 and 45 deg, and circular.
var launches = [4][2]complex128{{1, 0}, {0, 1}, {math.Sqrt2 / 2, math.Sqrt2 / 2}, {math.Sqrt2 / 2, math.Sqrt2 / 2 * 1i}}

func through(m polar.Matrix, u [2]complex128) float64 {
	x, y := m[0][0]*u[0]+m[0][1]*u[1], m[1][0]*u[0]+m[1][1]*u[1]
	return real(x)*real(x) + imag(x)*imag(x) + real(y)*real(y) + imag(y)*imag(y)
}

// TestFourStatesClosedForm holds the Mueller method against the eigenvalues of M^dagger M, which give the extremes
// over all states by definition (IEC 61300-3-2), for random matrices.
func TestFourStatesClosedForm(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		var m polar.Matrix
		for i := range m {
			for j := range m[i] {
				m[i][j] = complex(rng.NormFloat64(), rng.NormFloat64())
			}
		}
		var powers [4]float64
		for k, u := range launches {
			powers[k] = through(m, u)
		}
		got := polar.FourStates(powers)
		var h polar.Gram
		h.Add(m)
		t1, t2 := h.Extremes()
		const rounding = 1e-13 // of sums of a few products, against t1
		if math.Abs(got.T1-t1) > rounding*t1 || math.Abs(got.T2-t2) > rounding*t1 ||
			math.Abs(got.Mean-(t1+t2)/2) > rounding*t1 {
			t.Fatalf("got %v, want %g, %g", got, t1, t2)
		}
	}
}

// TestFourStatesIdealPolarizer: a polarizer at 0 deg passes 1, 0, 1/2 and 1/2 of the four states: Malus's law.
func TestFourStatesIdealPolarizer(t *testing.T) {
	got := polar.FourStates([4]float64{1, 0, 0.5, 0.5})
	if got.Mean != 0.5 || got.T1 != 1 || got.T2 != 0 {
		t.Errorf("got %+v, want mean 1/2, extremes 1 and 0", got)
	}
}

// TestFourStatesFromInstrument reads simulated powers of four launch states, whose powers differ, with noise and
// behind random leads, and compares PDL and losses with those of the part: the differences have the
// standard deviation that the reader states, and no bias beyond it. The noise of one reference for all four states
// moves the losses together and leaves the PDL.
func TestFourStatesFromInstrument(t *testing.T) {
	t.Run("a reference each", func(t *testing.T) { fourFromInstrument(t, states, [4]float64{0, -0.3, 0.2, -0.1}) })
	t.Run("one reference", func(t *testing.T) { fourFromInstrument(t, []string{""}, [4]float64{}) })
}

// fourFromInstrument takes the names of the references and the powers launched, in dBm: a polarization controller has
// losses of its own.
func fourFromInstrument(t *testing.T, references []string, launched [4]float64) {
	rng := rand.New(rand.NewPCG(7, 11))
	const n, noise = 400, 0.003
	t1, t2 := quantity.Ratio(-0.35), quantity.Ratio(-0.75) // PDL 0.40 dB
	lines := []string{fmt.Sprintf("# unit: 0417\n# power noise: %g dB\n# temperature: 23 degC\nwavelength [nm]", noise)}
	for _, s := range states {
		lines[0] += "," + power(powerOf, forward, s) + " [dBm]"
	}
	for _, s := range references {
		lines[0] += "," + power(referenceOf, "", s) + " [dBm]"
	}
	m := part(t1, t2, 0, 0).Mul(lead(rng))
	for i := range n {
		row := fmt.Sprintf("%.2f", 1530+float64(i)/10)
		for k, u := range launches {
			row += fmt.Sprintf(",%.6f", launched[k]+quantity.Decibels(through(m, u))+noise*rng.NormFloat64())
		}
		for k := range references {
			row += fmt.Sprintf(",%.6f", launched[k]+noise*rng.NormFloat64())
		}
		lines = append(lines, row)
	}
	table := read(t, strings.Join(lines, "\n")+"\n")
	for _, c := range []struct {
		name string
		want float64
	}{
		{PDL, 0.40}, {InsertionLossMin, 0.35}, {InsertionLossMax, 0.75},
		{InsertionLoss, -quantity.Decibels((t1 + t2) / 2)},
	} {
		sum, squares := 0.0, 0.0
		for i, v := range table.Figure(c.name) {
			z := (v - c.want) / table.U[c.name][i]
			sum += z
			squares += z * z
		}
		// Of n standard normal numbers the mean lies within 4/sqrt(n), the mean square within 4 sqrt(2/n); noise
		// pushes the PDL outwards by u^2/PDL, which is a hundredth of its u here.
		if mean := sum / n; math.Abs(mean) > 4/math.Sqrt(n)+0.02 {
			t.Errorf("%s: mean error is %.3f u, want none", c.name, mean)
		}
		if square := squares / n; math.Abs(square-1) > 4*math.Sqrt(2.0/n) {
			t.Errorf("%s: mean squared error is %.3f u^2, want 1", c.name, square)
		}
	}
	if table.Polarization() != MinMax {
		t.Errorf("polarization %q, want min-max", table.Polarization())
	}
}

// TestJonesFromInstrument reads simulated matrices between random leads, each with a random factor as polarimeters
// give them, and finds the delay and the PDL of the part.
func TestJonesFromInstrument(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	const delay, noise = 0.7e-12, 2e-4
	for _, c := range []struct {
		name      string
		noise     float64
		tolerance float64 // of the mean DGD, relative
	}{
		{"exact", 0, 1e-8},          // the printed digits
		{"with noise", noise, 0.02}, // noise in the phase, 2 noise over 0.55 rad a step, over 100 steps; twice that for the PDL
	} {
		in, out := lead(rng), lead(rng)
		text := "# temperature: 23 degC\nfrequency [THz]"
		for _, e := range elements {
			text += ",Re(J" + e + "),Im(J" + e + ")"
		}
		text += "\n"
		for i := range 101 {
			f := 193e12 + float64(i)*125e9
			m := out.Mul(part(0.9, 0.8, delay, 2*math.Pi*f)).Mul(in).Scale(cmplx.Rect(0.5+rng.Float64(),
				6*rng.Float64()))
			text += fmt.Sprintf("%.6f", f/1e12)
			for _, z := range []complex128{m[0][0], m[0][1], m[1][0], m[1][1]} {
				text += fmt.Sprintf(",%.12f,%.12f", real(z)+c.noise*rng.NormFloat64(),
					imag(z)+c.noise*rng.NormFloat64())
			}
			text += "\n"
		}
		table := read(t, text)
		sum, n, pdl, k := 0.0, 0, 0.0, 0
		for i := range table.Rows() {
			if v := table.DGD[i]; v == v {
				sum, n = sum+v, n+1
			}
			if v := table.PDL[i]; v == v {
				pdl, k = pdl+v, k+1
			}
		}
		if n != 100 || k != 101 {
			t.Fatalf("%s: %d delays and %d PDL, want 100 and 101", c.name, n, k)
		}
		if got := sum / float64(n); math.Abs(got/delay-1) > c.tolerance {
			t.Errorf("%s: DGD %.6g ps, want 0.7 ps", c.name, got*1e12)
		}
		if got, want := pdl/float64(k), quantity.Decibels(0.9/0.8); math.Abs(got/want-1) > c.tolerance {
			t.Errorf("%s: PDL %.6g dB, want %.6g dB", c.name, got, want)
		}
	}
}

// TestReferenced interpolates a reference trace between its wavelengths, never beyond, and names every row that a
// loss came from.
func TestReferenced(t *testing.T) {
	unit := read(t, "# measured: 2026-11-18\n# fixture excess backward: 0.2 dB\nwavelength [nm],temperature "+
		"[degC],power forward [dBm],power backward [dBm]\n1550,23,-0.3,-40\n1551,23,-0.4,<-70\n")
	ref, err := Read(NewFile("ref.csv", []byte("# measured: 2026-11-15\nwavelength [nm],power "+
		"[uW]\n1552,1023.292992\n1550,1000\n")))
	if err != nil {
		t.Fatal(err)
	}
	got, err := unit.Referenced(ref)
	if err != nil {
		t.Fatal(err)
	}
	const digits = 1e-8 // of the power as written
	for i, want := range [][2]float64{{0.3, 39.8}, {0.45, 69.85}} {
		if math.Abs(got.InsertionLoss[i]-want[0]) > digits || math.Abs(got.Isolation[i]-want[1]) > digits {
			t.Errorf("row %d: %g, %g dB, want %v", i, got.InsertionLoss[i], got.Isolation[i], want)
		}
	}
	if !got.AtLeast(Isolation, 1) || got.AtLeast(Isolation, 0) {
		t.Error("want the second isolation alone to be a bound")
	}
	if place, want := got.Place(1), "sweep.csv, line 5; ref.csv, line 4; ref.csv, line 3"; place != want {
		t.Errorf("got %q, want %q", place, want)
	}
	if days, ok := got.ReferenceAge(); !ok || days != 3 {
		t.Errorf("the reference is %d days old (%t), want 3", days, ok)
	}
	if unit.Isolation != nil {
		t.Error("the table of powers itself was changed")
	}
	beyond := read(t, "wavelength [nm],temperature [degC],power forward [dBm]\n1553,23,-0.3\n")
	_, err = beyond.Referenced(ref)
	if want := "sweep.csv: line 2, column 1 (wavelength [nm]): found 1553 nm, expected a wavelength within the 1550 " +
		"nm to 1552 nm of the reference trace ref.csv, which is not continued beyond its ends"; err == nil ||
		err.Error() != want {
		t.Errorf("got %v,\nwant %s", err, want)
	}
}
