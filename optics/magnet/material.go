package magnet

import (
	"encoding/json"
	"fmt"
	"strings"

	"wedgework/optics/quantity"
)

// Material is a magnet material: its remanence at 20 degC and how that changes with temperature.
type Material struct {
	Name        string  `json:"name"`                   // "Sm2Co17"
	Remanence   float64 `json:"remanence_tesla"`        // T at 20 degC, of a typical grade; a data sheet is better
	Coefficient float64 `json:"coefficient_per_kelvin"` // relative change of the remanence, 1/K
	// Greatest is the maximum operating temperature in °C of an ordinary grade, above which part of the remanence may
	// be lost for good; 0 where none is known.
	Greatest float64 `json:"maximum_celsius,omitempty"`
	Source   string  `json:"source"` // where all are from
}

// Data returns the material as JSON, as the data files of the optical materials are.
func (m Material) Data() []byte {
	data, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		panic(err) // two finite numbers and two texts
	}
	return append(data, '\n')
}

// Reference is the temperature that remanences are stated at, 20 degC in kelvin (IEC 60404-8-1 states them there,
// from memory).
const Reference quantity.Temperature = 293.15

// The remanences are those of the permanent magnet records of the Modelica Standard Library (Magnetic.FluxTubes,
// HardMagnetic), which give typical grades at 20 degC. Maximum temperatures are those that several suppliers' pages
// print for ordinary grades; grades of NdFeB reach 200 °C.
var materials = []Material{
	{"NdFeB", 1.2, -0.001, 80,
		"sintered NdFeB, Modelica Standard Library, HardMagnetic records; grades run from 1.0 to 1.45 T and -0.09 to " +
			"-0.12 %/K; maximum temperature: suppliers' pages, ordinary grade"},
	{"Sm2Co17", 1.02, -0.0003, 300,
		"sintered Sm2Co17, Modelica Standard Library, HardMagnetic records; maximum temperature: suppliers' pages"},
	{"SmCo5", 0.95, -0.0004, 250,
		"sintered SmCo5, Modelica Standard Library, HardMagnetic records; maximum temperature: suppliers' pages"},
	{"Fe", 2.15, 0, 0,
		"pole piece of iron, taken as magnetized to saturation along its axis: the most that it can add to a field. " +
			"Saturation polarization 2.15 T, from memory; its change with temperature is left out"},
}

// Named returns the built-in magnet material of that name, ignoring case; an unknown name is an error that lists the
// known.
func Named(name string) (Material, error) {
	for _, m := range materials {
		if strings.EqualFold(m.Name, name) {
			return m, nil
		}
	}
	return Material{}, fmt.Errorf("no magnet material is called %q: known are %s", name, strings.Join(Names(), ", "))
}

// Names lists the built-in magnet materials in alphabetical order.
func Names() []string {
	names := make([]string, len(materials))
	for i, m := range materials {
		names[i] = m.Name
	}
	return names
}
