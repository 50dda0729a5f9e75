package polar

// Mueller is a 4x4 Mueller matrix, row by row: the Stokes vector that arrives over the one that was launched. Unlike a
// Jones matrix it holds what depolarizes too. Stokes vectors are (S0, S1, S2, S3) = (|Ex|^2+|Ey|^2, |Ex|^2-|Ey|^2,
// 2 Re Ex*Ey, 2 Im Ex*Ey) in the device frame and the time factor exp(-i w t).
//
// Its element ij is tr(s_i J s_j J^dagger)/2 of a Jones matrix J, with s_0 the unit matrix and s_1 to s_3 the Pauli
// matrices in the order that gives the Stokes vector above; matrices of light that does not interfere add up (R. A.
// Chipman, Handbook of Optics, vol. 1, ch. 14; from memory).
type Mueller [4][4]float64

// stokes are the matrices whose expectation values are the Stokes parameters.
var stokes = [4]Matrix{{{1, 0}, {0, 1}}, {{1, 0}, {0, -1}}, {{0, 1}, {1, 0}}, {{0, -1i}, {1i, 0}}}

// Add adds the light of one Jones matrix; matrices so added do not interfere.
func (m *Mueller) Add(a Matrix) { m.beat(a, a, 0.5) }

// Beat adds what two matrices interfere by, as far as it is visible, from 0 to 1. What each brings is added by Add.
func (m *Mueller) Beat(a, b Matrix, visible float64) { m.beat(a, b, visible) }

func (m *Mueller) beat(a, b Matrix, factor float64) {
	b = b.Adjoint()
	for j := range 4 {
		c := a.Mul(stokes[j]).Mul(b)
		for i := range 4 {
			d := stokes[i].Mul(c)
			m[i][j] += factor * real(d[0][0]+d[1][1])
		}
	}
}
