package figure

import (
	"image/color"
	"math"
	"testing"
)

// linear undoes the transfer function of sRGB, IEC 61966-2-1.
func linear(c color.NRGBA) (r, g, b float64) {
	in := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return in(c.R), in(c.G), in(c.B)
}

// luminance is Y of CIE 1931 (ITU-R BT.709), and lightness the L* of CIE 1976: a route beside OKLab.
func luminance(r, g, b float64) float64 { return 0.2126*r + 0.7152*g + 0.0722*b }

func lightness(y float64) float64 { return 116*math.Cbrt(y) - 16 }

// TestScaleInGrey holds the scale against CIE L*: it rises at every tone, in steps that differ by less than a half from
// their mean.
func TestScaleInGrey(t *testing.T) {
	var last float64
	var steps []float64
	for i, c := range scale {
		l := lightness(luminance(linear(c)))
		if i > 0 {
			steps = append(steps, l-last)
		}
		last = l
	}
	mean := (last - lightness(luminance(linear(scale[0])))) / float64(len(steps))
	for i, s := range steps {
		// one step of a channel of eight bits is up to 0.4 of L*
		if s <= 0 || math.Abs(s-mean) > mean/2+0.4 {
			t.Errorf("from tone %d to the next L* rises by %.2f, want about %.2f", i, s, mean)
		}
	}
	if last > 95 || last-lightness(luminance(linear(scale[0]))) < 60 {
		t.Errorf("L* runs from %.1f to %.1f, want a range of 60 that ends darker than paper",
			lightness(luminance(linear(scale[0]))), last)
	}
}

// TestScaleWithoutRedOrGreen looks at the scale as protanopes and deuteranopes see it, by the method of F. Viénot,
// H. Brettel and J. D. Mollon, "Digital video colourmaps for checking the legibility of displays by dichromats", Color
// Research and Application 24 (1999) 243 (matrices from memory): lightness rises, and tones an eighth of the scale
// apart
// differ by 5 of L* or more.
func TestScaleWithoutRedOrGreen(t *testing.T) {
	for name, see := range map[string]func(l, m, s float64) (float64, float64, float64){
		"protanopia":   func(_, m, s float64) (float64, float64, float64) { return 2.02344*m - 2.52581*s, m, s },
		"deuteranopia": func(l, _, s float64) (float64, float64, float64) { return l, 0.494207*l + 1.24827*s, s },
	} {
		seen := make([]float64, tones)
		for i, c := range scale {
			r, g, b := linear(c)
			l, m, s := see(17.8824*r+43.5161*g+4.11935*b, 3.45565*r+27.1554*g+3.86714*b,
				0.0299566*r+0.184309*g+1.46709*b)
			r = 0.0809444479*l - 0.130504409*m + 0.116721066*s
			g = -0.0102485335*l + 0.0540193266*m - 0.113614708*s
			b = -0.000365296938*l - 0.00412161469*m + 0.693511405*s
			seen[i] = lightness(max(luminance(r, g, b), 0))
		}
		for i := range seen[:tones-tones/8] {
			if d := seen[i+tones/8] - seen[i]; d < 5 {
				t.Errorf("%s: tones %d and %d differ by %.1f of L*, want at least 5", name, i, i+tones/8, d)
			}
		}
	}
}

// TestScaleIsInGamut: no channel is cut off, which would bend the path; and the ends are the colours named.
func TestScaleIsInGamut(t *testing.T) {
	for i, c := range scale {
		for _, v := range []uint8{c.R, c.G, c.B} {
			if v == 0 || v == 255 {
				t.Errorf("tone %d is %v: a channel is at its end", i, c)
			}
		}
	}
	// White and mid grey of OKLab have no colour; L of mid grey is the cube root of its luminance (Ottosson, 2020).
	if got := okLab(1, 0, 0); got != (color.NRGBA{255, 255, 255, 255}) {
		t.Errorf("OKLab(1, 0, 0) = %v, want white", got)
	}
	_, g, _ := linear(okLab(0.6, 0, 0))
	if math.Abs(g-0.216) > 0.004 {
		t.Errorf("OKLab(0.6, 0, 0) has luminance %.4f, want 0.6³", g)
	}
	if Tone(0).NRGBA() != scale[0] || Tone(1).NRGBA() != scale[tones-1] || Tone(math.NaN()) != Grey ||
		Tone(-3) != Tone(0) || Tone(7) != Tone(1) {
		t.Error("Tone does not keep to the ends of the scale")
	}
}
