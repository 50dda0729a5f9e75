package html

import (
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wedgework/reports/document"
	"wedgework/reports/figure"

	"wedgework/reports/require/chromium"
)

// TestBrowserReadsMaps reads values off a map and off a curve of a second axis, with the pointer and with keys, whole
// and
// enlarged.
func TestBrowserReadsMaps(t *testing.T) {
	s := opened(t)
	grid := &figure.Grid{X: []float64{1530, 1540, 1550}, Y: []float64{0, 20, 40}, Map: true,
		Z: [][]float64{{30, 31, 32}, {33, 40, 35}, {36, 37, 38}}}
	c := figure.Chart{X: figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "temperature", Unit: "°C"},
		Tones: figure.Axis{Label: "isolation", Unit: "dB"}, Grid: grid}
	page := func(c figure.Chart) []byte {
		return render(t, document.Document{Title: "t", Sections: []document.Section{{Title: "s", Level: 1,
			Blocks: []document.Block{c.Figure("Figure 1.")}}}}, options)
	}
	plain := output + `.replace(/\u00a0/g, " ")`
	point := func(fx, fy float64) {
		x, y := s.at(fx, fy)
		chromium.Do(s.Page, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	}
	s.ShowFile("map.html", page(c))
	point(0.51, 0.49)
	s.Want("the middle", plain, "isolation 40.00 dB at wavelength 1540 nm and temperature 20 °C")
	chromium.Do(s.Page, "focus", chromedp.Evaluate[bool](`document.querySelector(".plot").focus(), true`))
	s.Press("+")
	s.Want("cells of the map", `String(document.querySelectorAll(".enlarged rect[fill^='#']").length > 8)`, "true")
	s.Shot("map-enlarged")
	s.Press("0", kb.Escape, kb.ArrowRight)
	s.Want("the first point", plain, "isolation 30.00 dB at wavelength 1530 nm and temperature 0 °C")

	s.ShowFile("right.html", page(figure.Chart{X: figure.Axis{Label: "wavelength", Unit: "nm", Min: 0, Max: 2},
		Y:     figure.Axis{Label: "isolation", Unit: "dB", Min: 0, Max: 10},
		Right: figure.Axis{Label: "DGD", Unit: "ps", Min: 0.01, Max: 1, Log: true},
		Series: []figure.Series{{Label: "a", X: []float64{0, 1, 2}, Y: []float64{1, 1, 1}},
			{Label: "b", X: []float64{0, 1, 2}, Y: []float64{0.1, 0.1, 0.1}, Right: true}}}))
	point(0.5, 0.52)
	s.Want("on the right axis", `String(/^b: DGD 0\.10* ps at wavelength 1 nm$/.test(`+plain+`))`, "true")
	chromium.Do(s.Page, "focus", chromedp.Evaluate[bool](`document.querySelector(".plot").focus(), true`))
	s.Press("+")
	s.Want("still there when enlarged", `String(/^b: DGD 0\.10* ps at wavelength 1 nm$/.test(`+plain+`))`, "true")
	s.Shot("right-enlarged")
}
