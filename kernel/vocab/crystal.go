package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Crystal is a uniaxial crystal as a cell holds it.
type Crystal struct {
	opaque
	*material.Crystal
}

var crystalKind = instance[*Crystal](`a crystal such as crystal("YVO4")`)

func (c *Crystal) String() string { return fmt.Sprintf("<crystal %s>", c.Name()) }

// Attr returns a field or a method.
func (c *Crystal) Attr(name string) (starlark.Value, error) { return crystalType.attr(c, name) }

// AttrNames lists them.
func (c *Crystal) AttrNames() []string { return crystalType.names(c) }

var crystalType = newType("crystal", crystalMethods, materialAttrs(func(c *Crystal) sourced { return c })...)

// sourced is a material that names the source of its constants.
type sourced interface {
	Name() string
	Source() string
}

// materialAttrs are the fields of every material.
func materialAttrs[T starlark.Value](of func(T) sourced) []attr[T] {
	return []attr[T]{
		textAttr("name", "the name of the material", func(v T) string { return of(v).Name() }),
		textAttr("source", "source of its constants", func(v T) string { return of(v).Source() }),
	}
}

// cardAt is the vacuum wavelength at which the card of a material states its indices, where its fit holds there.
var cardAt = of(1550, "nm")

// cardWithin returns cardAt, or the middle of a range that does not hold it.
func cardWithin(lo, hi quantity.Length) Quantity {
	if l := quantity.Length(cardAt.SI()); l >= lo && l <= hi {
		return cardAt
	}
	return inNanometres((lo + hi) / 2)
}

func (c *Crystal) blocks() []document.Block {
	rows := []document.Field{{Name: "name", Value: c.Name()}}
	l := cardWithin(c.Range())
	if x, err := c.At(quantity.Length(l.SI()), quantity.Temperature(room.SI())); err == nil {
		rows = append(rows,
			document.Field{Name: fmt.Sprintf("no, ne at %s, %s", l, room), Value: fmt.Sprintf("%.5f, %.5f", x.O, x.E)},
			document.Field{Name: "group no, ne", Value: fmt.Sprintf("%.5f, %.5f", x.GroupO, x.GroupE)},
			document.Field{Name: "birefringence", Value: fmt.Sprintf("%+.5f", x.E-x.O)},
		)
	}
	return append([]document.Block{fields("Crystal", append(rows, rowsOf(c.Describe())...)...)}, byLeave(c)...)
}

// byLeave is the caution on the card of a material that may be used outside its fit.
func byLeave(m interface {
	Extrapolates() bool
	Range() (lo, hi quantity.Length)
	Name() string
}) []document.Block {
	if !m.Extrapolates() {
		return nil
	}
	lo, hi := m.Range()
	return cautions([]string{fmt.Sprintf("%s may be used outside the range of its dispersion fit, %s to %s "+
		"(extrapolate=True): its index is then extrapolated",
		m.Name(), inNanometres(lo), inNanometres(hi))})
}

// indexMethod is a method that computes one number from the indices at the given conditions.
func indexMethod(name, summary string, f func(material.Indices) float64) method[*Crystal] {
	return method[*Crystal]{Word{
		Name:    name,
		Summary: summary,
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a plain number, a series over a sweep, or a grid over two",
		Errors: "the wavelength is outside the range of the fit, or the temperature is not the reference temperature " +
			"and no dn/dT is known",
		Example: fmt.Sprintf("crystal(\"YVO4\").%s(1550*nm)", name),
		Source:  "the dispersion fit that .source names; group indices from its analytic derivative",
	}, func(c *Crystal, thread *starlark.Thread, a Args) (starlark.Value, error) {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		if err := usedAt(thread, c.Crystal, at); err != nil {
			return nil, err
		}
		return at.each(name, quantity.Unit{}, func(t, l int) (float64, error) {
			x, err := c.At(at.wavelengths[l], at.temperatures[t])
			return f(x), err
		})
	}}
}

var crystalMethods = newMethods("crystal",
	indexMethod("no", "ordinary index of refraction", func(x material.Indices) float64 { return x.O }),
	indexMethod("ne", "extraordinary index of refraction", func(x material.Indices) float64 { return x.E }),
	indexMethod("birefringence", "ne - no, positive for a positive crystal",
		func(x material.Indices) float64 { return x.E - x.O }),
	indexMethod("group_no", "ordinary group index", func(x material.Indices) float64 { return x.GroupO }),
	indexMethod("group_ne", "extraordinary group index", func(x material.Indices) float64 { return x.GroupE }),
	method[*Crystal]{Word{
		Name:    "walkoff",
		Summary: "angle between the extraordinary ray and its wave normal",
		Params: []Param{
			{Name: "angle", Kind: angleKind, Doc: "angle of the wave normal to the optic axis"},
			wavelengthParam, temperatureParam,
		},
		Returns: "an angle, a series over a sweep, or a grid over two",
		Errors: "the wavelength is outside the range of the fit, or the temperature is not the reference temperature " +
			"and no dn/dT is known",
		Example: `crystal("YVO4").walkoff(45*deg, 1550*nm)`,
		Source:  "uniaxial crystal optics: tan(rho) = |ne^2 - no^2| tan(angle) / (ne^2 + no^2 tan^2(angle))",
	}, func(c *Crystal, thread *starlark.Thread, a Args) (starlark.Value, error) {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		if err := usedAt(thread, c.Crystal, at); err != nil {
			return nil, err
		}
		return at.each("walk-off", degree, func(t, l int) (float64, error) {
			x, err := c.At(at.wavelengths[l], at.temperatures[t])
			return float64(x.WalkOff(a.Angle("angle"))), err
		})
	}},
)
