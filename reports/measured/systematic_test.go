package measured

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
)

// rig is a simulated instrument with all that a bench does to powers: noise of the power meter and of a reference
// trace, a source that drifts between sweeps, launch states that are off.
type rig struct {
	rng             *rand.Rand
	noise, refNoise float64 // dB
	drift           float64 // dB, for each sweep of each launch state
	state           float64 // rad on the sphere, along either direction across a state
}

// off is a launch state with its error: a rotation on the sphere by twice the angle of the Jones vectors.
func (b *rig) off(u [2]complex128) [2]complex128 {
	across := [2]complex128{-cmplx.Conj(u[1]), cmplx.Conj(u[0])}
	by := complex(b.state*b.rng.NormFloat64(), b.state*b.rng.NormFloat64()) / 2
	v := [2]complex128{u[0] + by*across[0], u[1] + by*across[1]}
	norm := complex(math.Sqrt(real(v[0]*cmplx.Conj(v[0])+v[1]*cmplx.Conj(v[1]))), 0)
	return [2]complex128{v[0] / norm, v[1] / norm}
}

// files writes a reference trace and sweeps of four launch states of a part.
func (b *rig) files(m polar.Matrix, repeats int) (powers, ref string) {
	wavelengths := []float64{1540, 1545, 1550, 1555, 1560}
	var r, p strings.Builder
	fmt.Fprintf(&r, "# power noise: %g dB\nwavelength [nm],reference [dBm]", b.refNoise)
	for _, l := range wavelengths {
		fmt.Fprintf(&r, "\n%.3f,%.6f", l, b.refNoise*b.rng.NormFloat64())
	}
	fmt.Fprintf(&p, "# power noise: %g dB\n# source drift: %g dB\n# launch state error: %g rad\n# temperature: 23 "+
		"degC\nwavelength [nm],repeat", b.noise, b.drift, b.state)
	var us [4][2]complex128
	for k, s := range states {
		fmt.Fprintf(&p, ",%s [dBm]", power(powerOf, forward, s))
		us[k] = b.off(launches[k])
	}
	in := m.Mul(lead(b.rng))
	for k := range repeats {
		var drift [4]float64
		for s := range drift {
			drift[s] = b.drift * b.rng.NormFloat64()
		}
		for _, l := range wavelengths {
			fmt.Fprintf(&p, "\n%.3f,%d", l, k+1)
			for s, u := range us {
				fmt.Fprintf(&p, ",%.6f", quantity.Decibels(through(in, u))+drift[s]+b.noise*b.rng.NormFloat64())
			}
		}
	}
	return p.String() + "\n", r.String() + "\n"
}

// TestDriftAndStatesHoldTheTruth simulates files of a source that drifts and of launch states that are off, and counts
// how often the stated intervals hold mean, extremes and PDL.
func TestDriftAndStatesHoldTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 41))
	type bench struct {
		name    string
		of      rig
		repeats int
	}
	benches, runs := []bench{
		{"drift, states off, three sweeps", rig{noise: 0.005, refNoise: 0.003, drift: 0.01, state: 0.01}, 3},
		{"drift", rig{noise: 0.003, refNoise: 0.003, drift: 0.01}, 1},
		{"states off", rig{noise: 0.003, refNoise: 0.003, state: 0.01}, 1},
	}, runsACase()
	if runs < 500 { // the short form
		benches, runs = benches[:1], 25
	}
	for _, pdl := range []float64{0, 0.1, 0.4, 3, 20, 60} {
		t1 := quantity.Ratio(-0.3)
		t2 := t1 * quantity.Ratio(-pdl)
		for _, c := range benches {
			var mean, least, most, of coverage
			for range runs {
				b := c.of
				b.rng = rng
				powers, ref := b.files(part(t1, t2, 0, 0), c.repeats)
				table := divided(t, powers, ref).Averaged()
				const row = 2
				mean.see(table, InsertionLoss, row, -quantity.Decibels((t1+t2)/2))
				least.see(table, InsertionLossMin, row, -quantity.Decibels(t1))
				of.see(table, PDL, row, pdl)
				if pdl < 20 {
					most.see(table, InsertionLossMax, row, -quantity.Decibels(t2))
				}
			}
			what := fmt.Sprintf("PDL %g dB, %s: ", pdl, c.name)
			near := 0.0
			if pdl <= 0.1 {
				near = 0.12 // as in TestFourStatesHoldTheTruth
			}
			mean.check(t, what+"mean", 0)
			least.check(t, what+"least loss", near)
			if most.n > 0 {
				most.check(t, what+"greatest loss", near)
			}
			bound := 0.0
			if pdl > 15 { // half of the misses are on the side where there is no end
				bound = 0.17
			}
			of.check(t, what+"PDL", bound)
		}
	}
}

