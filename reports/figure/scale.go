package figure

import (
	"image/color"
	"math"
)

// The colour scale shows a quantity by colour. It is a path through the colour space OKLab (B. Ottosson, "A perceptual
// color space for image processing", 2020), made so that it reads for everyone:
//
//   - lightness rises evenly from end to end, so that a copy in grey shows the same order and the same steps;
//   - the axis from blue to yellow rises evenly too: people who confuse red and green see it as others do;
//   - the axis from green to red only bows out in the middle, which keeps middle tones from being plain grey.
//
// The pale end stays darker than paper: what is white has no value.
const (
	scaleDark, scalePale   = 0.30, 0.91    // lightness
	scaleBlue, scaleYellow = -0.125, 0.125 // the axis b
	scaleEnds, scaleMiddle = -0.015, 0.06  // the axis a

	tones     = 128
	lastTone  = tones - 1
	firstTone = 256 - tones // as a Color
)

// Tone is a colour of the scale: share 0 is the dark end, 1 the pale one. There are 128 of them. A share that is no
// number has no colour and is Grey.
func Tone(share float64) Color {
	if math.IsNaN(share) {
		return Grey
	}
	return Color(firstTone + int(math.Round(math.Min(math.Max(share, 0), 1)*lastTone)))
}

// LineTone is a Tone for thin lines on white: the palest seventh of the scale is left out.
func LineTone(share float64) Color { return Tone(share * lineTones) }

const lineTones = 6.0 / 7

// scale holds the colours of Tone.
var scale = func() (all [tones]color.NRGBA) {
	for i := range all {
		t := float64(i) / lastTone
		all[i] = okLab(scaleDark+(scalePale-scaleDark)*t, scaleEnds+scaleMiddle*math.Sin(math.Pi*t),
			scaleBlue+(scaleYellow-scaleBlue)*t)
	}
	return all
}()

// okLab converts a colour of OKLab to sRGB, with the matrices of its definition.
func okLab(l, a, b float64) color.NRGBA {
	cube := func(x float64) float64 { return x * x * x }
	p := cube(l + 0.3963377774*a + 0.2158037573*b)
	q := cube(l - 0.1055613458*a - 0.0638541728*b)
	r := cube(l - 0.0894841775*a - 1.2914855480*b)
	channel := func(v float64) uint8 { // IEC 61966-2-1
		v = math.Min(math.Max(v, 0), 1)
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		return uint8(math.Round(255 * v))
	}
	return color.NRGBA{channel(4.0767416621*p - 3.3077115913*q + 0.2309699292*r),
		channel(-1.2684380046*p + 2.6097574011*q - 0.3413193965*r),
		channel(-0.0041960863*p - 0.7034186147*q + 1.7076147010*r), 0xFF}
}
