package face

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// The second route to a face: D. W. Berreman's four-component equation d psi/dz = i k0 Delta psi for psi = (Ex,
// Hy, Ey, -Hx), x along t and z along the normal (J. Opt. Soc. Am. 62, 502 (1972); from memory, derived anew
// from N x E = H and N x H = -eps E by dropping Ez and Hz). Waves are eigenvectors of the matrix, found
// numerically; layers are matrix exponentials; the match is one linear system for all four unknown waves.

type berreman struct {
	x, y, z r3.Vec
	kx      float64
}

// delta returns the matrix of a crystal, axis and indices, or of a medium with index squared n2 and no axis.
func (b *berreman) delta(o2, e2 complex128, axis r3.Vec) [4][4]complex128 {
	base := [3]r3.Vec{b.x, b.y, b.z}
	var eps [3][3]complex128
	for i := range 3 {
		for j := range 3 {
			eps[i][j] = (e2 - o2) * complex(r3.Dot(axis, base[i])*r3.Dot(axis, base[j]), 0)
			if i == j {
				eps[i][j] += o2
			}
		}
	}
	k, zz := complex(b.kx, 0), eps[2][2]
	return [4][4]complex128{
		{-k * eps[2][0] / zz, 1 - k*k/zz, -k * eps[2][1] / zz, 0},
		{eps[0][0] - eps[0][2]*eps[2][0]/zz, -k * eps[0][2] / zz, eps[0][1] - eps[0][2]*eps[2][1]/zz, 0},
		{0, 0, 0, 1},
		{eps[1][0] - eps[1][2]*eps[2][0]/zz, -k * eps[1][2] / zz, eps[1][1] - eps[1][2]*eps[2][1]/zz - k*k, 0},
	}
}

func (b *berreman) side(s Side) [4][4]complex128 {
	if s.Crystal == nil {
		return b.delta(complex(s.Index*s.Index, 0), complex(s.Index*s.Index, 0), b.x)
	}
	return b.delta(complex(s.Crystal.O*s.Crystal.O, 0), complex(s.Crystal.E*s.Crystal.E, 0), s.Crystal.Axis)
}

type psi [4]complex128

// of returns psi of a mode at unit flux.
func (b *berreman) of(m *Mode) psi {
	e := m.amplitude(b.z)
	h := r3.Cross(m.N, e)
	return psi{complex(r3.Dot(e, b.x), 0), complex(r3.Dot(h, b.y), 0), complex(r3.Dot(e, b.y), 0),
		complex(-r3.Dot(h, b.x), 0)}
}

func flux(f, g psi) complex128 {
	return (cmplx.Conj(f[0])*g[1] + cmplx.Conj(f[1])*g[0] + cmplx.Conj(f[2])*g[3] + cmplx.Conj(f[3])*g[2]) / 2
}

// waves returns the eigenvectors that travel or decay along z, and those against it.
func (b *berreman) waves(t *testing.T, s Side) (on, back []psi) {
	d := b.side(s)
	m := mat.NewDense(4, 4, nil)
	for i := range 4 {
		for j := range 4 {
			m.Set(i, j, real(d[i][j]))
		}
	}
	var eigen mat.Eigen
	if !eigen.Factorize(m, mat.EigenRight) {
		t.Fatal("no eigenvectors")
	}
	var vectors mat.CDense
	eigen.VectorsTo(&vectors)
	for j, q := range eigen.Values(nil) {
		var v psi
		for i := range 4 {
			v[i] = vectors.At(i, j)
		}
		way := imag(q)
		if math.Abs(way) < 1e-9 {
			way = real(flux(v, v))
		}
		if way > 0 {
			on = append(on, v)
		} else {
			back = append(back, v)
		}
	}
	if len(on) != 2 {
		t.Fatalf("%d waves on, %d back", len(on), len(back))
	}
	return on, back
}

// layer returns exp(-i k0 d Delta), which takes psi at the far plane to the near one. A complex matrix a + i b
// stands as the real one ((a, -b), (b, a)).
func (b *berreman) layer(l Layer) *mat.Dense {
	d := b.delta(l.Index*l.Index, l.Index*l.Index, b.x)
	m := mat.NewDense(8, 8, nil)
	phase := complex(0, -2*math.Pi/float64(wavelength)*float64(l.Thickness))
	for i := range 4 {
		for j := range 4 {
			block(m, i, j, phase*d[i][j])
		}
	}
	var e mat.Dense
	e.Exp(m)
	return &e
}

func block(m *mat.Dense, i, j int, z complex128) {
	m.Set(i, j, real(z))
	m.Set(i+4, j+4, real(z))
	m.Set(i+4, j, imag(z))
	m.Set(i, j+4, -imag(z))
}

