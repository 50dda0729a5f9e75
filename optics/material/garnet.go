package material

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Garnet is an iron-garnet film: a saturated Faraday rotator. The slopes are those of a 45 deg film, as
// data sheets quote them; they describe the film as built, expansion included, and scale with its
// thickness. They are slopes of |rotation|: a negative one means less rotation.
type Garnet struct {
	Name   string
	Source string

	Index      float64 // phase index, also taken as the group index: no dispersion is known
	Rotation   float64 // specific rotation at At and Temperature, rad/m; its sign is that of the rotation along a field along +z
	PerKelvin  float64 // rad/K of a 45 deg film
	PerMetre   float64 // rad per metre of wavelength of a 45 deg film
	Extinction float64 // power ratio Pmax/Pmin of light that was linear before it; +Inf for a perfect film
	Absorption float64 // power absorption coefficient, 1/m
	Saturation float64 // flux density that saturates it, T; 0 when not stated

	At          quantity.Length      // where Rotation holds
	Temperature quantity.Temperature // where Rotation holds
	data        []byte
}

// quoted is the rotation of the film that data sheets quote slopes for.
const quoted = math.Pi / 4

// Turn returns the rotation, in rad, of a film whose rotation is angle at wavelength at and temperature
// ref, when it is used at l and t.
func (g *Garnet) Turn(angle quantity.Angle, at, l quantity.Length, ref, t quantity.Temperature) float64 {
	slope := g.PerMetre*float64(l-at) + g.PerKelvin*float64(t-ref)
	return float64(angle) * (1 + slope/quoted)
}

// Thickness returns the thickness of the film that rotates by angle at wavelength at and temperature
// ref, from the specific rotation.
func (g *Garnet) Thickness(angle quantity.Angle, at quantity.Length, ref quantity.Temperature) (quantity.Length, error) {
	specific := math.Abs(g.Turn(quantity.Angle(g.Rotation), g.At, at, g.Temperature, ref))
	if !(specific > 0) {
		return 0, fmt.Errorf("garnet %q: its specific rotation is %g rad/m, so no thickness gives %.4g deg",
			g.Name, g.Rotation, float64(angle/quantity.Degree))
	}
	return quantity.Length(math.Abs(float64(angle)) / specific), nil
}

// Crossed returns the fraction of the power that leaves the film turned a further 90 deg, incoherently:
// q = 1/(1 + extinction ratio).
func (g *Garnet) Crossed() float64 { return 1 / (1 + g.Extinction) }

// Check reports values that no film has.
func (g *Garnet) Check() error {
	switch {
	case !(g.Index >= 1 && g.Index < 10):
		return fmt.Errorf("garnet %q: index %g must lie between 1 and 10", g.Name, g.Index)
	case !(g.Extinction > 1):
		return fmt.Errorf("garnet %q: extinction ratio %.4g dB must be positive", g.Name, quantity.Decibels(g.Extinction))
	case !(g.Absorption >= 0):
		return fmt.Errorf("garnet %q: absorption %g 1/m must not be negative", g.Name, g.Absorption)
	case !(g.Saturation >= 0):
		return fmt.Errorf("garnet %q: saturation %g T must not be negative", g.Name, g.Saturation)
	}
	return nil
}

// garnetFile is the layout of an embedded garnet.
type garnetFile struct {
	Name         string  `json:"name"`
	Kind         string  `json:"kind"`
	Index        float64 `json:"index"`
	Rotation     float64 `json:"rotation_deg_per_cm"`
	AtNM         float64 `json:"at_nm"`
	Celsius      float64 `json:"at_celsius"`
	PerKelvin    float64 `json:"deg_per_kelvin_of_45_deg"`
	PerNM        float64 `json:"deg_per_nm_of_45_deg"`
	ExtinctionDB float64 `json:"extinction_dB"`
	LossDB       float64 `json:"loss_dB_of_45_deg"`
	SaturationMT float64 `json:"saturation_mT"`
	Source       string  `json:"source"`
}

func readGarnet(data []byte) (Garnet, error) {
	var f garnetFile
	if err := strict(data, &f); err != nil {
		return Garnet{}, err
	}
	const deg = math.Pi / 180
	g := Garnet{
		Name: f.Name, Source: f.Source, Index: f.Index,
		Rotation: f.Rotation * deg * 100, PerKelvin: f.PerKelvin * deg, PerMetre: f.PerNM * deg * 1e9,
		Extinction: quantity.Ratio(f.ExtinctionDB), Saturation: f.SaturationMT / 1e3,
		At: quantity.Length(f.AtNM) * quantity.Nanometre, Temperature: quantity.Celsius(f.Celsius), data: data,
	}
	film, err := g.Thickness(quoted, g.At, g.Temperature)
	if err != nil {
		return Garnet{}, err
	}
	g.Absorption = -math.Log(quantity.Ratio(-f.LossDB)) / float64(film)
	return g, g.Check()
}

// NamedGarnet returns the built-in garnet of that name, ignoring case.
func NamedGarnet(name string) (Garnet, error) { return lookup("garnet", name, builtin().garnets) }

// GarnetNames lists the built-in garnets in alphabetical order.
func GarnetNames() []string { return names(builtin().garnets) }

// Data returns the embedded file the constants come from, or nil for a garnet of the user's.
func (g *Garnet) Data() []byte { return g.data }

// Describe returns name and value rows for a card.
func (g *Garnet) Describe() [][2]string {
	const deg = math.Pi / 180
	rows := [][2]string{
		{"index", fmt.Sprintf("%.4g", g.Index)},
		{"specific rotation", fmt.Sprintf("%.4g deg/cm at %.6g nm, %.4g °C", g.Rotation/deg/100, float64(g.At)/1e-9, g.Temperature.Celsius())},
		{"slopes of a 45 deg film", fmt.Sprintf("%.3g deg/K, %.3g deg/nm", g.PerKelvin/deg, g.PerMetre/deg/1e9)},
		{"extinction ratio", fmt.Sprintf("%.4g dB", quantity.Decibels(g.Extinction))},
		{"absorption", fmt.Sprintf("%.3g /cm", g.Absorption/100)},
	}
	if g.Saturation > 0 {
		rows = append(rows, [2]string{"saturating flux density", fmt.Sprintf("%.4g mT", g.Saturation*1e3)})
	} else {
		rows = append(rows, [2]string{"saturating flux density", "not stated: taken as saturated"})
	}
	return append(rows, [2]string{"source", g.Source})
}
