package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wedgework/reports/require"
	"wedgework/reports/require/chromium"
)

// curves is a plot of two named curves; that of a decibel is at 24 dB where x is 1550 nm.
const curves = `w = sweep(1540*nm, 1560*nm, 5*nm)
a = series(w, [20*dB, 22*dB, 24*dB, 22*dB, 20*dB])
b = series(w, [30*dB, 31*dB, 32*dB, 31*dB, 30*dB])
plot(a, b, labels=["low", "high"])`

// Figures in a notebook answer, in the notebook of an engineer who has run its cells: the value under the pointer, the
// keys, a range that is enlarged, curves that are hidden. The keys of the figure are not those of the notebook.
func TestFiguresAnswer(t *testing.T) {
	require.Thorough(t, "a notebook in a browser takes ten seconds")
	program := require.Tool(t, "jupyter-notebook")
	j := installed(t)
	books := filepath.Join(j.dir, "books")
	if err := os.Mkdir(books, 0o777); err != nil {
		t.Fatal(err)
	}
	writeNotebook(t, filepath.Join(books, "figures.ipynb"), curves, curves)
	address := j.serveNotebooks(program, books)
	p := page{chromium.Open(t, 1200, 1600)}
	chromium.Do(p.Page, "open", chromedp.Navigate(address+"/notebooks/figures.ipynb"))
	p.Until("the kernel is ready", `window.Jupyter && Jupyter.notebook &&
		Jupyter.notebook.kernel && Jupyter.notebook.kernel.is_connected() &&
		document.querySelector("#kernel_indicator_icon.kernel_idle_icon") != null`)
	p.Script("run all", `document.querySelector("#run_all_cells a").click()`)
	p.Until("both figures answer", `document.querySelectorAll(".wedgework .tools output").length == 2`)
	p.Until("no cell runs", idle)
	p.Shot("figures")

	const first = `document.querySelectorAll(".wedgework")[0]`
	said := first + `.querySelector("output").textContent`
	at := func(what string, x, y float64) {
		t.Helper()
		box := p.Text(`(() => { const s = ` + first + `.querySelector("svg"), d = JSON.parse(` + first +
			`.querySelector("script[type='application/json']").textContent).p[0], m = s.getScreenCTM()
			const f = (v, a, from, to) => from + (v - a.a) / (a.b - a.a) * (to - from)
			const x = f(` + fmt.Sprint(x) + `, d.x, d.l, d.l + d.w), y = f(` + fmt.Sprint(y) + `, d.y, d.o + d.h, d.o)
			const q = new DOMPoint(x, y).matrixTransform(m)
			s.dispatchEvent(new PointerEvent("pointermove", {clientX: q.x, clientY: q.y, bubbles: true})); return "done" })()`)
		if box != "done" {
			t.Fatalf("%s: %s", what, box)
		}
	}
	at("point at the peak", 1550, 24)
	p.Want("the value under the pointer", `String(`+said+`.includes("24.00\u00a0dB"))`, "true")
	p.Want("the curve is named", `String(`+said+`.startsWith("low"))`, "true")

	cell := p.Text(`String(Jupyter.notebook.get_selected_index())`)
	p.Script("focus", first+`.querySelector(".plot").focus()`)
	p.Press(kb.ArrowRight)
	p.Want("the next point by a key", `String(`+said+`.includes("22.00"))`, "true")
	p.Press(kb.ArrowUp)
	p.Want("the next curve by a key", `String(`+said+`.startsWith("high"))`, "true")
	p.Press("+")
	p.Want("a range enlarged", `String(`+first+`.querySelectorAll("g.enlarged").length)`, "1")
	p.Press("0")
	p.Want("the whole range", `String(`+first+`.querySelectorAll("g.enlarged").length)`, "0")
	p.Want("the cell that is selected stays", `String(Jupyter.notebook.get_selected_index())`, cell)
	p.Script("hide a curve", first+`.querySelector("fieldset input").click()`)
	p.Want("one curve is hidden", `String([...`+first+`.querySelectorAll("[data-series]")].some(g =>
		g.style.display == "none"))`, "true")
	p.Shot("figures-enlarged")

	// The saved notebook carries a picture of its own for those who do not trust it, and drawings without scripts.
	p.Script("save", `Jupyter.notebook.save_notebook().then(() => { window.saved = true })`)
	p.Until("it is saved", `window.saved == true`)
	data, err := os.ReadFile(filepath.Join(books, "figures.ipynb"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`<img src=\"data:image/svg+xml;base64,`, `"image/png"`, `"image/svg+xml"`} {
		if !strings.Contains(string(data), want) {
			t.Errorf("the saved notebook has no %s", want)
		}
	}
}
