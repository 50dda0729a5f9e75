package tolerance

import (
	"math"
	"slices"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// benchCase is a stack that trials are timed for: the design of testdata/numpy_trials.py and what is added to it.
type benchCase struct {
	name                    string
	apex                    float64 // deg
	reflectance, extinction float64 // extinction in dB; 0 for none
	stages                  int
	held                    bool
	band                    int // wavelengths from 1535 to 1565 nm; 1 for 1550 nm
}

var benchCases = []benchCase{
	{"one stage, held", 13, 0, 0, 1, true, 1},
	{"one stage, realigned", 13, 0, 0, 1, false, 1},
	{"one stage, film of 40 dB", 13, 0, 40, 1, false, 1},
	{"coated", 13, 1e-3, 0, 1, false, 1},
	{"coated, film of 40 dB", 13, 1e-3, 40, 1, false, 1},
	{"two stages", 13, 0, 0, 2, false, 1},
	{"two coated stages, film of 40 dB", 13, 1e-3, 40, 2, false, 1},
	{"band of 31 wavelengths", 13, 0, 0, 1, false, 31},
}

// study returns a study of n units of a case, isolation and insertion loss, with tolerances on every axis, apex and
// film.
func (c benchCase) study(tb testing.TB, n int) Study {
	tb.Helper()
	crystal, err := material.Named("YVO4")
	if err != nil {
		tb.Fatal(err)
	}
	film, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		tb.Fatal(err)
	}
	film.Extinction, film.Absorption = math.Inf(1), 0
	if c.extinction > 0 {
		film.Extinction = quantity.Ratio(c.extinction)
	}
	coat := element.Coating{Reflectance: c.reflectance}
	wedge := func(side element.Side, axis float64) element.Wedge {
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: quantity.Angle(c.apex) * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre, Axis: quantity.Angle(axis) * quantity.Degree, Coating: coat}
	}
	gap := element.Gap{Length: 0.1 * quantity.Millimetre}
	core := []element.Element{wedge(element.Front, 22.5), gap,
		element.Rotator{Garnet: film, Angle: 45 * quantity.Degree, At: at, Temperature: room, Coating: coat},
		gap, wedge(element.Back, 67.5)}
	parts := slices.Clone(core)
	if c.stages == 2 {
		parts = append(parts, element.Gap{Length: 0.3 * quantity.Millimetre})
		for _, e := range core {
			parts = append(parts, e.Rolled(-45*quantity.Degree))
		}
	}
	s, err := stack.New(stack.Spec{Elements: parts, AlignAt: at, AlignTemperature: room,
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 8 * quantity.Millimetre}})
	if err != nil {
		tb.Fatal(err)
	}
	study := Study{Stack: s, Held: c.held, Trials: n, Seed: 1, Tolerances: map[string]Tolerance{}}
	for _, p := range s.Parameters() {
		switch path := p.Path[len(p.Path)-5:]; {
		case path == ".axis":
			study.Tolerances[p.Path] = Tolerance{Shape: Normal, Value: deg(0.3)}
		case path == ".apex":
			study.Tolerances[p.Path] = Tolerance{Shape: Normal, Value: deg(0.05)}
		case p.Path == "rotator1.angle" || p.Path == "rotator2.angle":
			study.Tolerances[p.Path] = Tolerance{Shape: Normal, Value: deg(0.4)}
		}
	}
	ls := []quantity.Length{at}
	if c.band > 1 {
		ls = nil
		for k := range c.band {
			ls = append(ls, (1535+30*quantity.Length(k)/quantity.Length(c.band-1))*quantity.Nanometre)
		}
	}
	for _, q := range []string{Isolation, InsertionLoss} {
		study.Figures = append(study.Figures, Figure{q, ls, []quantity.Temperature{room}})
	}
	return study
}

// Studies of 100,000 units, in units a second of the clock.
func BenchmarkStudy(b *testing.B) {
	for _, c := range benchCases {
		b.Run(c.name, func(b *testing.B) {
			const n = 100000
			study := c.study(b, n)
			for b.Loop() {
				if _, err := study.Run(b.Context()); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)*n/b.Elapsed().Seconds(), "units/s")
		})
	}
}
