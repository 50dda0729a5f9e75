package material

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// medium is what crystals and glasses have in common: where the constants come from, what to say about them,
// and whether they may be used outside the range of their fits.
type medium struct {
	name         string
	dispersionBy string
	reference    quantity.Temperature // of the dispersion fits
	roomNote     string               // how the reference temperature is known, when it is not stated
	caution      string               // why the constants deserve no trust, empty where they do
	notModelled  string               // what the crystal does and this program leaves out
	others       []otherFit
	extrapolates bool
	data         []byte // the embedded file, nil for a material of the user's
}

// Name returns the name the material was asked for by.
func (m *medium) Name() string { return m.name }

// Source returns the citation of the dispersion fit.
func (m *medium) Source() string { return m.dispersionBy }

// Data returns the embedded JSON file that the constants come from, nil for a material made from a Spec.
func (m *medium) Data() []byte { return m.data }

// Extrapolates reports whether the material may be used outside the range of its fit.
func (m *medium) Extrapolates() bool { return m.extrapolates }

// rangeOf returns the vacuum wavelengths between which all fits hold.
func rangeOf(fits ...*dispersion) (lo, hi quantity.Length) {
	span := fits[0].Range
	for _, d := range fits[1:] {
		span = overlap(span, d.Range)
	}
	return quantity.Length(span[0]) * quantity.Micrometre, quantity.Length(span[1]) * quantity.Micrometre
}

func overlap(a, b [2]float64) [2]float64 { return [2]float64{max(a[0], b[0]), min(a[1], b[1])} }

// beyond returns how far a wavelength lies outside the range, and the end that it passed. A millionth of the
// range is forgiven, so that its ends are inside however they are written.
func beyond(l quantity.Length, fits ...*dispersion) (by, end quantity.Length) {
	lo, hi := rangeOf(fits...)
	slack := (hi - lo) * 1e-6
	switch {
	case l < lo-slack:
		return lo - l, lo
	case l > hi+slack:
		return l - hi, hi
	}
	return 0, 0
}

// indices evaluates the fits at a vacuum wavelength: index and slope over micrometres of each. Outside their
// range it returns a *RangeError, or, where extrapolation is allowed, what the fits give, unless that is no
// index: past a resonance of a fit, or below one.
func (m *medium) indices(l quantity.Length, fits ...*dispersion) (n, slope [2]float64, err error) {
	by, end := beyond(l, fits...)
	lo, hi := rangeOf(fits...)
	if by > 0 && !m.extrapolates || !(l > 0) {
		return n, slope, &RangeError{Material: m.name, Wavelength: l, Lo: lo, Hi: hi}
	}
	um := float64(l) / float64(quantity.Micrometre)
	for i, d := range fits {
		n[i], slope[i] = d.at(um)
		if by > 0 && (!(n[i] >= 1 && n[i] < 10) || d.resonates(um, float64(end)/float64(quantity.Micrometre))) {
			return n, slope, fmt.Errorf("%s: its dispersion fit, made for %.6g to %.6g nm, gives no index at %.6g "+
				"nm: a resonance lies between",
				m.name, float64(lo)/1e-9, float64(hi)/1e-9, float64(l)/1e-9)
		}
	}
	return n, slope, nil
}

// warning says by how much a wavelength is outside the range; empty where it is not, or where the material
// refuses it.
func (m *medium) warning(l quantity.Length, fits ...*dispersion) string {
	by, end := beyond(l, fits...)
	if by == 0 || !m.extrapolates {
		return ""
	}
	lo, hi := rangeOf(fits...)
	side := "above"
	if end == lo {
		side = "below"
	}
	return fmt.Sprintf("%s: %.6g nm is %.4g nm (%.2g %%) %s the range of its dispersion fit, %.6g to %.6g nm; the "+
		"index is extrapolated",
		m.name, float64(l)/1e-9, float64(by)/1e-9, 100*float64(by/end), side, float64(lo)/1e-9, float64(hi)/1e-9)
}

// warm reports a temperature that is none: the zero value of one that was never set.
func (m *medium) warm(t quantity.Temperature) error {
	if t > 0 {
		return nil
	}
	return fmt.Errorf("%s: a temperature must be above 0 kelvin, got %g kelvin", m.name, float64(t))
}

// heatless reports a temperature that needs a thermo-optic coefficient nobody has published. parameters are
// the words' arguments that would give it.
func (m *medium) heatless(t quantity.Temperature, parameters string) error {
	if math.Abs(float64(t-m.reference)) <= roomSpan {
		return nil
	}
	return fmt.Errorf("%s at %.4g degC: no published thermo-optic coefficient is known, so its indices hold only "+
		"within %d K of %.4g degC: give %s",
		m.name, t.Celsius(), roomSpan, m.reference.Celsius(), parameters)
}

// origin returns the rows of a card that say where the dispersion comes from and how far it can be trusted.
func (m *medium) origin(fits ...*dispersion) [][2]string {
	lo, hi := rangeOf(fits...)
	span := fmt.Sprintf("%.4g to %.4g nm", float64(lo)/1e-9, float64(hi)/1e-9)
	if m.extrapolates {
		span += "; extrapolated outside it, as asked"
	}
	return [][2]string{
		{"dispersion", m.dispersionBy},
		{"wavelength range", span},
		{"fit holds at", fmt.Sprintf("%.4g °C%s", m.reference.Celsius(), m.roomNote)},
	}
}

// remarks returns the rows that say what else is published, what is doubtful and what is left out.
func (m *medium) remarks(differences []Difference) [][2]string {
	var rows [][2]string
	for _, fit := range differences {
		at := slices.IndexFunc(rows, func(r [2]string) bool { return strings.HasPrefix(r[1], fit.Fit+": ") })
		off := fmt.Sprintf("%+.5f", fit.Index)
		if strings.Trim(off, "+-0.") == "" {
			off = "the same to 1e-5"
		}
		text := fmt.Sprintf("n%s %s at %.4g nm", strings.TrimPrefix(fit.Ray, "iso"), off, float64(fit.At)/1e-9)
		if at >= 0 {
			rows[at][1] += ", " + text
			continue
		}
		rows = append(rows, [2]string{"another fit", fit.Fit + ": " + text})
	}
	if m.caution != "" {
		rows = append(rows, [2]string{"caution", m.caution})
	}
	if m.notModelled != "" {
		rows = append(rows, [2]string{"not modelled", m.notModelled})
	}
	return rows
}
