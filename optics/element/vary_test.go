package element

import (
	"reflect"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// What a Variable lays out is what With and Place do, to the bit, for every number that it takes; one that it does not
// take is refused.
func TestVaryIsWith(t *testing.T) {
	crystal, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	glass, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	film, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	const l, hot = 1550 * quantity.Nanometre, quantity.Temperature(340)
	coat := Coating{Reflectance: 0.001}
	rotator := Rotator{Garnet: film, Angle: 45 * quantity.Degree, At: l, Temperature: 296, Coating: coat}
	driven := rotator
	driven.Magnets = magnet.Assembly{{}}
	for _, e := range []Element{
		Wedge{Crystal: crystal, Slanted: Front, Apex: 0.1, Thickness: 5e-4, Axis: 0.4, Rise: 0.2, Azimuth: 1,
			Coating: coat},
		Wedge{Crystal: crystal, Slanted: Back, Apex: 0.1, Thickness: 5e-4, Axis: 0.4, Coating: coat},
		Plate{As: "displacer", Crystal: crystal, Thickness: 1e-3, Axis: 0.3, Cut: 0.8, Tilt: 0.1, Azimuth: 2,
			Coating: coat},
		Plate{As: "plate", Glass: glass, Thickness: 1e-3, Tilt: 0.1, Coating: coat},
		Gap{Length: 1e-3, Expansion: 2e-5},
		rotator,
	} {
		for _, p := range e.Parameters() {
			v, ok := Vary(e, []string{p.Path})
			if !ok {
				t.Errorf("%s of %s cannot be varied", p.Path, e.Kind())
				continue
			}
			value := quantity.FromSI(p.Value.SI()*1.01, p.Value.Unit)
			want, err := e.With(p.Path, value)
			if err != nil {
				t.Fatal(err)
			}
			part := e.Place(hot) // the room of another
			v.Set(0, value.SI())
			v.Lay(hot, &part)
			placed := want.Place(hot)
			if err := want.Tune(l, hot, placed.Media); err != nil {
				t.Fatal(err)
			}
			if err := v.Tune(l, hot, part.Media); err != nil {
				t.Fatal(err)
			}
			if len(part.Media) == 0 && len(placed.Media) == 0 {
				part, placed = Part{Length: part.Length}, Part{Length: placed.Length}
			}
			if !reflect.DeepEqual(part, placed) {
				t.Errorf("%s of %s: laid out as\n%+v, want\n%+v", p.Path, e.Kind(), part, placed)
			}
		}
	}
	if _, ok := Vary(driven, []string{"remanence"}); ok {
		t.Error("a magnet's remanence was taken, which the element keeps elsewhere")
	}
}
