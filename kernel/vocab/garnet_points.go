package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// orPoints accepts, beside a value, what a data sheet states of it at several points: pairs (x, value), or the rows of a
// table with columns of these names.
func orPoints(value, x Kind, xName, yName, example string) Kind {
	k := value
	k.Want = fmt.Sprintf("%s, or a list of points such as %s, or rows with the columns %s and %s", value.Want, example,
		xName, yName)
	k.accept = func(v starlark.Value) (bool, string) {
		if !isList(v) {
			return value.accept(v)
		}
		if n := starlark.Len(v); n > mostItems {
			return false, fmt.Sprintf("got %d values, more than the limit of %d", n, mostItems)
		}
		items, _ := elements(v)
		for i, item := range items {
			at, y, ok := statedAt(item, xName, yName)
			if !ok {
				return false, fmt.Sprintf("and item %d is %s", i+1, describe(item))
			}
			if problem := x.problem(at); problem != "" {
				return false, fmt.Sprintf("and %s of item %d %s", xName, i+1, problem)
			}
			if problem := value.problem(y); problem != "" {
				return false, fmt.Sprintf("and %s of item %d %s", yName, i+1, problem)
			}
		}
		return true, ""
	}
	return k
}

// statedAt reads a pair, or a row of a table.
func statedAt(v starlark.Value, xName, yName string) (x, y starlark.Value, ok bool) {
	if d, isDict := v.(*starlark.Dict); isDict {
		x, okX, _ := d.Get(starlark.String(xName))
		y, okY, _ := d.Get(starlark.String(yName))
		return x, y, okX && okY
	}
	pair, ok := two(v)
	if !ok {
		return nil, nil, false
	}
	return pair[0], pair[1], true
}

// points reads an argument of the kind orPoints; false for a value by itself.
func (a Args) points(name, xName, yName string) (all [][2]float64, are bool) {
	if !a.Has(name) {
		return nil, false
	}
	items, are := elements(a.Get(name))
	for _, item := range items {
		x, y, _ := statedAt(item, xName, yName)
		qx, _ := toQuantity(x)
		qy, _ := toQuantity(y)
		all = append(all, [2]float64{qx.SI(), qy.SI()})
	}
	return all, are
}

// spectrum sets the rotation of a garnet at several wavelengths, where a call gives them.
func spectrum(a Args, g *material.Garnet) error {
	all, are := a.points("rotation", "wavelength", "rotation")
	if !are {
		return nil
	}
	if err := a.noneOf("is for a single rotation=: points have their wavelengths", "at"); err != nil {
		return err
	}
	c, err := material.NewCurve(all)
	if err != nil {
		return fmt.Errorf("rotation=: %w", err)
	}
	lo, hi := c.Range()
	g.Spectrum, g.At, g.Others = c, quantity.Length(cardAt.SI()), 0
	if !c.Holds(float64(g.At)) {
		g.At = quantity.Length((lo + hi) / 2)
	}
	g.Rotation = c.At(float64(g.At))
	if !a.Has("per_nm") {
		g.PerMetre = 0 // the points have it
	}
	return nil
}

// latch sets what keeps a garnet magnetized, where a call gives it.
func latch(a Args, g *material.Garnet) error {
	if !a.Has("coercivity") {
		return a.noneOf("is for a latching garnet: give coercivity= as well", "remanence")
	}
	g.Latch = &material.Latch{Remanence: 1}
	if a.Has("remanence") {
		g.Latch.Remanence = a.SI("remanence")
	}
	all, are := a.points("coercivity", "temperature", "coercivity")
	if !are {
		g.Latch.Constant = a.SI("coercivity")
		return nil
	}
	c, err := material.NewCurve(all)
	if err != nil {
		return fmt.Errorf("coercivity=: %w", err)
	}
	g.Latch.Coercivity = c
	return nil
}

var (
	rotationKind = orPoints(anglePerLength, wavelengthKind, "wavelength", "rotation",
		"[(1310*nm, 1800*deg/cm), (1550*nm, 1150*deg/cm)]")
	coercivityKind = orPoints(amount("flux density", "mT", "60*mT", quantity.OfFluxDensity).positive(), temperatureKind,
		"temperature", "coercivity", "[(-40*degC, 90*mT), (85*degC, 30*mT)]")
)

var garnetMethods = newMethods("garnet",
	method[*Garnet]{Word{
		Name:    "specific_rotation",
		Summary: "rotation per length of the saturated film",
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a rotation per length, a series over a sweep, or a grid over two",
		Errors:  "the wavelength is outside the points of rotation=",
		Example: `garnet("Bi:RIG").specific_rotation(1550*nm)`,
		Source: "its value and coefficients, or a monotone cubic through the points of rotation= (F. N. Fritsch and J. " +
			"Butland, SIAM J. Sci. Stat. Comput. 5, 300, 1984)",
	}, func(g *Garnet, thread *starlark.Thread, a Args) (starlark.Value, error) {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		if err := usedAt(thread, material.Film{Garnet: g.garnet}, at); err != nil {
			return nil, err
		}
		m := &g.garnet
		return at.each("specific rotation", per("deg", "cm"), func(t, l int) (float64, error) {
			if err := m.Covers(at.wavelengths[l]); err != nil {
				return 0, err
			}
			return m.Turn(quantity.Angle(m.Rotation), m.At, at.wavelengths[l], m.Temperature, at.temperatures[t]),
				m.Above(at.temperatures[t])
		})
	}},
	method[*Garnet]{Word{
		Name:    "coercivity",
		Summary: "external flux density that reverses a latching film",
		Params:  []Param{temperatureParam},
		Returns: "a flux density, or a series over a temperature grid",
		Errors:  "the garnet does not latch, or the temperature is outside the points of coercivity=",
		Example: `garnet("Bi:RIG", coercivity=[(-40*degC, 90*mT), (23*degC, 60*mT), (85*degC, 30*mT)]).coercivity(70*degC)`,
		Source:  "a monotone cubic through the points of coercivity=",
	}, func(g *Garnet, _ *starlark.Thread, a Args) (starlark.Value, error) {
		return a.overTemperature("coercivity", millitesla, g.garnet.Coercivity)
	}},
)
