package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"wedgework/reports/notebook"
	"wedgework/reports/require"
	"wedgework/reports/require/chromium"
)

// explored is a notebook with sliders: a figure, a table and a number of one design.
var explored = []string{`c = crystal("YVO4")
def design(apex):
    w1 = wedge(c, apex=apex, thickness=0.5*mm, axis=22.5*deg, slanted="front")
    w2 = wedge(c, apex=apex, thickness=0.5*mm, axis=67.5*deg, slanted="back")
    r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
    return stack(w1, gap(0.5*mm), r, gap(0.5*mm), w2, beam=collimator(waist=200*um, working_distance=10*mm))
def show(apex=5*deg, figure="insertion_loss", grid=False):
    plot(design(apex).forward(sweep(1530*nm, 1565*nm, 1*nm)), figure=figure)
    print("apex is", apex)`,
	`e = explore(show, apex=between(3*deg, 8*deg), figure=one_of("insertion_loss", "pdl"), grid=True)`,
	`e.values["apex"]`}

// opened opens a notebook and waits until its kernel answers.
func (p page) opened(address string) {
	p.Helper()
	chromium.Do(p.Page, "open", chromedp.Navigate(address))
	p.Until("the kernel is ready", `window.Jupyter && Jupyter.notebook && Jupyter.notebook.kernel && Jupyter.notebook.kernel.is_connected() && document.querySelector("#kernel_indicator_icon.kernel_idle_icon") != null`)
}

// mouse does something with the left button of the mouse.
func (p page) mouse(what input.DispatchMouseEventType, x, y float64, pressed int64) {
	p.Helper()
	chromium.Do(p.Page, string(what), chromedp.MouseEvent(what, x, y, func(e *input.DispatchMouseEventParams) {
		e.Button, e.Buttons, e.ClickCount = input.MouseButtonLeft, pressed, 1
	}))
}

// watch notes when the mouse moves and when what shows in a place changes.
const watch = `(() => { window.moves = []; window.redraws = [];
	document.addEventListener("mousemove", () => window.moves.push(performance.now()), true);
	new MutationObserver(() => window.redraws.push(performance.now())).observe(%s, {subtree: true, childList: true, characterData: true}) })()`

// latencies are the milliseconds from each move of the mouse to the next redrawing.
const latencies = `JSON.stringify(window.moves.map(m => window.redraws.find(t => t > m) - m).filter(d => d >= 0))`

// drag drags the handle of the first slider in twenty moves and returns how long each took to be redrawn, in ms.
func (p page) drag(place string) []float64 {
	p.Helper()
	p.Script("watch", fmt.Sprintf(watch, place))
	p.Script("scroll", `document.querySelector(".ui-slider-handle").scrollIntoView({block: "center"})`)
	time.Sleep(300 * time.Millisecond)
	at := func(coordinate string) float64 {
		var x float64
		fmt.Sscan(p.Text(`(() => { const r = document.querySelector(".ui-slider-handle").getBoundingClientRect(); return String(`+
			coordinate+`) })()`), &x)
		return x
	}
	x, y := at("r.left + r.width/2"), at("r.top + r.height/2")
	p.mouse(chromedp.MousePressed, x, y, 1)
	for i := range 20 {
		p.mouse(chromedp.MouseMoved, x+float64(5*(i+1)), y, 1)
		time.Sleep(50 * time.Millisecond)
	}
	p.mouse(chromedp.MouseReleased, x+100, y, 0)
	time.Sleep(time.Second)
	var all []float64
	for _, s := range strings.Split(strings.Trim(p.Text(latencies), "[]"), ",") {
		var d float64
		if _, err := fmt.Sscan(s, &d); err == nil {
			all = append(all, d)
		}
	}
	return all
}

