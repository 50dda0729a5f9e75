package material

import (
	"fmt"

	"wedgework/optics/quantity"
)

// otherFit is a second published fit, kept to show how far it lies from the one in use.
type otherFit struct {
	Name string `json:"name"`
	Ray  string `json:"ray"` // "o", "e", or "iso"
	dispersion
	Source string `json:"source"`
}

func (f *otherFit) check() error {
	if f.Name == "" || f.Source == "" || (f.Ray != "o" && f.Ray != "e" && f.Ray != "iso") {
		return fmt.Errorf("a second fit needs name, source and a ray o, e or iso: %q, %q, %q", f.Name, f.Source, f.Ray)
	}
	return f.dispersion.check()
}

// Difference is how far another published fit lies from the one in use.
type Difference struct {
	Fit    string          // its short name
	Source string          // its citation
	Ray    string          // "o", "e", or "iso" of an isotropic medium
	At     quantity.Length // vacuum wavelength of the comparison, m
	Index  float64         // the other's index less the one in use, each at its own reference temperature
}

// differences compares the second fits with ours at l, or at the nearest wavelength where both hold.
func (m *medium) differences(l quantity.Length, used func(ray string) *dispersion) []Difference {
	var all []Difference
	for i := range m.others {
		other := &m.others[i]
		ours := used(other.Ray)
		span := overlap(ours.Range, other.Range)
		um := min(max(float64(l)/float64(quantity.Micrometre), span[0]), span[1])
		theirs, _ := other.at(um)
		n, _ := ours.at(um)
		all = append(all, Difference{other.Name, other.Source, other.Ray, quantity.Length(um) * quantity.Micrometre,
			theirs - n})
	}
	return all
}

// compared is where a card compares fits, in the middle of the trade.
const compared = 1550 * quantity.Nanometre
