package tolerance_test

import (
	"context"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
)

// TestNothingIsTakenAtZeroKelvin: what holds at a temperature or a wavelength is refused without it, wherever a caller
// in Go may leave it out. A film without one was taken at 0 K, 296 K from where its angle holds.
func TestNothingIsTakenAtZeroKelvin(t *testing.T) {
	s := isolator()
	spec := s.Spec()
	film := spec.Elements[2].(element.Rotator)
	run := func(f tolerance.Figure, turn *tolerance.Turning) error {
		_, err := tolerance.Study{
			Stack: s, Figures: []tolerance.Figure{f}, Turn: turn, Trials: 1,
			Tolerances: map[string]tolerance.Tolerance{
				"rotator1.angle": {Shape: tolerance.Uniform, Value: quantity.Of(0.1, "deg")},
			},
		}.Run(context.Background())
		return err
	}
	crystal := material.CrystalSpec{
		Name: "lot 7", O: 1.945, E: 2.149, At: 1550e-9, Lo: 1500e-9, Hi: 1600e-9, Temperature: 296,
	}
	glass := material.GlassSpec{Name: "lot 8", N: 1.5, At: 1550e-9, Lo: 1500e-9, Hi: 1600e-9, Temperature: 296}
	garnet := material.GarnetSpec{
		Name: "lot 9", Index: 2.3, Rotation: 1700, Extinction: 1e4, At: 1550e-9, Temperature: 296,
	}
	for _, c := range []struct {
		name string
		made func(without bool) error
	}{
		{"rotator's temperature", func(without bool) error {
			r := film
			if without {
				r.Temperature = 0
			}
			return r.Check()
		}},
		{"rotator's wavelength", func(without bool) error {
			r := film
			if without {
				r.At = 0
			}
			return r.Check()
		}},
		{"alignment's temperature", func(without bool) error {
			c := spec
			if without {
				c.AlignTemperature = 0
			}
			_, err := stack.New(c)
			return err
		}},
		{"alignment's wavelength", func(without bool) error {
			c := spec
			if without {
				c.AlignAt = 0
			}
			_, err := stack.New(c)
			return err
		}},
		{"figure's temperature", func(without bool) error {
			f := at1550
			if without {
				f.Temperatures = make([]quantity.Temperature, 1)
			}
			return run(f, nil)
		}},
		{"turn's temperature", func(without bool) error {
			turn := tolerance.Turning{Part: "wedge2", Peak: stack.PeakIsolation, At: 1550e-9, Temperature: 296}
			if without {
				turn.Temperature = 0
			}
			return run(at1550, &turn)
		}},
		{"crystal's temperature", func(without bool) error {
			c := crystal
			if without {
				c.Temperature = 0
			}
			_, err := material.NewCrystal(c)
			return err
		}},
		{"crystal's wavelength", func(without bool) error {
			c := crystal
			if without {
				c.At = 0
			}
			_, err := material.NewCrystal(c)
			return err
		}},
		{"glass's temperature", func(without bool) error {
			c := glass
			if without {
				c.Temperature = 0
			}
			_, err := material.NewGlass(c)
			return err
		}},
		{"glass's wavelength", func(without bool) error {
			c := glass
			if without {
				c.At = 0
			}
			_, err := material.NewGlass(c)
			return err
		}},
		{"garnet's temperature", func(without bool) error {
			c := garnet
			if without {
				c.Temperature = 0
			}
			_, err := material.NewGarnet(c)
			return err
		}},
	} {
		if err := c.made(false); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := c.made(true); err == nil || !strings.Contains(err.Error(), " 0 ") {
			t.Errorf("without the %s: %v", c.name, err)
		}
	}
}
