package drawing

import (
	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
)

// axis maps z to the sheet. Long ways through air are cut short, at the same scale on either side of the cut.
type axis struct {
	pieces []piece
	scale  float64 // points per metre
}

// piece is a stretch of z that is drawn, from x on the sheet.
type piece struct {
	from, to float64
	x        vg.Length
}

// A way through air longer than this many lengths of the stack is cut; so much of it stays next to the stack and next
// to the lens. The cut is so wide.
const (
	airKept            = 1.8
	airStack           = 1.2
	airLens            = 0.3
	cutWide  vg.Length = 12
)

func (d *Drawing) axis(from, to vg.Length) axis {
	lo, hi := d.span()
	in, out := d.out.Launching, d.out.Receiving
	in, out = min(in, lo), max(out, hi) // a magnet may reach past the lens faces
	// A thin sheet by itself still gets a tenth of the way between the lenses.
	length := max(hi-lo, 0.1*(out-in))
	var a axis
	begin := in
	if lo-in > airKept*length {
		a.pieces = append(a.pieces, piece{from: in, to: in + airLens*length})
		begin = lo - airStack*length
	}
	if out-hi > airKept*length {
		a.pieces = append(a.pieces, piece{from: begin, to: hi + airStack*length}, piece{from: out - airLens*length,
			to: out})
	} else {
		a.pieces = append(a.pieces, piece{from: begin, to: out})
	}
	total := 0.0
	for _, p := range a.pieces {
		total += p.to - p.from
	}
	a.scale = float64(to-from-cutWide*vg.Length(len(a.pieces)-1)) / total
	x := from
	for i, p := range a.pieces {
		a.pieces[i].x = x
		x += vg.Length((p.to-p.from)*a.scale) + cutWide
	}
	return a
}

// at returns where z lies on the sheet.
func (a axis) at(z float64) vg.Length {
	p := a.pieces[0]
	for _, q := range a.pieces[1:] {
		if z >= q.from {
			p = q
		}
	}
	if z > p.to && p != a.pieces[len(a.pieces)-1] { // inside a cut
		z = p.to
	}
	return p.x + vg.Length((z-p.from)*a.scale)
}

// end is a point of a side view: z and the transverse coordinate, in metres.
type end struct{ z, x float64 }

// visible returns the stretches of a straight line that are drawn. The line runs along z, either way.
func (a axis) visible(p, q end) [][2]end {
	var out [][2]end
	between := func(z float64) end {
		if p.z == q.z {
			return end{z, p.x}
		}
		return end{z, p.x + (q.x-p.x)*(z-p.z)/(q.z-p.z)}
	}
	for _, piece := range a.pieces {
		lo, hi := max(min(p.z, q.z), piece.from), min(max(p.z, q.z), piece.to)
		if lo >= hi {
			continue
		}
		first, last := between(lo), between(hi)
		if q.z < p.z {
			first, last = last, first
		}
		out = append(out, [2]end{first, last})
	}
	if q.z < p.z {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// cuts returns the middles of the cuts on the sheet.
func (a axis) cuts() []vg.Length {
	var out []vg.Length
	for _, p := range a.pieces[1:] {
		out = append(out, p.x-cutWide/2)
	}
	return out
}

// way returns +1 on the sheet for light that travels to the right.
func way(d stack.Direction) vg.Length { return vg.Length(d) }
