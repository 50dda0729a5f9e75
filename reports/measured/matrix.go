package measured

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// matrixNoiseKey states the standard uncertainty of the real and of the imaginary part of each element of a Jones
// matrix, over the root mean square of the elements of one without loss.
const matrixNoiseKey = "matrix noise"

// matrices are the columns of Jones matrices, element by element: real and imaginary, or amplitude and phase.
type matrices struct {
	parts [4][2][]float64
	polar [4]bool
	noise float64 // standard uncertainty of each part, relative; 0 where nothing is known
}

// matricesOf puts the columns of elements together; nil where there are none.
func (r *reader) matricesOf() (*matrices, error) {
	m := &matrices{}
	var lacking []string
	some := false
	for k, e := range elements {
		re, im := r.Raw[jones(e, "real")], r.Raw[jones(e, "imaginary")]
		if re == nil && im == nil {
			re, im = r.Raw[jones(e, "amplitude")], r.Raw[jones(e, "phase")]
			m.polar[k] = true
		}
		some = some || re != nil || im != nil
		if re == nil || im == nil {
			lacking = append(lacking, "J"+e)
		}
		m.parts[k] = [2][]float64{re, im}
	}
	if !some {
		return nil, nil
	}
	if lacking != nil {
		return nil, r.refuse(r.row, 0, "no whole "+strings.Join(lacking, ", "),
			"all four elements of the Jones matrix, as J11 real and J11 imaginary, or J11 amplitude and J11 phase "+
				"[deg]")
	}
	for i := range r.Rows() {
		if a, ok := m.at(i); ok && a.Det() == 0 {
			return nil, r.refuse(r.Line[i], 0, "a Jones matrix without an inverse",
				"one that passes two states of polarization")
		}
	}
	return m, r.statedNoise(m)
}

// statedNoise reads the noise of the matrices from the metadata.
func (r *reader) statedNoise(m *matrices) error {
	i := r.metaOf(matrixNoiseKey)
	if i < 0 {
		return nil
	}
	v, err := parseNumber(r.Meta[i].Value)
	if err == nil && !(v > 0 && v < 1) {
		err = errors.New("out of range")
	}
	if err != nil {
		return r.refuseMeta(r.Meta[i], quote(r.Meta[i].Value), "a number between 0 and 1, as in 2e-4")
	}
	m.noise = v
	return nil
}

// roundedBy returns the noise that the last digit of the elements makes, uniform over it; that of the finest one, for a
// column of zeros may be written 0.
func (r *reader) roundedBy(m *matrices) float64 {
	digit, scale := 0.0, 0.0
	for _, e := range elements {
		for _, part := range []string{"real", "imaginary", "amplitude"} {
			if d := r.last[jones(e, part)]; d > 0 && (digit == 0 || d < digit) {
				digit = d
			}
		}
	}
	for i := range r.Rows() {
		if a, ok := m.at(i); ok {
			scale = max(scale, magnitude(a)/math.Sqrt2)
		}
	}
	if scale == 0 {
		return 0
	}
	return digit / math.Sqrt(12) / scale
}

// at returns the matrix of a row; false where the row lacks an element.
func (m *matrices) at(row int) (polar.Matrix, bool) {
	var a polar.Matrix
	for k := range elements {
		x, y := m.parts[k][0][row], m.parts[k][1][row]
		if x != x || y != y {
			return a, false
		}
		if m.polar[k] {
			a[k/2][k%2] = cmplx.Rect(x, y)
		} else {
			a[k/2][k%2] = complex(x, y)
		}
	}
	return a, true
}

// unit scales a matrix so that one without loss is unitary: polarimeters give matrices up to a factor, and their noise
// grows with it.
func unit(a polar.Matrix) polar.Matrix { return a.Scale(complex(math.Sqrt2/magnitude(a), 0)) }

// magnitude is the root of the sum of the squares of the elements.
func magnitude(a polar.Matrix) float64 {
	return math.Sqrt(square(a))
}

func square(a polar.Matrix) float64 {
	sum := 0.0
	for _, row := range a {
		for _, z := range row {
			sum += real(z)*real(z) + imag(z)*imag(z)
		}
	}
	return sum
}

func inverse(a polar.Matrix) polar.Matrix {
	return polar.Matrix{{a[1][1], -a[0][1]}, {-a[1][0], a[0][0]}}.Scale(1 / a.Det())
}

// step is what a part does to light from one frequency to the next: b a^-1, scaled to the determinant 1, whose sign is
// not known.
type step struct {
	t      polar.Matrix
	ia     polar.Matrix // a^-1
	before polar.Matrix // b a^-1 as it came
	root   complex128   // of its determinant
}

// stepOf takes two matrices that unit has scaled.
func stepOf(a, b polar.Matrix) step {
	s := step{ia: inverse(a)}
	s.before = b.Mul(s.ia)
	s.root = cmplx.Sqrt(s.before.Det())
	s.t = s.before.Scale(1 / s.root)
	return s
}

// moved returns by how much small changes of a and b move t: that of b a^-1 less what goes into its determinant.
func (s step) moved(da, db polar.Matrix) polar.Matrix {
	d := db.Mul(s.ia).Add(s.before.Mul(da).Mul(s.ia).Scale(-1)).Scale(1 / s.root)
	i := inverse(s.t).Mul(d)
	return d.Add(s.t.Scale(-(i[0][0] + i[1][1]) / 2))
}

// basis are the four matrices with one element that is 1.
var basis = [4]polar.Matrix{{{1, 0}, {0, 0}}, {{0, 1}, {0, 0}}, {{0, 0}, {1, 0}}, {{0, 0}, {0, 1}}}

