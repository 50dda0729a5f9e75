package stack

import (
	"fmt"
	"slices"

	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// band is conditions at one temperature of which only a few are traced.
type band struct {
	scene  int
	nodes  []int // conditions behind the caller's
	points []int // the caller's
	of     *program.Band
}

const (
	// mostNodes is how many wavelengths of a band are traced at most. A band has at least moreThan wavelengths beyond
	// those: fewer are traced themselves.
	mostNodes = 8
	moreThan  = 2
	// sure is the doubt about a band, of the nominal stack and of the displaced one, up to which its nodes are enough.
	sure = 0.1
)

// settle prepares the program with as few nodes in each band as are enough for the nominal stack and the displaced one,
// or with no bands.
func (u *Units) settle(displaced []float64, asked program.Asked) error {
	caller := len(u.conditions)
	for n := program.FewestNodes; n <= mostNodes; n++ {
		u.part(caller, n)
		if err := u.prepare(asked); err != nil || len(u.bands) == 0 {
			return err
		}
		b, err := u.Batch()
		if err != nil {
			return err
		}
		for k := range displaced {
			b.Values[k][0], b.Values[k][1] = u.values[k], displaced[k]
		}
		b.Run(2, func(int, *program.Passed) bool { return true })
		if b.machine.Doubt[0] < sure && b.machine.Doubt[1] < sure {
			return nil
		}
	}
	u.part(caller, caller)
	return u.prepare(asked)
}

// part parts the caller's conditions into bands of n nodes and single ones.
func (u *Units) part(caller, n int) {
	u.conditions, u.single, u.bands = u.conditions[:caller], nil, nil
	u.untuned = make([]bool, caller)
	for scene, t := range u.scenes {
		var points []int
		var ls []float64
		for k := u.own; k < caller; k++ {
			if c := u.conditions[k]; c.Temperature == t {
				points, ls = append(points, k), append(ls, float64(c.Wavelength))
			}
		}
		if len(points) < n+moreThan {
			u.single = append(u.single, points...)
			continue
		}
		b := band{scene: scene, points: points}
		for _, l := range program.Nodes(slices.Min(ls), slices.Max(ls), n) {
			b.nodes = append(b.nodes, len(u.conditions))
			u.conditions = append(u.conditions, Condition{quantity.Length(l), t})
			u.untuned = append(u.untuned, false)
		}
		for _, k := range points {
			u.untuned[k] = k > 0 // the first is where alignment is, or where what is held starts from
		}
		u.bands = append(u.bands, b)
	}
	u.scene = u.scene[:0]
	for _, c := range u.conditions {
		u.scene = append(u.scene, slices.Index(u.scenes, c.Temperature))
	}
}

// prepare tells the program about the nominal stack.
func (u *Units) prepare(asked program.Asked) error {
	b, err := u.batch()
	if err != nil {
		return err
	}
	b.fill(0)
	if slices.Contains(b.left[:], true) {
		return fmt.Errorf("two of its faces are parallel and not flat")
	}
	points := make([]program.Point, len(u.conditions))
	for k := range points {
		points[k] = program.Point{Scene: b.scenes[u.scene[k]], Light: b.lights[k], Pose: &program.Pose{}}
		u.nominal(k, points[k].Pose)
	}
	filmed := false
	for _, l := range b.lights {
		for _, f := range l.Films {
			filmed = filmed || f.Crossed[0] > 0
		}
	}
	for _, p := range u.parameters {
		filmed = filmed || p.element >= 0 && u.elements[p.element].names[p.name] == "extinction"
	}
	u.program.Prepare(points[0], points, filmed, asked)
	for k := range u.bands {
		b := &u.bands[k]
		b.of = u.program.Band(b.nodes, b.points, func(k int) float64 { return float64(u.conditions[k].Wavelength) })
	}
	return nil
}
