package program

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The frame of a path against the rotation written out by O. Rodrigues's formula, which takes the direction of the light
// to z, also for directions far steeper than any isolator has: the vector square to the plane of incidence, turned by
// it, has the components that frame finds, for the ordinary field and for the extraordinary one, which stands across.
func TestFrameIsTheLeastTurn(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	random := func(steep float64) r3.Vec {
		v := r3.Vec{X: steep * rng.NormFloat64(), Y: steep * rng.NormFloat64(), Z: 1}
		return r3.Unit(v)
	}
	for range 200 {
		var f Face
		var kx, ky, one, none Lane
		var normals, ways [Width]r3.Vec
		for i := range Width {
			normals[i], ways[i] = random(0.4), random(0.4)
			f.X[i], f.Y[i], f.Z[i] = normals[i].X, normals[i].Y, normals[i].Z
			kx[i], ky[i], one[i] = ways[i].X, ways[i].Y, 1
		}
		for _, extraordinary := range []bool{false, true} {
			a := &path{}
			for i := range Width {
				a.norm[i] = 1
			}
			var into [2]Lane
			if extraordinary { // whose field along the plane is the second of the two
				a.frame(&f, &none, &one, true, &kx, &ky, &into)
			} else {
				a.frame(&f, &one, &none, false, &kx, &ky, &into)
			}
			for i := range Width {
				s := r3.Cross(normals[i], ways[i])
				axis := r3.Cross(ways[i], r3.Vec{Z: 1})
				turned := r3.NewRotation(math.Asin(r3.Norm(axis)), axis).Rotate(s)
				want := [2]float64{turned.X, turned.Y}
				if extraordinary {
					want = [2]float64{-turned.X, -turned.Y}
				}
				for j := range 2 {
					if off := math.Abs(into[j][i] - want[j]); off > 1e-14 {
						t.Fatalf("k %v, normal %v, extraordinary %v: %g, want %g", ways[i], normals[i], extraordinary,
							into[j][i], want[j])
					}
				}
				if off := math.Abs(a.norm[i]/r3.Norm2(s) - 1); off > 1e-13 {
					t.Fatalf("norm %g, want %g", a.norm[i], r3.Norm2(s))
				}
			}
		}
	}
}
