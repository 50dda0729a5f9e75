package document_test

import (
	"encoding/base64"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/readout"
)

// TestAnsweringFigure: a lone figure has in its HTML what the script needs, the picture in it is the drawing, and the
// forms without scripts are as they are without it.
func TestAnsweringFigure(t *testing.T) {
	f := document.Figure{Caption: "Isolation", Text: "isolation over wavelength", Drawing: figure.Chart{
		X: figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "isolation", Unit: "dB"},
		Series: []figure.Series{{Label: "a </script>", X: []float64{1540, 1550, 1560}, Y: []float64{40, 42.125, 41}}},
	}}
	plain, err := document.SVG(f)
	if err != nil {
		t.Fatal(err)
	}
	m := document.Bundle([]document.Block{f})
	if m["image/svg+xml"] != plain {
		t.Error("the drawing without scripts is not that of SVG")
	}
	if strings.Contains(plain, "data-series") || strings.Contains(plain, "<script") {
		t.Error("the drawing without scripts has marks or scripts in it")
	}
	text := m["text/html"].(string)
	if n := strings.Count(text, "</script>"); n != 2 {
		t.Errorf("%d script elements end, want the numbers and the program", n)
	}
	picture := regexp.MustCompile(`<img src="data:image/svg\+xml;base64,([^"]*)" alt="([^"]*)"`).FindStringSubmatch(text)
	if picture == nil || picture[2] != "isolation over wavelength" {
		t.Fatalf("no picture with its text in %.300s", text)
	}
	marked, err := base64.StdEncoding.DecodeString(picture[1])
	if err != nil || !strings.Contains(string(marked), `data-series="0"`) {
		t.Errorf("the picture has no marks: %v", err)
	}
	unmarked := regexp.MustCompile(`(?m)^<g data-[a-z]+="\d+">\n`).ReplaceAllString(string(marked), "")
	if got, want := len(unmarked)-len(plain), 5*(strings.Count(string(marked), "<g data-")); got != want {
		t.Errorf("marks are %d bytes more than the ends of %d groups, want %d", got, want/5, want)
	}
	numbers := regexp.MustCompile(`<script type="application/json">(.*)</script>`).FindStringSubmatch(text)
	var read readout.Figure
	if numbers == nil || json.Unmarshal([]byte(numbers[1]), &read) != nil || len(read.Panels) != 1 {
		t.Fatalf("no numbers in %.300s", text)
	}
	if got := read.Panels[0].Series[0].Y; got[1] != 42.13 && got[1] != 42.12 {
		t.Errorf("reads %v, want dB as reports print them", got)
	}
	if strings.Contains(readout.Notebook(), "\n//") || len(readout.Notebook()) > 20000 {
		t.Errorf("the program of an output has %d bytes, or comments", len(readout.Notebook()))
	}

	f.Still = true
	if text := document.Bundle([]document.Block{f})["text/html"].(string); strings.Contains(text, "<script") {
		t.Error("a figure that is drawn anew again and again has the script")
	}
}
