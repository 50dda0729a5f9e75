package pdf

import (
	"encoding/binary"
	"math"
)

// srgbProfile returns a colour profile of sRGB, version 2 of the format (ICC.1:2001-04), a matrix and three
// tone curves, made from the figures of IEC 61966-2-1:1999: the chromaticities of primaries and white in
// its table 1 and the curve of its section 5.2. It stands in the output intent and says what the numbers
// of the page's colours mean.
func srgbProfile() []byte {
	type tag struct {
		name string
		data []byte
	}
	red, green, blue := srgbColumns()
	curve := srgbCurve()
	tags := []tag{
		{"desc", textDescription("sRGB IEC61966-2.1")},
		{"cprt", append([]byte("text\x00\x00\x00\x00"), "No copyright, use freely\x00"...)},
		{"wtpt", xyzTag(d50)},
		{"rXYZ", xyzTag(red)}, {"gXYZ", xyzTag(green)}, {"bXYZ", xyzTag(blue)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve},
	}
	var body []byte
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	start := 128 + 4 + 12*len(tags)
	offset := 0
	for i, t := range tags {
		if i < 7 { // the three curves share one
			for len(body)%4 != 0 {
				body = append(body, 0)
			}
			offset = start + len(body)
			body = append(body, t.data...)
		}
		table = append(table, t.name...)
		table = binary.BigEndian.AppendUint32(table, uint32(offset))
		table = binary.BigEndian.AppendUint32(table, uint32(len(t.data)))
	}
	for len(body)%4 != 0 {
		body = append(body, 0)
	}
	head := make([]byte, 128)
	binary.BigEndian.PutUint32(head, uint32(start+len(body)))
	binary.BigEndian.PutUint32(head[8:], 0x02400000) // version 2.4
	copy(head[12:], "mntrRGB XYZ ")
	// The date field is not optional. It bears the day of the standard, not of the file.
	for i, v := range []uint16{1999, 10, 18, 0, 0, 0} {
		binary.BigEndian.PutUint16(head[24+2*i:], v)
	}
	copy(head[36:], "acsp")
	for i, v := range d50 {
		binary.BigEndian.PutUint32(head[68+4*i:], fixed16(v))
	}
	return append(append(head, table...), body...)
}

// d50 is the white of the profile connection space (ICC.1:2001-04, section 6.3.4.3).
var d50 = [3]float64{0.9642, 1, 0.8249}

// srgbColumns returns the colours of the three primaries in the profile connection space: from the
// chromaticities of the standard, scaled to its white, and adapted from D65 to D50 by the linear Bradford
// transform (ICC.1:2001-04 annex E).
func srgbColumns() (red, green, blue [3]float64) {
	xyz := func(x, y float64) [3]float64 { return [3]float64{x / y, 1, (1 - x - y) / y} }
	primaries := transpose(matrix{xyz(0.64, 0.33), xyz(0.30, 0.60), xyz(0.15, 0.06)})
	white := xyz(0.3127, 0.3290)
	share := primaries.inverse().apply(white)

	bradford := matrix{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
	from, to := bradford.apply(white), bradford.apply(d50)
	back := bradford.inverse()
	var out [3][3]float64
	for k := range out {
		c := [3]float64{primaries[0][k] * share[k], primaries[1][k] * share[k], primaries[2][k] * share[k]}
		cone := bradford.apply(c)
		for i := range cone {
			cone[i] *= to[i] / from[i]
		}
		out[k] = back.apply(cone)
	}
	return out[0], out[1], out[2]
}

// srgbCurve is the tone curve as a table of 1024 points. Rounding to 16 bits leaves no room for the last
// bits in which processors differ.
func srgbCurve() []byte {
	const n = 1024
	b := []byte("curv\x00\x00\x00\x00")
	b = binary.BigEndian.AppendUint32(b, n)
	for i := range n {
		v := float64(i) / (n - 1)
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		b = binary.BigEndian.AppendUint16(b, uint16(math.Round(v*65535)))
	}
	return b
}

// textDescription is the textDescriptionType of version 2: ASCII, then empty Unicode and script forms.
func textDescription(s string) []byte {
	b := []byte("desc\x00\x00\x00\x00")
	b = binary.BigEndian.AppendUint32(b, uint32(len(s)+1))
	b = append(b, s...)
	b = append(b, 0)
	return append(b, make([]byte, 4+4+2+1+67)...)
}

func xyzTag(v [3]float64) []byte {
	b := []byte("XYZ \x00\x00\x00\x00")
	for _, x := range v {
		b = binary.BigEndian.AppendUint32(b, fixed16(x))
	}
	return b
}

// fixed16 is a signed number with 16 bits before and after the point.
func fixed16(v float64) uint32 { return uint32(int32(math.Round(v * 65536))) }

type matrix [3][3]float64

func (m matrix) apply(v [3]float64) (out [3]float64) {
	for i := range out {
		out[i] = m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]
	}
	return out
}

func transpose(m matrix) (out matrix) {
	for i := range m {
		for j := range m {
			out[i][j] = m[j][i]
		}
	}
	return out
}

// inverse is by cofactors; the matrices here are far from singular.
func (m matrix) inverse() (out matrix) {
	minor := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*minor(0, 0) + m[0][1]*minor(0, 1) + m[0][2]*minor(0, 2)
	for i := range out {
		for j := range out {
			out[i][j] = minor(j, i) / det
		}
	}
	return out
}
