package vocab

import (
	"fmt"
	"strings"
	"testing"

	"go.starlark.net/starlark"
)

// nonsense is a value that no word asks for.
type nonsense struct{ opaque }

func (nonsense) String() string { return "<nonsense>" }

func everyCallable() []*callable {
	var all []*callable
	for _, v := range Words() {
		if c, ok := v.(*callable); ok {
			all = append(all, c)
		}
	}
	return all
}

// TestEveryParameterRefusesNonsense: a wrong argument is refused by word and parameter, before the word
// runs.
func TestEveryParameterRefusesNonsense(t *testing.T) {
	bad := nonsense{opaque{"nonsense"}}
	for _, c := range everyCallable() {
		for _, p := range c.word.Params {
			if ok, _ := p.Kind.accept(bad); ok {
				continue // takes anything, and decides by itself
			}
			var args starlark.Tuple
			var named []starlark.Tuple
			want := p.Name + " must be " + p.Kind.Want + ", got a nonsense"
			switch p.Mode {
			case Many:
				args = starlark.Tuple{bad}
				want = p.Name + ", argument 1, must be " + p.Kind.Want
			case Others:
				named = []starlark.Tuple{{starlark.String("name_of_my_own"), bad}}
				want = "name_of_my_own must be " + p.Kind.Want
			default:
				named = []starlark.Tuple{{starlark.String(p.Name), bad}}
			}
			_, err := starlark.Call(&starlark.Thread{}, c, args, named)
			if err == nil || !strings.HasPrefix(err.Error(), c.Name()+": "+want) {
				t.Errorf("%s, %s: got %v, want %s", c.Name(), p.Name, err, want)
			}
		}
	}
}

// TestNoArgumentsPanic calls every word with every kind of value at every place. Nothing may panic; what
// the word makes of it is the business of its own tests.
func TestNoArgumentsPanic(t *testing.T) {
	x, err := runScript(newFakeHost(t), `x = sweep(1*nm, 2*nm, 1*nm)
[None, True, 0, -1, 2, 0.5, float("nan"), float("inf"), pow(10, 40), "", "YVO4", "nonsense", b"x", [], [1], (), (1*nm,
    2*nm), {}, {"a": 1},
 {1*nm: [1]}, set([1]), range(3), 0*nm, 1550*nm, -5*deg, 23*degC, -300*degC, 5*kelvin, 30*dB, 3*dBm, 1*percent,
    0.2/cm, nm, degC,
 x, x[0:0], 2*x, (2*x)[0:0], x/nm, sin, crystal("YVO4"), garnet("Bi:RIG"), gap(1*mm), coating(0.1), at_least(30*dB),
    at_most(1*dB),
 limits(isolation=at_least(30*dB), over=1550*nm), normal(1*deg), contribution(1*dB), budget(repeatability=1*dB),
 collimator(waist=200*um, working_distance=10*mm), measured("sweep", default="sweep.csv"),
    fibre(mode_field_diameter=10*um), lambda v: v]`)
	if err != nil {
		t.Fatal(err)
	}
	values, _ := elements(x)
	wavelength := of(1550, "nm")
	for _, c := range everyCallable() {
		for _, v := range values {
			call(t, c, starlark.Tuple{v})
			call(t, c, starlark.Tuple{v, v})
			call(t, c, starlark.Tuple{wavelength, v})
		}
	}
	for _, v := range values {
		for _, name := range []string{"+", "-", "*", "/", "//", "%"} {
			for _, w := range values {
				if _, err := runWith(newFakeHost(t), "v "+name+" w", starlark.StringDict{"v": v,
					"w": w}); internal(err) {
					t.Errorf("%s %s %s: %v", v, name, w, err)
				}
			}
		}
		if _, err := Show(v); err != nil {
			t.Errorf("%s is not shown: %v", v, err)
		}
		JSON(v)
	}
}

func call(t *testing.T, c *callable, args starlark.Tuple) {
	t.Helper()
	defer func() {
		if p := recover(); p != nil {
			t.Errorf("%s%s panics: %v", c.Name(), args, p)
		}
	}()
	thread := &starlark.Thread{}
	thread.SetLocal(HostKey, Host(newFakeHost(t)))
	v, err := starlark.Call(thread, c, args, nil)
	if err == nil && v == nil {
		t.Errorf("%s%s returns nothing", c.Name(), args)
	}
	if err != nil && !strings.HasPrefix(err.Error(), c.Name()+": ") {
		t.Errorf("%s%s fails without its name: %v", c.Name(), args, err)
	}
}

// internal reports whether a session took an error for a fault of the program.
func internal(err error) bool {
	return err != nil && strings.Contains(fmt.Sprint(err), "fault inside the program")
}
