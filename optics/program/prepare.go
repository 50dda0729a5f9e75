package program

import "math"

// Point is a place where stacks are evaluated: one temperature and wavelength, and where the receivers stand there.
type Point struct {
	Scene *Scene
	Light *Light
	Pose  *Pose
}

// Prepare tells a program which paths of the nominal stack count and where their own rays run. The points are those
// that At evaluates later, each filled with the nominal stack; first is where Align or Hold starts, Pose as the nominal
// stack has it there. filmed: in some stack a film turns light further.
func (p *Program) Prepare(first Point, points []Point, filmed bool, asked Asked) {
	p.filmed, p.timed, p.backward = filmed, asked.DGD, asked.Backward
	p.live, p.dropped, p.main, p.weight, p.base, p.widest = p.all(), nil, nil, nil, nil, 0
	m := p.Machine()
	counts := make([]bool, len(p.live))
	for _, at := range append([]Point{first}, points...) {
		m.chiefs(at.Scene, at.Light)
		for n, a := range m.paths {
			x, y := a.ptx[0]-at.Pose.TiltX[0], a.pty[0]-at.Pose.TiltY[0]
			counts[n] = counts[n] || bound(exponent(at.Light, x*x+y*y)) > reach
		}
	}
	var live [][]bool
	for n, kinds := range p.live {
		if counts[n] {
			live = append(live, kinds)
		} else {
			p.dropped = append(p.dropped, kinds)
		}
	}
	p.live = live
	m = p.Machine()
	m.chiefs(first.Scene, first.Light)
	m.rays(first.Pose)
	for n, a := range m.paths {
		p.main = append(p.main, m.distance(a, first.Light, first.Pose, 0) < nearby)
		m.own(a, &m.gx[n], &m.gy[n])
		p.follow(a, first.Scene, first.Light, &a.bx, &a.by, true)
		p.polarize(a, first.Scene, first.Light)
		p.weight = append(p.weight, a.weight[0])
	}
	for _, at := range points {
		b := base{}
		for n, a := range m.paths {
			m.own(a, &m.gx[n], &m.gy[n])
			p.follow(a, at.Scene, at.Light, &a.bx, &a.by, true)
			for range retraces {
				for i := range Width {
					a.bx[i] += (at.Pose.TiltX[i] - a.kx[i] - a.bx[i]) / 2
					a.by[i] += (at.Pose.TiltY[i] - a.ky[i] - a.by[i]) / 2
				}
				p.follow(a, at.Scene, at.Light, &a.bx, &a.by, true)
			}
			b.x, b.y = append(b.x, a.bx[0]-m.gx[n][0]), append(b.y, a.by[0]-m.gy[n][0])
			if n == 0 {
				b.origin = a.phase[0]
			}
			p.meet(a, at.Scene, at.Light, at.Pose, b.origin)
			a.whole(at.Light.Wavelength)
			b.ways = append(b.ways, a.way[0]-m.paths[0].way[0])
		}
		p.base = append(p.base, b)
	}
}

// nearby is Q from the receiver below which a path of the nominal stack counts in alignment.
const nearby = 4

// distance is Q of stack i: the negative logarithm of the overlap, in power, that a path would have with a receiver if
// it arrived with the receiver's own beam but for where its chief ray does.
func (m *Machine) distance(a *path, l *Light, at *Pose, i int) float64 {
	w := 2 * math.Pi / l.Wavelength * l.Waist
	tx, ty := a.ptx[i]-at.TiltX[i], a.pty[i]-at.TiltY[i]
	x, y := a.px[i]-at.X[i]-tx*l.Ahead, a.py[i]-at.Y[i]-ty*l.Ahead
	return (x*x+y*y)/(l.Waist*l.Waist) + (tx*tx+ty*ty)*w*w/4
}
