package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Glass is an isotropic medium as a cell holds it.
type Glass struct {
	opaque
	glass *material.Glass
}

func (g *Glass) String() string { return fmt.Sprintf("<glass %s>", g.glass.Name()) }

// Attr returns a field or a method.
func (g *Glass) Attr(name string) (starlark.Value, error) { return glassType.attr(g, name) }

// AttrNames lists them.
func (g *Glass) AttrNames() []string { return glassType.names(g) }

var glassType = newType("glass", glassMethods, materialAttrs(func(g *Glass) sourced { return g.glass })...)

func (g *Glass) blocks() []document.Block {
	rows := []document.Field{{Name: "name", Value: g.glass.Name()}}
	rows = append(append(rows, indexRows(g.glass)...), rowsOf(g.glass.Describe())...)
	return append([]document.Block{fields("Glass", rows...)}, byLeave(g.glass)...)
}

// indexRows state the index on a card, where the fit holds.
func indexRows(g *material.Glass) []document.Field {
	l := cardWithin(g.Range())
	n, err := g.At(quantity.Length(l.SI()), quantity.Temperature(room.SI()))
	if err != nil {
		return nil // no dn/dT is known, as the card says
	}
	return []document.Field{
		{Name: fmt.Sprintf("n at %s, %s", l, room), Value: fmt.Sprintf("%.5f", n.N)},
		{Name: "group n", Value: fmt.Sprintf("%.5f", n.Group)},
	}
}

// isotropicMethod is a method that computes the index of a medium, or its group index.
func isotropicMethod[T starlark.Value](name, summary, example string, of func(T) *material.Glass,
	pick func(material.Index) float64) method[T] {
	return method[T]{Word{
		Name:    name,
		Summary: summary,
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a plain number, a series over a sweep, or a grid over two",
		Errors: "the wavelength is outside the range of the fit, or the temperature is not the reference temperature " +
			"and no dn/dT is known",
		Example: example + "." + name + "(1550*nm)",
		Source:  "the dispersion fit that .source names",
	}, func(v T, thread *starlark.Thread, a Args) (starlark.Value, error) {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		if err := usedAt(thread, of(v), at); err != nil {
			return nil, err
		}
		return at.each(name, quantity.Unit{}, func(t, l int) (float64, error) {
			n, err := of(v).At(at.wavelengths[l], at.temperatures[t])
			return pick(n), err
		})
	}}
}

func phaseIndex(n material.Index) float64 { return n.N }
func groupIndex(n material.Index) float64 { return n.Group }

var glassMethods = newMethods("glass",
	isotropicMethod("n", "index of refraction", `glass("fused silica")`,
		func(g *Glass) *material.Glass { return g.glass }, phaseIndex),
	isotropicMethod("group_n", "group index", `glass("fused silica")`,
		func(g *Glass) *material.Glass { return g.glass }, groupIndex),
)

// Paramagnet is a paramagnetic Faraday material as a cell holds it.
type Paramagnet struct {
	opaque
	medium *material.Paramagnet
}

func (p *Paramagnet) String() string { return fmt.Sprintf("<paramagnet %s>", p.medium.Name()) }

// Attr returns a field or a method.
func (p *Paramagnet) Attr(name string) (starlark.Value, error) { return paramagnetType.attr(p, name) }

// AttrNames lists them.
func (p *Paramagnet) AttrNames() []string { return paramagnetType.names(p) }

var paramagnetType = newType("paramagnet",
	paramagnetMethods, materialAttrs(func(p *Paramagnet) sourced { return p.medium })...)

func (p *Paramagnet) blocks() []document.Block {
	rows := []document.Field{{Name: "name", Value: p.medium.Name()}}
	rows = append(append(rows, indexRows(&p.medium.Glass)...), rowsOf(p.medium.Describe())...)
	return append([]document.Block{fields("Paramagnet", rows...)}, byLeave(p.medium)...)
}

// radPerTeslaMetre is the unit of a Verdet constant.
var radPerTeslaMetre = func() quantity.Unit {
	tm, err := quantity.Mul(quantity.Of(1, "tesla"), quantity.Of(1, "metre"))
	if err != nil {
		panic(err)
	}
	q, err := quantity.Div(quantity.Of(1, "rad"), tm)
	if err != nil {
		panic(err)
	}
	return q.Unit
}()

