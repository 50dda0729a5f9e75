package main

import (
	"bytes"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// What was planted in the files of single instruments, for the unit they are of.
const (
	plantedPDL   = 0.06     // dB, of the best state over the worst
	plantedDGD   = 0.70e-12 // s
	powerNoise   = 0.002    // dB, each power
	matrixNoise  = 2e-4     // each part of an element
	fixtureSlope = 0.004    // dB/nm of the reference trace
)

// instruments writes what a bench's instruments give before anything is computed from it: powers and their reference
// trace, powers of four launch states, swept Jones matrices.
func instruments(folder string, u unit) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for name, data := range map[string][]byte{
		"powers": powers(u), "reference": reference(u), "four-states": fourStates(u), "jones": matrices(u),
	} {
		if err := os.WriteFile(filepath.Join(folder, name+"-"+u.serial+".csv"), data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

const invented = "# note: invented data, made by testdata/demo/generate\n"

// launched is the power through the empty fixture, dBm.
func launched(nm float64) float64 { return 0.3 + fixtureSlope*(nm-1550) }

// german writes a number with a decimal comma, as an instrument set to that does.
func german(format string, v float64) string {
	return strings.Replace(fmt.Sprintf(format, v), ".", ",", 1)
}

// powers are two sweeps forward and backward, semicolons between the fields and decimal commas in them.
func powers(u unit) []byte {
	rng := rand.New(rand.NewPCG(2611, 101))
	var b bytes.Buffer
	fmt.Fprintf(&b, invented+"# unit: %s\n# lot: %s\n# measured: 18.11.2026\n# source polarization: scrambled\n# "+
		"fixture excess: 0,05 dB\n", u.serial, u.lot)
	b.WriteString("Wavelength (nm);Temperature (°C);Power forward (dBm);Power backward (dBm)\n")
	for range 2 {
		drift := 0.01 * rng.NormFloat64()
		for nm := 1530.0; nm <= 1570; nm++ {
			leak, forward := actual(u, nm, 23)
			leak += math.Pow(10, -floor/10)
			read := func(t, noise float64) string {
				return german("%.4f", launched(nm)-0.05+10*math.Log10(t)+drift+noise*rng.NormFloat64())
			}
			fmt.Fprintf(&b, "%s;23,0;%s;%s\n", german("%.2f", nm), read(forward, lossNoise), read(leak, noise))
		}
	}
	return b.Bytes()
}

// reference is the trace through the empty fixture, in steps of its own.
func reference(unit) []byte {
	rng := rand.New(rand.NewPCG(2611, 102))
	var b bytes.Buffer
	b.WriteString(invented + "# measured: 2026-11-16\n# operator: bench 2\nwavelength [nm]\treference [dBm]\n")
	for nm := 1520.0; nm <= 1580; nm += 2.5 {
		fmt.Fprintf(&b, "%.2f\t%.4f\n", nm, launched(nm)+powerNoise*rng.NormFloat64())
	}
	return b.Bytes()
}

// fourStates are powers forward of four launch states, each with its reference.
func fourStates(u unit) []byte {
	rng := rand.New(rand.NewPCG(2611, 103))
	var b bytes.Buffer
	fmt.Fprintf(&b, invented+"# unit: %s\n# lot: %s\n# measured: 2026-11-18\n# reference taken: 2026-11-18\n# "+
		"direction: forward\n# power noise: %g dB\n# temperature: 23 degC\nwavelength [nm]", u.serial, u.lot,
		powerNoise)
	names := []string{"0 deg", "90 deg", "45 deg", "circular"}
	for _, what := range []string{"power", "reference"} {
		for _, s := range names {
			fmt.Fprintf(&b, ",%s %s [dBm]", what, s)
		}
	}
	b.WriteString("\n")
	// The best state lies somewhere on the sphere of states; a launch state passes by its projection on it.
	best := [3]float64{0.48, 0.6, 0.64}
	stokes := [4][3]float64{{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	ratio := math.Pow(10, plantedPDL/10)
	contrast := (ratio - 1) / (ratio + 1)
	for nm := 1530.0; nm <= 1570; nm += 2 {
		_, forward := actual(u, nm, 23)
		fmt.Fprintf(&b, "%.2f", nm)
		var refs string
		for k, s := range stokes {
			t := forward * (1 + contrast*(best[0]*s[0]+best[1]*s[1]+best[2]*s[2]))
			from := launched(nm) - 0.1*float64(k)
			fmt.Fprintf(&b, ",%.4f", from+10*math.Log10(t)+powerNoise*rng.NormFloat64())
			refs += fmt.Sprintf(",%.4f", from+powerNoise*rng.NormFloat64())
		}
		b.WriteString(refs + "\n")
	}
	return b.Bytes()
}

// matrices are Jones matrices of a delay at 22.5 deg between two leads, each up to a factor.
func matrices(u unit) []byte {
	rng := rand.New(rand.NewPCG(2611, 104))
	var b bytes.Buffer
	fmt.Fprintf(&b, invented+"# unit: %s\n# lot: %s\n# measured: 2026-11-18\n# temperature: 23 degC\nfrequency [THz]",
		u.serial, u.lot)
	for _, e := range []string{"11", "12", "21", "22"} {
		fmt.Fprintf(&b, ",Re(J%s),Im(J%s)", e, e)
	}
	b.WriteString("\n")
	type matrix [4]complex128
	times := func(a, c matrix) matrix {
		return matrix{a[0]*c[0] + a[1]*c[2], a[0]*c[1] + a[1]*c[3], a[2]*c[0] + a[3]*c[2], a[2]*c[1] + a[3]*c[3]}
	}
	turn := func(deg float64) matrix {
		sin, cos := math.Sincos(deg * degree)
		return matrix{complex(cos, 0), complex(-sin, 0), complex(sin, 0), complex(cos, 0)}
	}
	plate := func(phase float64) matrix {
		return matrix{cmplx.Exp(complex(0, phase/2)), 0, 0, cmplx.Exp(complex(0, -phase/2))}
	}
	in, out := times(times(turn(20), plate(0.9)), turn(-50)), times(times(turn(61), plate(2.1)), turn(12))
	for ghz := 191000; ghz <= 196000; ghz += 100 {
		w := 2 * math.Pi * float64(ghz) * 1e9
		m := times(times(out, times(times(turn(22.5), plate(w*plantedDGD)), turn(-22.5))), in)
		factor := cmplx.Rect(0.8+0.2*rng.Float64(), 2*math.Pi*rng.Float64())
		fmt.Fprintf(&b, "%.3f", float64(ghz)/1000)
		for _, z := range m {
			z *= factor
			fmt.Fprintf(&b, ",%.6f,%.6f", real(z)+matrixNoise*rng.NormFloat64(), imag(z)+matrixNoise*rng.NormFloat64())
		}
		b.WriteString("\n")
	}
	return b.Bytes()
}