// solve returns the tangential fields that return and, at the far plane, those that travel on.
func (b *berreman) solve(t *testing.T, in Side, layers []Layer, out Side, arriving psi) (returned, passed psi) {
	_, back := b.waves(t, in)
	on, _ := b.waves(t, out)
	through := mat.NewDense(8, 8, nil)
	for i := range 8 {
		through.Set(i, i, 1)
	}
	for _, l := range layers {
		var next mat.Dense
		next.Mul(through, b.layer(l))
		through = &next
	}
	far := mat.NewDense(8, 8, nil)
	for j := range 2 {
		for i := range 4 {
			block(far, i, j, on[j][i])
		}
	}
	var carried mat.Dense
	carried.Mul(through, far)
	m, rhs := mat.NewDense(8, 8, nil), mat.NewVecDense(8, nil)
	for i := range 4 {
		for j := range 2 {
			block(m, i, j, complex(carried.At(i, j), carried.At(i+4, j)))
			block(m, i, j+2, -back[j][i])
		}
		rhs.SetVec(i, real(arriving[i]))
		rhs.SetVec(i+4, imag(arriving[i]))
	}
	var x mat.VecDense
	if err := x.SolveVec(m, rhs); err != nil {
		t.Fatal(err)
	}
	for j := range 2 {
		a, r := complex(x.AtVec(j), x.AtVec(j+4)), complex(x.AtVec(j+2), x.AtVec(j+6))
		for i := range 4 {
			passed[i] += a * on[j][i]
			returned[i] += r * back[j][i]
		}
	}
	return returned, passed
}

// Each mode is an eigenvector of Berreman's matrix, and T and R agree with it element by element, phases
// included: bare, through clear layers and through absorbing ones.
func TestAgreesWithBerreman(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 15))
	worst, modes, partly := 0.0, 0.0, 0
	for _, kind := range kinds {
		for c := range 1500 {
			in, out, normal := kind.in(rng), kind.out(rng), direction(rng)
			tangential := tangentUpTo(rng, normal, in.most())
			var layers []Layer
			switch c % 3 {
			case 1:
				layers = clearLayers(rng)
			case 2:
				layers = lossyLayers(rng)
			}
			sc, ok := Scatter(in, layers, out, tangential, normal, wavelength)
			if !ok {
				continue
			}
			if sc.Out[0].Travels != sc.Out[1].Travels {
				partly++
			}
			b := berreman{x: r3.Unit(tangential), z: normal, kx: r3.Norm(tangential)}
			b.y = r3.Cross(b.z, b.x)
			for _, set := range []struct {
				s Side
				m *[2]Mode
			}{{in, &sc.In}, {in, &sc.Back}, {out, &sc.Out}} {
				d := b.side(set.s)
				for k := range set.m {
					if set.m[k].Travels {
						modes = max(modes, residual(d, b.of(&set.m[k]), r3.Dot(set.m[k].N, normal)))
					}
				}
			}
			for k := range 2 {
				if !sc.In[k].Travels {
					continue
				}
				returned, passed := b.solve(t, in, layers, out, b.of(&sc.In[k]))
				for i := range 2 {
					var r, p complex128
					if sc.Back[i].Travels {
						r = -flux(b.of(&sc.Back[i]), returned)
					}
					if sc.Out[i].Travels {
						p = flux(b.of(&sc.Out[i]), passed)
					}
					off := max(cmplx.Abs(r-sc.R[i][k]), cmplx.Abs(p-sc.T[i][k]))
					if off > 1e-10 {
						t.Fatalf("%s, case %d: R %v T %v, want %v %v", kind.name, c, sc.R[i][k], sc.T[i][k], r, p)
					}
					worst = max(worst, off)
				}
			}
		}
	}
	// Fields of unit flux grow towards grazing incidence, and rounding with them.
	if modes > 1e-12 {
		t.Errorf("a mode leaves %g in Berreman's equation", modes)
	}
	if partly < 100 {
		t.Errorf("only %d faces reflect one wave totally: the test has no grip", partly)
	}
	t.Logf("modes off by %.2g, scattering by %.2g; one wave totally reflected %d times", modes, worst, partly)
}

func residual(d [4][4]complex128, v psi, q float64) float64 {
	worst, size := 0.0, 0.0
	for i := range 4 {
		sum := -complex(q, 0) * v[i]
		for j := range 4 {
			sum += d[i][j] * v[j]
		}
		worst, size = max(worst, cmplx.Abs(sum)), max(size, cmplx.Abs(v[i]))
	}
	return worst / size
}