// Sliders as a person drags them, in Notebook 6 with the widgets of ipywidgets 6: the figure follows, a list and a
// check box work, later cells have the values, and the saved notebook keeps the figure without any widget.
func TestSliders(t *testing.T) {
	require.Thorough(t, "a notebook in a browser takes ten seconds")
	program := require.Tool(t, "jupyter-notebook")
	if _, err := os.Stat("/usr/share/jupyter/nbextensions/jupyter-js-widgets/extension.js"); err != nil {
		require.Missing(t, "the notebook extension jupyter-js-widgets is not installed")
	}
	j := installed(t)
	books := filepath.Join(j.dir, "books")
	if err := os.Mkdir(books, 0o777); err != nil {
		t.Fatal(err)
	}
	writeNotebook(t, filepath.Join(books, "s.ipynb"), explored...)
	address := j.serveNotebooks(program, books)
	p := page{chromium.Open(j.t, 1200, 1400)}
	p.opened(address + "/notebooks/s.ipynb")
	p.Script("run all", `document.querySelector("#run_all_cells a").click()`)
	p.Until("a slider is shown", `document.querySelector(".ui-slider-handle") != null`)
	p.Until("the figure is shown", `document.querySelectorAll(".cell")[1].querySelector(".output figure, .output img, .output svg") != null`)
	p.Until("no cell runs", idle)
	p.Shot("sliders-before")
	if got := p.output(2); !strings.HasSuffix(strings.TrimSpace(got), "5 deg") {
		t.Errorf("before the drag a later cell has %q, want 5 deg", got)
	}
	all := p.drag(figurePlace)
	p.Shot("sliders-after")
	if len(all) < 15 {
		t.Fatalf("of 20 moves, %d were redrawn", len(all))
	}
	p.run(`e.values["apex"]`)
	words := strings.Fields(p.output(-1))
	apex := strings.Join(words[len(words)-2:], " ") // behind the prompt
	if apex == "5 deg" || !strings.Contains(p.output(1), "apex is "+apex+"\n") ||
		!strings.Contains(p.output(1), "Shown for apex = "+apex+" (3 deg to 8 deg)") {
		t.Errorf("after the drag a later cell has %q and the figure says %q", apex, p.output(1))
	}

	// A list and a check box.
	p.Script("choose", `(() => { const s = document.querySelector(".cell select"); s.selectedIndex = 1; s.dispatchEvent(new Event("change", {bubbles: true})) })()`)
	p.Until("the other figure is shown", figurePlace+`.innerText.includes("figure = pdl")`)
	p.Script("uncheck", `document.querySelector(".cell input[type=checkbox]").click()`)
	p.Until("the box is off", figurePlace+`.innerText.includes("grid = False")`)
	p.run(`e.values["figure"], e.values["grid"]`)
	if got := p.output(-1); !strings.Contains(got, `("pdl", False)`) {
		t.Errorf("a later cell has %q, want pdl and False", got)
	}
	p.Shot("sliders-chosen")

	// Reloaded, the page shows the controls again where they stand; saved, the notebook has the figure.
	p.Script("save", `Jupyter.notebook.save_notebook().then(() => { window.saved = true })`)
	p.Until("the notebook is saved", `window.saved == true`)
	p.opened(address + "/notebooks/s.ipynb")
	p.Until("the slider is shown again", `document.querySelector(".ui-slider-handle") != null`)
	p.Shot("sliders-reloaded")
	saved, err := os.ReadFile(filepath.Join(books, "s.ipynb"))
	if err != nil {
		t.Fatal(err)
	}
	nb, err := notebook.Read(saved)
	if err != nil {
		t.Fatal(err)
	}
	shown := ""
	for _, o := range nb.Cells[1].Outputs {
		html, _ := o.Data["text/html"].(string)
		shown += html
	}
	if !strings.Contains(shown, "<svg") && !strings.Contains(shown, "data:image/svg") ||
		!strings.Contains(shown, "Shown for apex = "+apex) {
		t.Errorf("the saved notebook has no figure with its note: %.500q", shown)
	}
}

// figurePlace is where the second cell shows its outputs.
const figurePlace = `document.querySelectorAll(".cell")[1].querySelector(".output")`

