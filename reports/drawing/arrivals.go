package drawing

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
)

// ofWhole writes a number of which a view may show only a part.
func ofWhole(part, whole float64, format func(float64) string, unit string) string {
	a, b := format(part), format(whole)
	if part > inView*whole || a == b {
		return b + unit
	}
	return a + " of " + b + unit
}

// inView is the share of a length that a view must show for the length to stand for itself (a choice).
const inView = 0.95

func hundredths(x float64) string { return fmt.Sprintf("%.2f", x) }

// tenths writes three digits at most, and none beyond a tenth.
func tenths(x float64) string {
	if x >= 99.95 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.1f", x)
}

// arrival is the place where rays arrive, and what is written beside it.
type arrival struct {
	y      vg.Length
	lines  []string
	off    float64   // from the axis, m
	reach  vg.Length // from the axis to the ray, when it is dimensioned
	offset string
}

// room is the height of what is written.
func (a arrival) room() vg.Length { return vg.Length(len(a.lines))*lineStep + 1 }

// gather puts paths that arrive together into one arrival, those that are lowest first.
func (v stretched) gather() []arrival {
	d := v.light.direction
	zero, _ := v.d.centre(d)
	base := v.middle + vg.Length(zero*v.scale)
	var all []arrival
	for _, t := range v.light.drawn {
		y := v.point(v.end(t, len(t.Points)-1)).Y
		part, off := math.Abs(v.along(t.Offset.X, t.Offset.Y)), math.Hypot(t.Offset.X, t.Offset.Y)
		text := fmt.Sprintf("%s  %s dB", t.Label, level(t.Sent))
		joined := false
		for i, a := range all {
			// As near as their dimension can tell.
			if a.offset != "" && t.Sent <= strong && math.Abs(float64(a.y-y)) < 1.5 && math.Abs(a.off-off) < 0.05e-6 {
				all[i].lines = append(all[i].lines, text)
				joined = true
			}
		}
		if joined {
			continue
		}
		a := arrival{y: y, lines: []string{text}, off: off}
		if t.Sent <= strong {
			a.offset = ofWhole(part*micrometres, off*micrometres, tenths, " µm")
			if a.reach = y - base; math.Abs(float64(a.reach)) < 5 {
				a.reach = 0
			}
		}
		all = append(all, a)
	}
	for i, a := range all {
		if a.offset != "" {
			all[i].lines = append(a.lines, a.offset)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].y < all[j].y })
	return all
}

// arrivals dimensions the offset of the rays at the lens face they arrive at, and names each path.
func (v stretched) arrivals() {
	d := v.light.direction
	x := v.z.at(v.d.lens(d))
	zero, _ := v.d.centre(d)
	base := v.middle + vg.Length(zero*v.scale)
	all := v.gather()
	var want, room []vg.Length
	for _, a := range all {
		want, room = append(want, a.y), append(room, a.room())
	}
	heights := spread(want, room, v.middle-v.below-overhang, v.middle+v.above+overhang)

	// Dimension lines stand side by side where they are on the same side of the axis.
	const first, lane = 12, 6
	lanes := v.lanes(all)
	side := left
	if d == stack.Backward {
		side = right
	}
	textAt := x + way(d)*(first+vg.Length(max(0, count(lanes)-1))*lane+9)
	if count(lanes) > 0 {
		last := x + way(d)*(first+vg.Length(count(lanes)-1)*lane+2)
		v.stroke(grey, hair, nil, at(x, base), at(last, base))
	}
	for i, a := range all {
		from := at(x, a.y)
		if lanes[i] >= 0 {
			on := x + way(d)*(first+vg.Length(lanes[i])*lane)
			v.dimension(at(on, base), at(on, a.y))
			from = at(on, a.y)
			v.stroke(grey, hair, nil, at(x, a.y), from)
		}
		v.stroke(grey, hair, nil, from, at(textAt-way(d)*2, heights[i]))
		top := heights[i] + vg.Length(len(a.lines)-1)*lineStep/2
		for k, text := range a.lines {
			v.write(text, at(textAt, top-vg.Length(k)*lineStep), side)
		}
	}
}

// lanes numbers the dimension lines, the shorter nearer the lens; -1 for an arrival that has none.
func (v stretched) lanes(all []arrival) []int {
	out := make([]int, len(all))
	for i, a := range all {
		out[i] = -1
		if a.reach == 0 {
			continue
		}
		out[i] = 0
		for j, b := range all {
			shorter := math.Abs(float64(b.reach)) < math.Abs(float64(a.reach)) || b.reach == a.reach && j < i
			if b.reach*a.reach > 0 && shorter {
				out[i]++
			}
		}
	}
	return out
}

func count(lanes []int) int {
	n := 0
	for _, l := range lanes {
		n = max(n, l+1)
	}
	return n
}

// level writes what is left after a loss, with a proper minus.
func level(loss float64) string {
	if loss < 0.05 {
		return "0.0"
	}
	return fmt.Sprintf("−%.1f", loss)
}
