package material

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// dispersion is a published fit of an index against vacuum wavelength, in micrometres because that is
// what the publications use.
type dispersion struct {
	Form         string     `json:"form"` // "laurent", "sellmeier_c", "sellmeier_c2", "line" or "const"
	Coefficients []float64  `json:"coefficients"`
	Range        [2]float64 `json:"range_um"`
}

// at returns n and dn/dL at L micrometres, the derivative from the form itself: of n^2 = f(L^2), dn/dL = L f'/n.
//
//	line          n = A + B L
//	laurent       n^2 = A + B/(L^2 - C) - D L^2
//	sellmeier_c   n^2 = 1 + c0 + sum B L^2/(L^2 - C)
//	sellmeier_c2  n^2 = 1 + c0 + sum B L^2/(L^2 - C^2)
func (d *dispersion) at(um float64) (n, slope float64) {
	c, l2 := d.Coefficients, um*um
	var n2, d2 float64 // n^2 and its derivative with respect to L^2
	switch d.Form {
	case "const":
		return c[0], 0
	case "line":
		return c[0] + c[1]*um, c[1]
	case "laurent":
		r := 1 / (l2 - c[2])
		n2 = c[0] + c[1]*r - c[3]*l2
		d2 = -c[1]*r*r - c[3]
	case "sellmeier_c", "sellmeier_c2":
		n2 = 1 + c[0]
		for i := 1; i+1 < len(c); i += 2 {
			pole := c[i+1]
			if d.Form == "sellmeier_c2" {
				pole *= pole
			}
			r := 1 / (l2 - pole)
			n2 += c[i] * l2 * r
			d2 -= c[i] * pole * r * r
		}
	}
	n = math.Sqrt(n2)
	return n, d2 * um / n
}

// resonates reports whether a pole of the form lies between two wavelengths, in micrometres: what the form
// gives beyond it is no index of the material, however it looks.
func (d *dispersion) resonates(a, b float64) bool {
	c := d.Coefficients
	between := func(pole float64) bool { return pole > 0 && pole >= min(a*a, b*b) && pole <= max(a*a, b*b) }
	switch d.Form {
	case "laurent":
		return between(c[2])
	case "sellmeier_c", "sellmeier_c2":
		for i := 2; i < len(c); i += 2 {
			pole := c[i]
			if d.Form == "sellmeier_c2" {
				pole *= pole
			}
			if between(pole) {
				return true
			}
		}
	}
	return false
}

func (d *dispersion) check() error {
	c := d.Coefficients
	ok := map[string]bool{
		"const":        len(c) == 1,
		"line":         len(c) == 2,
		"laurent":      len(c) == 4,
		"sellmeier_c":  len(c) >= 3 && len(c)%2 == 1,
		"sellmeier_c2": len(c) >= 3 && len(c)%2 == 1,
	}
	switch fits, known := ok[d.Form]; {
	case !known:
		return fmt.Errorf("unknown dispersion form %q", d.Form)
	case !fits:
		return fmt.Errorf("dispersion form %s does not take %d coefficients", d.Form, len(c))
	case !(d.Range[0] > 0 && d.Range[1] > d.Range[0]):
		return fmt.Errorf("range %g to %g um is not a range", d.Range[0], d.Range[1])
	}
	return nil
}

// RangeError reports a wavelength outside the range of a fit. Find it with errors.As.
type RangeError struct {
	Material   string          // its name
	Wavelength quantity.Length // vacuum wavelength asked for, m
	Lo, Hi     quantity.Length // the range of the fit, m
	Fit        string          // what the range is of; "": a dispersion fit
}

// Error names the material, the wavelength and the range, in nanometres.
func (e *RangeError) Error() string {
	const nm = float64(quantity.Nanometre)
	fit := e.Fit
	if fit == "" {
		fit = "dispersion fit"
	}
	return fmt.Sprintf("%s: wavelength %.6g nm is outside the range of its %s, %.6g to %.6g nm",
		e.Material, float64(e.Wavelength)/nm, fit, float64(e.Lo)/nm, float64(e.Hi)/nm)
}
