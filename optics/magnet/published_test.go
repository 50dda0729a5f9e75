package magnet

import (
	"math"
	"testing"

	values "wedgework/optics/published"
	"wedgework/optics/quantity"
)

// room is the temperature of the published rows.
const room = Reference

// published is the ring of testdata/published/magnets.csv.
var published = Ring{Inner: 1.5e-3, Outer: 3e-3, Length: 4e-3, Remanence: 1.2, Coefficient: -0.001,
	Temperature: Reference}

func TestPublishedMagnets(t *testing.T) {
	for _, row := range values.Rows(t, "magnets.csv") {
		want, tolerance := values.Number(t, row[3]), values.Number(t, row[5])
		if row[6] == "rel" {
			tolerance *= math.Abs(want)
		}
		var got float64
		var err error
		switch row[0] {
		case "ring":
			got, err = published.OnAxis(quantity.Length(values.Number(t, row[2]))*quantity.Millimetre, room)
		case "example":
			// The coefficient that takes 13.82 kG at 20 degC to 11.69 kG at 150 degC, found by how far the printed one
			// gets.
			hot := Ring{Remanence: 1.382, Coefficient: want / 100, Temperature: quantity.Celsius(20)}
			got, err = hot.RemanenceAt(quantity.Celsius(150))
			got = want * (1.382 - 1.169) / (1.382 - got)
		case "remanence", "coefficient":
			var m Material
			m, err = Named(row[1])
			if got = m.Remanence; row[0] == "coefficient" {
				got = m.Coefficient * 100
			}
		default:
			t.Fatalf("unknown row %q", row)
		}
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s of %s at z = %q mm: got %.7f %s, want %.7f within %g (%s)", row[0], row[1], row[2], got,
				row[4], want,
				tolerance, row[7])
		}
	}
}