// wrapped writes the matrices of jonesFile as amplitudes and phases, which polarimeters wrap into -180 to 180 deg.
func wrapped(text string) string {
	text = strings.NewReplacer("Re(J", "|J", "Im(J", "arg(J").Replace(text)
	for _, e := range elements {
		text = strings.Replace(text, "|J"+e+")", "J"+e+" amplitude", 1)
		text = strings.Replace(text, "arg(J"+e+")", "J"+e+" phase [deg]", 1)
	}
	var out strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		fields := strings.Split(line, ",")
		var z [9]float64
		n, _ := fmt.Sscanf(strings.Join(fields, " "), "%f %f %f %f %f %f %f %f %f", &z[0], &z[1], &z[2], &z[3], &z[4],
			&z[5], &z[6], &z[7], &z[8])
		if n == len(z) {
			line = fields[0]
			for k := 1; k < len(z); k += 2 {
				a, phase := cmplx.Polar(complex(z[k], z[k+1]))
				line += fmt.Sprintf(",%.12f,%.9f", a, phase*180/math.Pi)
			}
		}
		out.WriteString(line + "\n")
	}
	return out.String()
}

// TestWrappedPhasesHoldTheTruth: phases that are wrapped leave PDL and DGD and their intervals as they are, also where
// a step turns the phase by nine tenths of half a turn; and numpy finds the same PDL by singular values and the same
// delay by eigenvalues.
func TestWrappedPhasesHoldTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 43))
	const noise = 5e-4
	var texts []string
	var tables []*Table
	for _, c := range []struct{ pdl, delay, step float64 }{
		{0.1, 0.7e-12, 125e9}, {0.4, 25e-12, 5e9}, {3, 25e-12, 18e9}, {20, 3.6e-12, 125e9},
	} {
		var pdl, dgd coverage
		for range runsACase() {
			text := wrapped(jonesFile(rng, c.pdl, c.delay, noise, 5, func(k int) float64 {
				return 193e12 + float64(k)*c.step
			}, terahertz))
			table := read(t, text)
			pdl.see(table, PDL, 2, c.pdl)
			for i := range table.Rows() {
				if v := table.DGD[i]; v == v {
					dgd.see(table, DGD, i, c.delay)
					break
				}
			}
			if pdl.n == 1 {
				texts, tables = append(texts, text), append(tables, table)
			}
		}
		what := fmt.Sprintf("wrapped phases, PDL %g dB, DGD %.3g ps, %.2f of half a turn: ", c.pdl, c.delay*1e12,
			2*c.delay*c.step)
		pdl.check(t, what+"PDL", 0)
		dgd.check(t, what+"DGD", 0)
	}
	witness(t, texts, tables)
}

// witness holds PDL and DGD of files of amplitudes and phases against numpy.
func witness(t *testing.T, texts []string, tables []*Table) {
	t.Helper()
	python := require.Tool(t, "/usr/bin/python3")
	in, err := json.Marshal(texts)
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "-c", `
import json, sys
import numpy as np
out = []
for text in json.load(sys.stdin):
    a = np.array([[float(x) for x in l.split(",")] for l in text.splitlines() if l and l[0] in "0123456789"])
    f = a[:, 0] * 1e12
    J = (a[:, 1::2] * np.exp(1j * np.radians(a[:, 2::2]))).reshape(-1, 2, 2)
    s = np.linalg.svd(J, compute_uv=False)
    pdl = 20 * np.log10(s[:, 0] / s[:, 1])
    w = np.linalg.eigvals(J[1:] @ np.linalg.inv(J[:-1]))
    dgd = np.abs(np.angle(w[:, 0] / w[:, 1])) / (2 * np.pi * np.diff(f))
    out.append({"PDL": pdl.tolist(), "DGD": dgd.tolist()})
print(json.dumps(out))
`)
	run.Stdin = bytes.NewReader(in)
	said, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []struct{ PDL, DGD []float64 }
	if err := json.Unmarshal(said, &want); err != nil {
		t.Fatal(err)
	}
	for k, table := range tables {
		var pdl, dgd []float64
		for i := range table.Rows() {
			if v := table.PDL[i]; v == v {
				pdl = append(pdl, v)
			}
			if v := table.DGD[i]; v == v {
				dgd = append(dgd, v)
			}
		}
		if len(pdl) != len(want[k].PDL) || len(dgd) != len(want[k].DGD) {
			t.Fatalf("file %d: %d PDLs and %d delays, want %d and %d", k, len(pdl), len(dgd), len(want[k].PDL),
				len(want[k].DGD))
		}
		slices.Sort(dgd) // steps stand in the order of their matrices, which follow each other by wavelength
		slices.Sort(want[k].DGD)
		for i := range pdl {
			if math.Abs(pdl[i]-want[k].PDL[i]) > 1e-8 {
				t.Errorf("file %d: PDL %.9f dB, numpy has %.9f", k, pdl[i], want[k].PDL[i])
			}
		}
		for i := range dgd {
			if math.Abs(dgd[i]/want[k].DGD[i]-1) > 1e-6 { // frequencies of nine digits
				t.Errorf("file %d: DGD %.6g s, numpy has %.6g", k, dgd[i], want[k].DGD[i])
			}
		}
	}
}

