package beam

import (
	"fmt"
	"math"
)

// MarcuseRadius returns the 1/e^2 mode-field radius of a step-index fibre with core radius a and numerical
// aperture na, all lengths in metres: w/a = 0.65 + 1.619 V^-1.5 + 2.879 V^-6, about 1 % for 0.8 < V < 2.5, outside
// which it is an error (D. Marcuse, Bell Syst. Tech. J. 56, 703-718 (1977), citation from memory).
func MarcuseRadius(a, na, wavelength float64) (float64, error) {
	v := 2 * math.Pi * a * na / wavelength
	if !(v > 0.8 && v < 2.5) {
		return 0, fmt.Errorf("normalized frequency V = %.3g of the fibre lies outside 0.8 to 2.5, where Marcuse's "+
			"mode-field formula holds", v)
	}
	return a * (0.65 + 1.619*math.Pow(v, -1.5) + 2.879*math.Pow(v, -6)), nil
}

// Lens is a thin lens in front of a fibre, a collimator.
type Lens struct {
	Focal    float64 // focal length, m
	Distance float64 // of the fibre's end from the lens, m; Focal and a little more
}

// Collimate returns the lens set so that a fibre mode of radius w has its waist at the given distance in front of the
// lens, of the two such waists the wider; all lengths in metres, the wavelength in vacuum. A waist farther away than
// f + f^2/(2 zR), with zR that of the fibre's mode, does not exist and is an error.
func Collimate(focal, w, wavelength, waist float64) (Lens, error) {
	zr := RayleighRange(w, wavelength)
	d := waist - focal
	root := math.Pow(focal, 4) - 4*d*d*zr*zr
	if root < 0 {
		return Lens{}, fmt.Errorf("a lens of focal length %.4g mm puts the waist of this fibre at most %.4g mm away, "+
			"not %.4g mm",
			focal*1e3, (focal+focal*focal/(2*zr))*1e3, waist*1e3)
	}
	return Lens{focal, focal + 2*d*zr*zr/(focal*focal+math.Sqrt(root))}, nil
}

// Waist returns the radius of the waist that the lens makes of a fibre mode of radius w, and its distance in front of
// the lens, in metres at a vacuum wavelength in metres: the image of a Gaussian beam (H. Kogelnik and T. Li, Appl.
// Opt. 5, 1550 (1966); from memory).
func (l Lens) Waist(w, wavelength float64) (radius, distance float64) {
	zr, u := RayleighRange(w, wavelength), l.Distance-l.Focal
	scale := l.Focal * l.Focal / (u*u + zr*zr)
	return w * math.Sqrt(scale), l.Focal + u*scale
}