// python is a slider of the same front end with a kernel of Python: the least that it can do, a text in a picture.
var python = []string{`from ipykernel.comm import Comm
M, V = 'jupyter-js-widgets', '~2.1.4'
def model(name, view, **more):
    return Comm(target_name='jupyter.widget', data=dict(_model_module=M, _model_module_version=V, _model_name=name,
        _view_module=M, _view_module_version=V, _view_name=view, msg_throttle=1, **more))
def version(comm, message):
    comm.send({'version': V})
get_ipython().kernel.comm_manager.register_target('jupyter.widget.version', version)`,
	`layout = 'IPY_MODEL_' + model('LayoutModel', 'LayoutView').comm_id
picture = '<svg width="600" height="300"><text y="15">%s</text></svg>'
slider = model('FloatSliderModel', 'FloatSliderView', layout=layout, value=5.0, min=3.0, max=8.0, step=0.05,
    description='apex', readout_format='.2f', continuous_update=True)
html = model('HTMLModel', 'HTMLView', layout=layout, value=picture % 5)
def moved(message):
    v = (message['content']['data'].get('sync_data') or {}).get('value')
    if v is not None:
        html.send({'method': 'update', 'state': {'value': picture % v}, 'buffers': []})
slider.on_msg(moved)
slider.send({'method': 'display'})
html.send({'method': 'display'})`}

// BenchmarkSliders drags a slider in Chromium: of this kernel with a figure to compute and plot, of this kernel with a
// text, and of ipykernel with a text. The goal is a median of at most 30 ms from move to redrawing, and 0.6 of
// ipykernel's.
func BenchmarkSliders(b *testing.B) {
	program := require.Tool(b, "jupyter-notebook")
	j := installed(b, "ipykernel")
	books := filepath.Join(j.dir, "books")
	if err := os.Mkdir(books, 0o777); err != nil {
		b.Fatal(err)
	}
	writeNotebook(b, filepath.Join(books, "ours.ipynb"), explored...)
	writeNotebook(b, filepath.Join(books, "light.ipynb"), `def light(apex):
    print("apex is", apex)`, "e = explore(light, apex=between(3*deg, 8*deg))")
	writeKernelNotebook(b, filepath.Join(books, "python.ipynb"), "python3", python...)
	address := j.serveNotebooks(program, books)
	var ours, light, theirs []float64
	p := page{chromium.Open(j.t, 1200, 1400)}
	for b.Loop() {
		for name, all := range map[string]*[]float64{"ours": &ours, "light": &light, "python": &theirs} {
			p.opened(address + "/notebooks/" + name + ".ipynb")
			p.Script("first", `Jupyter.notebook.execute_cells([0])`)
			time.Sleep(time.Second) // a front end that found no widgets at first waits three seconds for an answer
			p.Script("second", `Jupyter.notebook.execute_cells([1])`)
			p.Until("a slider is shown", `document.querySelector(".ui-slider-handle") != null`)
			p.Until("no cell runs", idle)
			*all = append(*all, p.drag(figurePlaceOf[name])...)
			p.Script("leave", `window.onbeforeunload = null`) // or the page asks whether to leave what is not saved
		}
	}
	slices.Sort(ours)
	slices.Sort(theirs)
	slices.Sort(light)
	b.ReportMetric(light[len(light)/2], "ms/redraw-text")
	b.ReportMetric(light[len(light)/2]/theirs[len(theirs)/2], "text-of-ipykernel")
	b.ReportMetric(ours[len(ours)/2], "ms/redraw")
	b.ReportMetric(theirs[len(theirs)/2], "ms/redraw-ipykernel")
	b.ReportMetric(ours[len(ours)/2]/theirs[len(theirs)/2], "of-ipykernel")
	b.ReportMetric(float64(len(ours)), "redraws")
	b.ReportMetric(float64(len(theirs)), "redraws-ipykernel")
}

// figurePlaceOf is where redrawings are watched: ipykernel's is a widget, beside the slider and its number.
var figurePlaceOf = map[string]string{"ours": figurePlace, "light": figurePlace,
	"python": `document.querySelector(".widget-html")`}
