package figure

import "math"

// vertex is a place in the data.
type vertex struct{ x, y float64 }

// edge names a side of a cell of a grid: from point i, j to the next one along x, or along y.
type edge struct {
	i, j  int
	along bool // x
}

// contour returns the lines along which a grid has a value, by straight pieces between points that are interpolated
// linearly on the sides of its cells ("marching squares"; W. E. Lorensen and H. E. Cline, Computer Graphics 21 (1987)
// 163,
// in two dimensions). In a saddle the mean of the four corners says what hangs together. A closed line ends where it
// begins. Cells with a gap have no line.
func (g Grid) contour(level float64) [][]vertex {
	next := map[edge][]edge{} // the sides that a side is joined to
	var order []edge
	join := func(a, b edge) {
		for _, e := range [2][2]edge{{a, b}, {b, a}} {
			if next[e[0]] == nil {
				order = append(order, e[0])
			}
			next[e[0]] = append(next[e[0]], e[1])
		}
	}
	for j := range len(g.Y) - 1 {
		for i := range len(g.X) - 1 {
			g.cell(i, j, level, join)
		}
	}
	var lines [][]vertex
	follow := func(e edge) {
		line := []vertex{g.crossing(e, level)}
		for len(next[e]) > 0 {
			to := next[e][0]
			next[e] = next[e][1:]
			back := next[to]
			for k := range back {
				if back[k] == e {
					next[to] = append(back[:k:k], back[k+1:]...)
					break
				}
			}
			e = to
			line = append(line, g.crossing(e, level))
		}
		if len(line) > 1 {
			lines = append(lines, line)
		}
	}
	for _, e := range order { // open lines from their ends first
		if len(next[e]) == 1 {
			follow(e)
		}
	}
	for _, e := range order {
		if len(next[e]) > 0 {
			follow(e)
		}
	}
	return lines
}

// cell joins the sides of one cell that the line crosses.
func (g Grid) cell(i, j int, level float64, join func(a, b edge)) {
	corner := [4]float64{g.Z[j][i], g.Z[j][i+1], g.Z[j+1][i+1], g.Z[j+1][i]}
	side := [4]edge{{i, j, true}, {i + 1, j, false}, {i, j + 1, true}, {i, j, false}}
	sum := 0.0
	var above [4]bool
	for k, z := range corner {
		if math.IsNaN(z) {
			return
		}
		sum += z
		above[k] = z >= level
	}
	var crossed []int // side k lies between corners k and k+1
	for k := range side {
		if above[k] != above[(k+1)%4] {
			crossed = append(crossed, k)
		}
	}
	switch {
	case len(crossed) == 2:
		join(side[crossed[0]], side[crossed[1]])
	case len(crossed) == 4 && (sum/4 >= level) == above[0]: // corners 1 and 3 are cut off
		join(side[0], side[1])
		join(side[2], side[3])
	case len(crossed) == 4:
		join(side[3], side[0])
		join(side[1], side[2])
	}
}

// crossing is where a side has the value.
func (g Grid) crossing(e edge, level float64) vertex {
	a, z := vertex{g.X[e.i], g.Y[e.j]}, g.Z[e.j][e.i]
	b, w := a, 0.0
	if e.along {
		b.x, w = g.X[e.i+1], g.Z[e.j][e.i+1]
	} else {
		b.y, w = g.Y[e.j+1], g.Z[e.j+1][e.i]
	}
	f := (level - z) / (w - z)
	return vertex{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)}
}