var paramagnetMethods = newMethods("paramagnet",
	isotropicMethod("n", "index of refraction", `paramagnet("TGG")`,
		func(p *Paramagnet) *material.Glass { return &p.medium.Glass }, phaseIndex),
	method[*Paramagnet]{Word{
		Name: "verdet",
		Summary: "Verdet constant: rotation per flux density and length; positive if a field along +z rotates the " +
			"polarization from +x towards +y",
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a rotation per flux density and length, a series over a sweep, or a grid over two",
		Errors:  "the wavelength is outside the range of the fit of the index, or at a resonance",
		Example: `paramagnet("TGG").verdet(1064*nm)`,
		Source:  "the Verdet law that the card names",
	}, func(p *Paramagnet, thread *starlark.Thread, a Args) (starlark.Value, error) {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		if err := usedAt(thread, p.medium, at); err != nil {
			return nil, err
		}
		return at.each("Verdet constant", radPerTeslaMetre, func(t, l int) (float64, error) {
			return p.medium.Verdet(at.wavelengths[l], at.temperatures[t])
		})
	}},
)

// Magnet is a ring magnet as a cell holds it; its position is relative to the part it drives.
type Magnet struct {
	opaque
	ring magnet.Ring
}

var magnetKind = instance[*Magnet]("a magnet such as magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, " +
	"remanence=-1.0*tesla)")

func (m *Magnet) String() string {
	return fmt.Sprintf("<magnet, remanence %s>", quantity.FromSI(m.ring.Remanence, quantity.MustNamed("tesla")))
}

// Attr returns a field or a method.
func (m *Magnet) Attr(name string) (starlark.Value, error) { return magnetType.attr(m, name) }

// AttrNames lists them.
func (m *Magnet) AttrNames() []string { return magnetType.names(m) }

var magnetType = newType("magnet", magnetMethods)

func (m *Magnet) blocks() []document.Block {
	mm := func(l quantity.Length) quantity.Quantity {
		return quantity.FromSI(float64(l), quantity.MustNamed("mm"))
	}
	rows := []document.Field{
		row("inner radius", mm(m.ring.Inner)), row("outer radius", mm(m.ring.Outer)), row("length", mm(m.ring.Length)),
		row("remanence", quantity.FromSI(m.ring.Remanence, quantity.MustNamed("tesla"))),
		row("position of its centre, from the centre of the rotator", mm(m.ring.Position)),
	}
	if m.ring.Greatest != 0 {
		rows = append(rows, document.Field{Name: "maximum operating temperature",
			Value: inCelsius(m.ring.Greatest).String()})
	}
	if b, err := m.ring.OnAxis(0, quantity.Temperature(room.SI())); err == nil {
		rows = append(rows, row("flux density at the centre of the rotator",
			quantity.FromSI(b, quantity.MustNamed("mT"))))
	}
	return []document.Block{fields("Ring magnet", rows...)}
}

var magnetMethods = newMethods("magnet",
	method[*Magnet]{Word{
		Name:    "field",
		Summary: "axial flux density at a point",
		Params: []Param{
			{Name: "z", Kind: lengthKind, Default: of(0, "mm"),
				Doc: "distance from the centre of the rotator, along +z"},
			{Name: "temperature", Kind: temperatureKind, Default: room, Doc: "the temperature"},
			{Name: "off_axis", Kind: lengthKind.notNegative(), Mode: Keyword, Default: of(0, "mm"),
				Doc: "distance from the axis"},
		},
		Returns: "the axial component of the flux density; positive: along +z",
		Errors:  "the point is on an edge of the magnet, or no remanence is left at this temperature",
		Example: "magnet(inner=1.5*mm, outer=3*mm, length=4*mm, remanence=1.2*tesla).field(1*mm, off_axis=0.3*mm)",
		Source: "axially magnetized ring: closed form on the axis; complete elliptic integrals off it, N. Derby and " +
			"S. Olbert, Am. J. Phys. 78, 229 (2010)",
	}, func(m *Magnet, thread *starlark.Thread, a Args) (starlark.Value, error) {
		if err := farFromRoom(thread, a.Temperature("temperature")); err != nil {
			return nil, err
		}
		_, b, err := m.ring.Polar(a.Length("off_axis"), a.Length("z"), a.Temperature("temperature"))
		if err != nil {
			return nil, err
		}
		return Quantity{quantity.FromSI(b, quantity.MustNamed("mT"))}, nil
	}},
)
