package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"wedgework/reports/require"
	"wedgework/reports/require/chromium"
)

// showing has every kind of picture that cells show: drawings, a plot, a figure among tables, marks of verdicts.
const showing = `yvo = crystal("YVO4")
s = stack(wedge(yvo, slanted="front"), gap(0.1*mm), rotator(garnet("Bi:RIG", extinction=42*dB)), gap(0.1*mm),
          wedge(yvo, axis=67.5*deg, slanted="back"), beam=collimator(waist=200*um, working_distance=6*mm))
draw(s)
plot(s.backward(sweep(1540*nm, 1560*nm, 5*nm)).isolation)
s.trials(200, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm)
---
verify(s, measured("sweep", default="sweep.csv"), limits=limits(isolation=at_least(30*dB), over=1550*nm), uncertainty=budget(repeatability=0.05*dB))`

// picturesThere is a script that counts the figures of a page, and tells of those that are not drawn or have no text
// for those who do not see them; marks of verdicts are smaller, and stand beside a word that says the same.
const picturesThere = `(() => { const all = [...document.querySelectorAll("img")].filter(i => i.src.startsWith("data:"))
	const bad = all.filter(i => !i.complete || i.naturalWidth < 10).length
	const figures = all.filter(i => i.naturalWidth > 200)
	return [figures.length, figures.filter(i => (i.alt || "").length > 20).length, all.length - figures.length, bad].join(" ") })()`

// A colleague opens the notebook of a report, which no server of theirs has signed, or the page that nbconvert makes of
// it. What does not trust a page takes SVG elements and scripts out of it; the figures must stand all the same.
func TestUntrusted(t *testing.T) {
	require.Thorough(t, "a notebook in a browser takes ten seconds")
	program, converter := require.Tool(t, "jupyter-notebook"), require.Tool(t, "jupyter-nbconvert")
	j := installed(t, "nbconvert")
	books := filepath.Join(j.dir, "books")
	if err := os.Mkdir(books, 0o777); err != nil {
		t.Fatal(err)
	}
	source := filepath.Join(j.dir, "in.ipynb")
	writeNotebook(t, source, strings.Split(showing, "\n---\n")...)
	readings := "wavelength [nm],temperature [degC],isolation [dB]\n1549,23,44\n1550,23,44.1\n1551,23,44.2\n"
	if err := os.WriteFile(filepath.Join(j.dir, "sweep.csv"), []byte(readings), 0o666); err != nil {
		t.Fatal(err)
	}
	report := exec.Command("wedgework", "report", source, "--out", filepath.Join(books, "out.pdf"))
	report.Env = j.env
	var ended *exec.ExitError
	// 1: a verdict does not pass
	if out, err := report.CombinedOutput(); err != nil && !(errors.As(err, &ended) && ended.ExitCode() == 1) {
		t.Fatalf("%v\n%s", err, out)
	}

	convert := exec.Command(converter, "--to", "html", filepath.Join(books, "out.ipynb"))
	convert.Env = j.env
	said, err := convert.CombinedOutput()
	if err != nil || strings.Contains(string(said), "Warn") || strings.Contains(string(said), "WARN") {
		t.Errorf("nbconvert: %v\n%s", err, said)
	}

	p := page{chromium.Open(t, 1200, 3000)}

	want := "4 4 3 0" // two drawings, a plot, histograms; three marks; none that does not show
	chromium.Do(p.Page, "open", chromedp.Navigate("file://"+filepath.Join(books, "out.html")))
	if got := p.Text(picturesThere); got != want {
		t.Errorf("the page of nbconvert: figures, those with a text, marks, not drawn: %s, want %s", got, want)
	}
	p.Shot("nbconvert")

	address := j.serveNotebooks(program, books)
	chromium.Do(p.Page, "open", chromedp.Navigate(address+"/notebooks/out.ipynb"))
	p.Until("the notebook is there", `window.Jupyter && Jupyter.notebook && document.querySelectorAll(".output_area").length >= 5`)
	if got := p.Text(`String(Jupyter.notebook.trusted)`); got != "false" {
		t.Fatalf("the server trusts the notebook: %s", got)
	}
	p.Until("the figures are there", picturesThere+` == "`+want+`"`)
	p.Shot("untrusted")
}