// TestInstrumentAgainstNumpy: figures and standard uncertainties of files with noise, drift and launch states that are
// off are those that numpy finds on its own way: the Mueller row by least squares from the Stokes vectors launched, and
// the spread of the figures over 40,000 draws of all errors.
func TestInstrumentAgainstNumpy(t *testing.T) {
	python := require.Tool(t, "/usr/bin/python3")
	rng := rand.New(rand.NewPCG(15, 42))
	b := &rig{rng: rng, noise: 0.003, refNoise: 0.004, drift: 0.01, state: 0.008}
	type one struct {
		Powers string
		Ref    string
	}
	var files []one
	var tables []*Table
	for _, pdl := range []float64{0.2, 0.5, 3, 10} {
		t1 := quantity.Ratio(-0.3)
		powers, ref := b.files(part(t1, t1*quantity.Ratio(-pdl), 0, 0), 1)
		files, tables = append(files, one{powers, ref}), append(tables, divided(t, powers, ref))
	}
	in, err := json.Marshal(map[string]any{"files": files, "noise": b.noise, "ref": b.refNoise, "drift": b.drift,
		"state": b.state})
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "-c", `
import json, sys
import numpy as np
a = json.load(sys.stdin)
rng = np.random.default_rng(15)
S = np.array([[1, 1, 0, 0], [1, -1, 0, 0], [1, 0, 1, 0], [1, 0, 0, 1]], float)
def numbers(text):
    return np.array([[float(x) for x in l.split(",")] for l in text.splitlines() if l and l[0] in "0123456789"])
def figures(dB, states):
    m = np.linalg.solve(states, np.moveaxis(10 ** (dB / 10), -1, 0)).T
    d = np.linalg.norm(m[..., 1:], axis=-1)
    hi, lo = m[..., 0] + d, m[..., 0] - d
    return np.stack([-10 * np.log10(m[..., 0]), -10 * np.log10(hi), -10 * np.log10(lo), 10 * np.log10(hi / lo)])
out = []
for f in a["files"]:
    p, r = numbers(f["Powers"]), numbers(f["Ref"])
    row = 2
    dB = p[row, 2:6] - r[row, 1]
    value = figures(dB[None, :], S)[:, 0]
    n = 40000
    m = np.linalg.solve(S, 10 ** (dB / 10))
    # what the states do: the power that a state truly launched gives, over that of the nominal one
    off = rng.normal(size=(n, 4, 3)) * a["state"]
    s = S[None, :, 1:] + off - np.sum(off * S[None, :, 1:], axis=-1, keepdims=True) * S[None, :, 1:]
    s /= np.linalg.norm(s, axis=-1, keepdims=True)
    true = 10 * np.log10((m[0] + s @ m[1:]) / (m[0] + S[None, :, 1:] @ m[1:]))
    draws = dB + true + rng.normal(size=(n, 4)) * a["noise"] + rng.normal(size=(n, 4)) * a["drift"]
    draws += rng.normal(size=(n, 1)) * a["ref"]
    out.append({"Value": value.tolist(), "U": figures(draws, S).std(axis=-1).tolist()})
print(json.dumps(out))
`)
	run.Stdin = bytes.NewReader(in)
	said, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []struct{ Value, U []float64 }
	if err := json.Unmarshal(said, &want); err != nil {
		t.Fatal(err)
	}
	for i, table := range tables {
		for k, name := range []string{InsertionLoss, InsertionLossMin, InsertionLossMax, PDL} {
			const row = 2
			const digits, draws = 1e-9, 0.025 // 40,000 draws give a spread to 0.4 %; the rest is curvature
			if got := table.Figure(name)[row]; math.Abs(got-want[i].Value[k]) > digits {
				t.Errorf("file %d, %s: %.9f dB, numpy has %.9f", i, name, got, want[i].Value[k])
			}
			if got := table.U[name][row]; math.Abs(got/want[i].U[k]-1) > draws {
				t.Errorf("file %d, u(%s): %.5f dB, numpy's draws spread by %.5f", i, name, got, want[i].U[k])
			}
		}
	}
}
