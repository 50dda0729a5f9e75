package stack

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
)

// wide is a beam so wide that it does not spread within a stack: light between faces then is that of plane waves.
func wide(t testing.TB, elements ...element.Element) *Stack {
	t.Helper()
	s, err := New(Spec{Elements: elements, Beam: element.Collimator{Waist: 5e-3, WorkingDistance: 10e-3,
		ReturnFloor: 200}, AlignAt: at, AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// coherently is the share of the power that returns, of a source without linewidth.
func coherently(t testing.TB, s *Stack, l quantity.Length) float64 {
	t.Helper()
	r, err := s.ReturnLoss(Forward, l, room, true)
	if err != nil {
		t.Fatal(err)
	}
	return quantity.Ratio(-r.Loss)
}

// A plate of two bare faces is an etalon: it returns F sin^2(x) / (1 + F sin^2(x)), with F = 4 R / (1 - R)^2 and x =
// 2 pi n t / lambda (Airy's formula; M. Born and E. Wolf, Principles of Optics, section 7.6). Single reflections alone
// would return too much at its maxima, 0.8 dB with a face of 10 %.
func TestCoherentReturnOfAnEtalon(t *testing.T) {
	plate := element.Plate{As: "plate", Crystal: crystal(t, "YVO4"), Thickness: 0.5e-3, Coating: element.Coating{Bare: true}}
	s := wide(t, plate) // axis along the light: both waves see n_o
	seen := 0.0
	for i := range 200 {
		l := quantity.Length(at * (1 + 1e-5*float64(i)))
		n, err := plate.Crystal.At(l, room)
		if err != nil {
			t.Fatal(err)
		}
		thickness := plate.Place(room).Faces[1].Z - plate.Place(room).Faces[0].Z
		r := math.Pow((n.O-1)/(n.O+1), 2)
		f := 4 * r / ((1 - r) * (1 - r)) * math.Pow(math.Sin(2*math.Pi*n.O*thickness/float64(l)), 2)
		want, got := f/(1+f), coherently(t, s, l)
		const spread = 2e-6 // of the mode between the faces, and rounding of the phase
		if math.Abs(got-want) > spread {
			t.Fatalf("at %.6f nm %.8f returns, Airy's formula gives %.8f", float64(l)*1e9, got, want)
		}
		seen = max(seen, got)
	}
	if seen < 0.3 {
		t.Errorf("at most %.3f returns: the maximum of an etalon was not met", seen)
	}
}

// Plates of glass with bare faces and air between them return what numpy's product of transfer matrices of interfaces
// and layers gives (H. A. Macleod, Thin-Film Optical Filters, chapter 2), which knows nothing of paths.
func TestCoherentReturnAgainstTransferMatrices(t *testing.T) {
	python := require.Tool(t, "/usr/bin/python3")
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	n, err := silica.At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(15, 21))
	type layers struct{ Index, Thickness []float64 }
	var asked []layers
	var got []float64
	for range 40 {
		var es []element.Element
		var one layers
		for k := range 1 + rng.IntN(4) {
			if k > 0 {
				gap := 1e-4 * (1 + rng.Float64())
				es = append(es, element.Gap{Length: quantity.Length(gap)})
				one.Index, one.Thickness = append(one.Index, 1), append(one.Thickness, gap)
			}
			plate := element.Plate{As: "plate", Glass: silica, Thickness: quantity.Length(3e-4 * (1 + rng.Float64())),
				Coating: element.Coating{Bare: true}}
			faces := plate.Place(room).Faces
			es = append(es, plate)
			one.Index = append(one.Index, n.N)
			one.Thickness = append(one.Thickness, float64(faces[1].Z-faces[0].Z))
		}
		asked, got = append(asked, one), append(got, coherently(t, wide(t, es...), at))
	}
	in, err := json.Marshal(map[string]any{"wavelength": float64(at), "stacks": asked})
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "-c", `
import json, sys
import numpy as np
asked = json.load(sys.stdin)
k0 = 2 * np.pi / asked["wavelength"]
out = []
for s in asked["stacks"]:
    n = [1.0] + s["Index"] + [1.0]
    m = np.eye(2, dtype=complex)
    for i in range(len(n) - 1):
        r, t = (n[i] - n[i+1]) / (n[i] + n[i+1]), 2 * n[i] / (n[i] + n[i+1])
        m = m @ np.array([[1, r], [r, 1]]) / t
        if i < len(s["Thickness"]):
            p = k0 * n[i+1] * s["Thickness"][i]
            m = m @ np.diag([np.exp(-1j * p), np.exp(1j * p)])
    out.append(abs(m[1, 0] / m[0, 0]) ** 2)
print(json.dumps(out))
`)
	run.Stdin = bytes.NewReader(in)
	said, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []float64
	if err := json.Unmarshal(said, &want); err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for i := range want {
		worst = max(worst, math.Abs(got[i]-want[i]))
		const spread = 5e-6 // of the mode between eight faces, and rounding of the phase
		if math.Abs(got[i]-want[i]) > spread {
			t.Errorf("%d layers return %.8f, transfer matrices give %.8f", len(asked[i].Index), got[i], want[i])
		}
	}
	t.Logf("largest difference %.2g of the power launched", worst)
}

// However strongly faces reflect, a coherent source never gets back more than it launched, and the mean over a broad
// spectrum is what powers, reflected to and fro, add up to: 2 R / (1 + R) of a plate (geometric series).
func TestCoherentReturnIsAtMostOne(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(15, 22))
	most := 0.0
	for range 300 {
		var es []element.Element
		for k := range 1 + rng.IntN(5) {
			if k > 0 {
				es = append(es, element.Gap{Length: quantity.Length(1e-4 * (1 + rng.Float64()))})
			}
			es = append(es, element.Plate{As: "plate", Glass: silica, Thickness: quantity.Length(3e-4 * (1 + rng.Float64())),
				Coating: element.Coating{Reflectance: 0.9 * rng.Float64()}})
		}
		most = max(most, coherently(t, wide(t, es...), at))
	}
	if most > 1 {
		t.Errorf("%.6f of the power returns", most)
	}
	if most < 0.9 {
		t.Errorf("at most %.3f returns: no stack was near a mirror", most)
	}
	const r = 0.3
	plate := element.Plate{As: "plate", Glass: silica, Thickness: 0.5e-3, Coating: element.Coating{Reflectance: r}}
	got := coherently(t, wide(t, plate).WithLinewidth(3e12), at) // 15 beats
	if want := 2 * r / (1 + r); math.Abs(got/want-1) > 0.002 {
		t.Errorf("of a broad spectrum %.4f returns, want %.4f", got, want)
	}
}

// Random stacks of every part, with polarizations, films and walk-off: at most all of the light returns.
func TestCoherentReturnOfRandomStacks(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 23))
	for done := 0; done < 150; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		for _, d := range []Direction{Forward, Backward} {
			r, err := s.WithLinewidth(0).ReturnLoss(d, at, room, true)
			if err != nil {
				t.Fatal(err)
			}
			if r.Loss < -1e-9 {
				t.Fatalf("%s: a return loss of %.4f dB\n%s", d, r.Loss, kinds(s))
			}
		}
	}
}
