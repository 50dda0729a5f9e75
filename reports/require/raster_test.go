package require

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"
)

// picture draws lines of grey text on white, one in ten pixels, the one at skip left out.
func picture(t *testing.T, skip int) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 100, 100))
	for y := range 100 {
		for x := range 100 {
			v := uint8(255)
			if y%10 >= 4 && y%10 < 8 && x > 10 && x < 90 && x%3 == 0 && y/10 != skip {
				v = 90
			}
			m.SetGray(x, y, color.Gray{Y: v})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAlike(t *testing.T) {
	if err := alike(picture(t, -1), picture(t, -1)); err != nil {
		t.Errorf("a picture and itself: %v", err)
	}
	if err := alike(picture(t, 4), picture(t, -1)); err == nil {
		t.Error("a lost line is not seen")
	}
}
