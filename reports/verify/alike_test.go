package verify_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// sound is a planted unit without a gross error, whose d + e is given.
func sound(k int, d float64) planted {
	p := plant(5*k + 1)
	p.gross, p.d, p.e, p.floor = "", d, 0, 65
	return p
}

func departureOf(t *testing.T, r *verify.Result, paths ...string) verify.Departure {
	t.Helper()
	k := slices.IndexFunc(r.Diagnosis.Departures, func(d verify.Departure) bool { return slices.Contains(paths, d.Path) })
	if k < 0 {
		t.Fatalf("%v is not among the departures: %s", paths, r.Diagnosis.Sentence)
	}
	return r.Diagnosis.Departures[k]
}

// TestFloorStatedTooLow: a floor of 50 dB stated as 62 dB looks like less extinction. The interval of the extinction
// ratio holds the true one all the same, and the diagnosis says why it is so wide.
func TestFloorStatedTooLow(t *testing.T) {
	for k := range 4 {
		p := sound(k, 0.1)
		p.extinction, p.floor = 36+2*float64(k), 50
		s := p.spec(t, 2)
		s.Budget.Floor = &uncertainty.Floor{Level: quantity.Of(62, "dB"), Uncertainty: quantity.Of(0.2, "dB")}
		r := run(t, s)
		d := departureOf(t, r, "rotator1.extinction")
		if p.extinction < d.Low || !d.AtLeast && p.extinction > d.High {
			t.Errorf("extinction %.1f dB is not in %.2f to %.2f dB (at least: %t)", p.extinction, d.Low, d.High, d.AtLeast)
		}
		if notes := strings.Join(r.Notes, " "); !d.FloorOpen ||
			!strings.Contains(notes, "A floor higher than stated and less extinction give the same readings") {
			t.Errorf("extinction %.1f dB: nothing says that a floor looks like it: %s", p.extinction, notes)
		}
		if d.Significant && !strings.Contains(r.Diagnosis.Sentence, "fixture floor") {
			t.Errorf("extinction %.1f dB: the sentence does not mention the floor: %s", p.extinction, r.Diagnosis.Sentence)
		}
	}
}

// TestScalesLookLikeAnAngle: a wavelength scale that reads 3 nm high looks like a rotation that is off by 3 nm times
// its coefficient of -0.07 deg/nm at the film's angle, and a chamber that is 3 K off like 3 K times -0.06 deg/K.
func TestScalesLookLikeAnAngle(t *testing.T) {
	for _, c := range []struct {
		nm, kelvin float64
		path       string
	}{{3, 0, "wavelength scale"}, {-3, 0, "wavelength scale"}, {0, 3, "temperature scale"}} {
		p := sound(1, 0)
		p.extinction = 42
		s := p.spec(t, 2)
		for i := range s.Readings.Rows {
			s.Readings.Rows[i].Wavelength += quantity.Length(c.nm) * quantity.Nanometre
			s.Readings.Rows[i].Temperature += quantity.Temperature(c.kelvin)
		}
		for _, path := range []string{"rotator1.angle", "wedge2.axis"} {
			tolerance := s.Tolerances[path]
			tolerance.Value = quantity.Of(0.05, "deg")
			s.Tolerances[path] = tolerance
		}
		r := run(t, s)
		d := departureOf(t, r, "rotator1.angle", "wedge2.axis") // one stands for both
		k := slices.IndexFunc(d.Alike, func(a verify.Alike) bool { return a.Path == c.path })
		if k < 0 {
			t.Errorf("%+v: the scale is not among what looks like %.3f deg: %+v", c, d.Departure, d.Alike)
			continue
		}
		// what is true less what is stated; within what the run's own errors of 0.02 nm and 0.5 K move
		want, within := -c.nm, 0.5
		if c.kelvin != 0 {
			want, within = -c.kelvin, 0.6
		}
		if got := d.Alike[k].Departure.Value; math.Abs(got-want) > within {
			t.Errorf("%+v: the %s is off by %.2f, want %.2f", c, c.path, got, want)
		}
		if !strings.Contains(r.Diagnosis.Sentence, "a "+c.path+" that reads off by") {
			t.Errorf("%+v: the sentence does not name the scale: %s", c, r.Diagnosis.Sentence)
		}
	}
}

// TestSwappedTemperatures: sweeps whose temperatures were exchanged, and a film whose temperature coefficient is not
// that of the drawing, are named.
func TestSwappedTemperatures(t *testing.T) {
	p := sound(2, 0.1)
	s := p.spec(t, 2)
	for i := range s.Readings.Rows {
		r := &s.Readings.Rows[i]
		switch math.Round(r.Temperature.Celsius()) {
		case -5:
			r.Temperature = quantity.Celsius(70)
		case 70:
			r.Temperature = quantity.Celsius(-5)
		}
	}
	named := func(what string, s verify.Spec) {
		t.Helper()
		r := run(t, s)
		if !strings.Contains(strings.Join(r.Diagnosis.Gross, "; "), what) {
			t.Errorf("%q is not named: %s", what, r.Diagnosis.Sentence)
		}
	}
	named("the temperatures -5 °C and 70 °C are swapped", s)

	s = p.spec(t, 2)
	const coefficient = "rotator1.per_kelvin"
	for _, parameter := range s.Model.Parameters() {
		if parameter.Path == coefficient {
			half := parameter.Value
			half.Value /= 2 // the unit's is -0.06 deg/K
			var err error
			if s.Model, err = s.Model.Adjusted(map[string]quantity.Quantity{coefficient: half}); err != nil {
				t.Fatal(err)
			}
		}
	}
	named("the temperature coefficient of the rotation of rotator1 is not as specified", s)
}
