package face

import (
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// parity returns the signs that the fields of a medium take when the light is turned round.
func (s Side) parity() [2]complex128 {
	if s.Crystal != nil {
		return [2]complex128{-1, 1}
	}
	return [2]complex128{1, -1}
}

// The reversed face has the transpose of T, and R at -t is the transpose of R at t, up to the signs that the
// package comment states; with absorbing layers too.
func TestReciprocity(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 13))
	for _, kind := range kinds {
		for c := range 5_000 {
			in, out, normal := kind.in(rng), kind.out(rng), direction(rng)
			layers := lossyLayers(rng)
			tangential := tangentUpTo(rng, normal, 0.95*in.most())
			switch c % 10 { // where s and p, or o and e, are free to choose
			case 0:
				tangential = r3.Vec{}
			case 1:
				tangential = r3.Vec{}
				if out.Crystal != nil {
					out.Crystal.Axis = normal
				}
			}
			there, ok := Scatter(in, layers, out, tangential, normal, wavelength)
			if !ok {
				continue
			}
			here, far := in.parity(), out.parity()
			mirrored, ok := Scatter(in, layers, out, r3.Scale(-1, tangential), normal, wavelength)
			if !ok {
				t.Fatal("light arrives from one side only")
			}
			slices.Reverse(layers)
			back, ok := Scatter(out, layers, in, r3.Scale(-1, tangential), r3.Scale(-1, normal), wavelength)
			if !ok { // total reflection of both waves
				back = Scattering{}
			}
			for i := range 2 {
				for j := range 2 {
					near(t, "T turned round", here[i]*back.T[i][j]*far[j], there.T[j][i], 1e-11)
					near(t, "R turned round", here[i]*mirrored.R[i][j]*here[j], there.R[j][i], 1e-11)
				}
			}
			if t.Failed() {
				t.Fatalf("%s, case %d: t %v, normal %v, in %+v, out %+v", kind.name, c, tangential, normal, in, out)
			}
		}
	}
}