// estimateNoise takes the noise of the matrices from their scatter, where the file does not state it: the second
// difference of three steps in a row, which is that of the noise of four matrices as long as the delay changes evenly.
// It is the root of the sum of squares over what noise of 1 would give.
func (m *matrices) estimateNoise(sweeps [][]int) {
	const most = 2000 // places of a sweep that are looked at
	sum, expected := 0.0, 0.0
	for _, rows := range sweeps {
		stride := max(1, len(rows)/most)
		for k := 0; k+3 < len(rows); k += stride {
			var a [4]polar.Matrix
			for i := range a {
				one, _ := m.at(rows[k+i])
				a[i] = unit(one)
			}
			d, e := secondDifference(a)
			sum, expected = sum+d, expected+e
		}
	}
	if expected > 0 {
		m.noise = math.Sqrt(sum / expected)
	}
}

// secondDifference returns the squared second difference of the steps between four matrices, and what it is in the mean
// for noise of 1 in the real and imaginary part of every element.
func secondDifference(a [4]polar.Matrix) (square2, expected float64) {
	var s [3]step
	for i := range s {
		s[i] = stepOf(a[i], a[i+1])
	}
	align(&s[1], s[0])
	align(&s[2], s[1])
	square2 = square(s[0].t.Add(s[1].t.Scale(-2)).Add(s[2].t))
	var none polar.Matrix
	for _, b := range basis {
		for i := range a {
			var by polar.Matrix
			for k, weight := range []complex128{1, -2, 1} {
				da, db := none, none
				if i == k {
					da = b
				} else if i == k+1 {
					db = b
				} else {
					continue
				}
				by = by.Add(s[k].moved(da, db).Scale(weight))
			}
			expected += 2 * square(by)
		}
	}
	return square2, expected
}

// align gives a step the sign of the one before.
func align(s *step, before step) {
	sum := 0.0
	for i := range s.t {
		for j := range s.t[i] {
			sum += real(s.t[i][j] * cmplx.Conj(before.t[i][j]))
		}
	}
	if sum < 0 {
		s.t, s.root = s.t.Scale(-1), -s.root
	}
}

// pdlOfMatrix returns the PDL of a matrix in dB, from its singular values s1 and s2, and its standard uncertainty for
// the noise of its elements: 20/ln(10) noise sqrt(1/s1^2 + 1/s2^2), which is that of a component of the diattenuation
// vector where they are alike.
func pdlOfMatrix(a polar.Matrix, noise float64) (pdl, u float64) {
	var h polar.Gram
	h.Add(unit(a))
	t1, t2 := h.Extremes()
	if t2 == 0 {
		return missing, missing
	}
	return quantity.Decibels(t1 / t2), 2 / relative * noise * math.Sqrt(1/t1+1/t2)
}

// sigma are Pauli's matrices, and component the one of a matrix along each.
var sigma = [3]polar.Matrix{{{1, 0}, {0, -1}}, {{0, 1}, {1, 0}}, {{0, -1i}, {1i, 0}}}

func component(m polar.Matrix, i int) complex128 {
	p := m.Mul(sigma[i])
	return (p[0][0] + p[1][1]) / 2
}

// turn returns the rotation vector of a step, of the length sin(phase/2) where the step has no loss.
func (s step) turn() (v [3]float64, length float64) {
	for i := range v {
		v[i] = imag(component(s.t, i))
		length += v[i] * v[i]
	}
	return v, math.Sqrt(length)
}

// rotation is the phase by the rotation vector alone. Near zero the eigenvalues mix it with what noise makes of loss,
// and no distribution of theirs is as simple.
func (s step) rotation() float64 {
	_, length := s.turn()
	return 2 * math.Atan2(length, math.Abs(real(s.t[0][0]+s.t[1][1]))/2)
}

// phaseNoise returns the standard uncertainty of the phase between the eigenvalues of a step for noise of 1. The phase
// is twice the length of the rotation vector of the step, v_i = -Im tr(sigma_i t)/2, whose covariance follows from that
// of the matrices; the direction counts as far as there is one.
func phaseNoise(s step, phase float64) float64 {
	v, length := s.turn()
	var cov [3][3]float64
	var none polar.Matrix
	for _, b := range basis {
		for _, d := range []polar.Matrix{s.moved(b, none), s.moved(none, b)} {
			var by [3]complex128
			for i := range by {
				by[i] = component(d, i)
			}
			for i := range by { // real and imaginary noise alike
				for j := range by {
					cov[i][j] += real(by[i] * cmplx.Conj(by[j]))
				}
			}
		}
	}
	m := modulusOf(v[:], cov, length)
	if cos := math.Abs(math.Cos(phase / 2)); length > 0 && cos > 0.1 { // |v| is sin(phase/2)
		m.Radial /= cos * cos
	}
	return 2 * math.Sqrt(min(m.Trace, max(m.Radial, m.Trace/6)))
}

// Sweeps sorts the rows of the table into sweeps: of one unit, lot, run and number of repeat, in order of wavelength.
func (t *Table) Sweeps() [][]int {
	var all [][]int
	for _, run := range t.Runs() {
		all = append(all, grouped(run.Rows, t.sweepOf)...)
	}
	return all
}

func (t *Table) sweepOf(row int) string {
	if t.Units == nil && t.Lots == nil && t.Repeat == nil {
		return ""
	}
	var parts []string
	for _, of := range [][]string{t.Units, t.Lots} {
		if of != nil {
			parts = append(parts, of[row])
		}
	}
	if t.Repeat != nil {
		parts = append(parts, fmt.Sprint(t.Repeat[row]))
	}
	return strings.Join(slices.Clip(parts), "\x00")
}
