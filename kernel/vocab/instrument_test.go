package vocab

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/measured"
)

// The instruments of these tests are simulated on the model: four launch states into power readings, and swept
// Jones matrices between unknown leads. What the reader makes of them must be the model's own figures.

// lossless is a film without depolarization, so that one Jones matrix says all.
const lossless = `c = crystal("YVO4")
film = garnet("clear", index=2.3, rotation=1000*deg/cm, per_kelvin=-0.06*deg/kelvin, per_nm=-0.07*deg/nm,
    extinction=200*dB)
s = stack(wedge(c, apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted="front"), gap(0.5*mm), rotator(film,
    angle=45*deg, at=1550*nm, coating=coating(reflectance=0.1*percent)),
          gap(0.5*mm), wedge(c, apex=5*deg, thickness=0.5*mm, axis=67*deg, slanted="back"),
    beam=collimator(waist=200*um, working_distance=10*mm))
s`

// unknownLead is a random lossless lead.
func unknownLead(rng *rand.Rand) polar.Matrix {
	a, b, c := rng.Float64()*2*math.Pi, rng.Float64()*math.Pi/2, rng.Float64()*2*math.Pi
	u, v := cmplx.Exp(complex(0, a))*complex(math.Cos(b), 0), cmplx.Exp(complex(0, c))*complex(math.Sin(b), 0)
	return polar.Matrix{{u, -cmplx.Conj(v)}, {v, cmplx.Conj(u)}}
}

func readText(t *testing.T, text string) *measured.Table {
	t.Helper()
	table, err := measured.Read(measured.NewFile("simulated.csv", []byte(text)))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func TestFourStatesOfModel(t *testing.T) {
	s := run1(t, newFakeHost(t), lossless).(*Stack).stack
	rng := rand.New(rand.NewPCG(26, 11))
	const noise = 0.0005 // dB
	r := math.Sqrt2 / 2
	launches := [4][2]complex128{{1, 0}, {0, 1}, {complex(r, 0), complex(r, 0)}, {complex(r, 0), complex(0, r)}}
	for _, d := range []stack.Direction{stack.Forward, stack.Backward} {
		in := unknownLead(rng)
		text := fmt.Sprintf("# unit: 1\n# temperature: 23 degC\n# direction: %s\n# power noise: %g dB\nwavelength "+
			"[nm],power 0 deg [dBm],power 90 deg [dBm],power 45 deg [dBm],power circular [dBm],reference [dBm]\n", d,
			noise)
		var points []stack.Point
		for nm := 1530.0; nm <= 1570; nm += 0.5 {
			p, err := s.At(d, quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(23))
			if err != nil {
				t.Fatal(err)
			}
			points = append(points, p)
			m := p.M.Mul(in)
			text += fmt.Sprintf("%.1f", nm)
			for _, u := range launches {
				x, y := m[0][0]*u[0]+m[0][1]*u[1], m[1][0]*u[0]+m[1][1]*u[1]
				text += fmt.Sprintf(",%.7f", quantity.Decibels(real(x*cmplx.Conj(x)+y*cmplx.Conj(y)))+noise*rng.NormFloat64())
			}
			text += ",0\n"
		}
		table := readText(t, text)
		figures := map[string]func(stack.Point) float64{measured.InsertionLoss: stack.Point.InsertionLoss,
			measured.InsertionLossMin: stack.Point.InsertionLossMin,
			measured.InsertionLossMax: stack.Point.InsertionLossMax, measured.PDL: stack.Point.PDL}
		if d == stack.Backward {
			figures = map[string]func(stack.Point) float64{measured.Isolation: stack.Point.Isolation,
				measured.IsolationMean: stack.Point.IsolationMean}
		}
		for name, of := range figures {
			worst := 0.0
			for i, p := range points {
				worst = max(worst, math.Abs(table.Figure(name)[i]-of(p))/table.U[name][i])
			}
			// the greatest of 81 normal numbers stays below 5; the bias of a PDL in its noise is under u^2/(2 PDL)
			if worst > 6 {
				t.Errorf("%s %s: the readings differ from the model by up to %.1f of their uncertainty", d, name, worst)
			}
		}
	}
}

func TestJonesOfModel(t *testing.T) {
	s := run1(t, newFakeHost(t), lossless).(*Stack).stack
	rng := rand.New(rand.NewPCG(26, 12))
	in, out := unknownLead(rng), unknownLead(rng)
	for _, noise := range []float64{0, 1e-5} {
		var text strings.Builder
		text.WriteString("# unit: 1\n# temperature: 23 degC\nwavelength " +
			"[nm],Re(J11),Im(J11),Re(J12),Im(J12),Re(J21),Im(J21),Re(J22),Im(J22)\n")
		var points []stack.Point
		const step = 1.0
		for nm := 1540.0; nm <= 1560; nm += step {
			p, err := s.At(stack.Forward, quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(23))
			if err != nil {
				t.Fatal(err)
			}
			points = append(points, p)
			m := out.Mul(p.M).Mul(in).Scale(cmplx.Rect(0.5+rng.Float64(), 6*rng.Float64()))
			fmt.Fprintf(&text, "%.1f", nm)
			for _, z := range []complex128{m[0][0], m[0][1], m[1][0], m[1][1]} {
				fmt.Fprintf(&text, ",%.14f,%.14f", real(z)+noise*rng.NormFloat64(), imag(z)+noise*rng.NormFloat64())
			}
			text.WriteString("\n")
		}
		table := readText(t, text.String())
		// the phase of an eigenvalue has about 2 noise over the smallest factor, 0.5, from each of two matrices; a step
		// of 1 nm is 0.785 rad/ps. Five standard deviations; without noise the digits printed.
		phase := 5*2*math.Sqrt2*noise/0.5 + 1e-10
		tolerance := phase / 0.785e12
		steps := 0
		for i := range table.Rows() {
			if table.Steps[i][0] == 0 {
				if d := math.Abs(table.PDL[i] - points[i].PDL()); d > 8.7*phase {
					t.Errorf("PDL at %s differs from the model by %.2g dB", table.Place(i), d)
				}
				continue
			}
			steps++
			want, err := s.StepDGD(stack.Forward, table.Steps[i][0], table.Steps[i][1], table.Temperature[i])
			if err != nil {
				t.Fatal(err)
			}
			if d := math.Abs(table.DGD[i] - want); d > tolerance {
				t.Errorf("DGD at %s differs from the model's by %.2g ps, more than %.2g", table.Place(i), d*1e12,
					tolerance*1e12)
			}
			// The step of a nanometre is small against the turning of the principal states: the limit is near.
			if here := points[steps-1].DGD(); math.Abs(want/here-1) > 0.02 {
				t.Errorf("DGD over a step is %.4g ps, at its start %.4g ps", want*1e12, here*1e12)
			}
		}
		if steps != len(points)-1 {
			t.Errorf("%d steps, want %d", steps, len(points)-1)
		}
	}
}
