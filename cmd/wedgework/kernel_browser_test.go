package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wedgework/reports/require"
	"wedgework/reports/require/chromium"
)

// A long piece of work, of which nobody waits for the end.
const longWork = `s = stack(wedge(crystal("YVO4"), apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted="front"), gap(0.1*mm),
    rotator(garnet("Bi:RIG", rotation=1000*deg/cm, index=2.35, extinction=40*dB)), gap(0.1*mm),
    wedge(crystal("YVO4"), apex=5*deg, thickness=0.5*mm, axis=67.5*deg, slanted="back"), beam=collimator(waist=0.2*mm, working_distance=10*mm))
for i in range(1000):
    s.backward(sweep(1530*nm, 1565*nm, count=1951), temperature=sweep(-5*degC, 70*degC, count=101)).return_loss`

// The notebook as a person has it before them, in Chromium: run all, complete, inspect, watch the bar of long work,
// interrupt, restart. Set WEDGEWORK_SCREENSHOTS to a folder to look at it too.
func TestBrowser(t *testing.T) {
	require.Thorough(t, "a notebook in a browser takes ten seconds")
	program := require.Tool(t, "jupyter-notebook")
	j := installed(t)
	books := filepath.Join(j.dir, "books")
	if err := os.Mkdir(books, 0o777); err != nil {
		t.Fatal(err)
	}
	writeNotebook(t, filepath.Join(books, "day.ipynb"), "x = 1550*nm\nprint('hello')\nx + 1*nm", "crystal('YVO4')",
		"1*nm + 1*deg", longWork)
	address := j.serveNotebooks(program, books)

	p := page{chromium.Open(t, 1200, 1400)}

	chromium.Do(p.Page, "open", chromedp.Navigate(address+"/notebooks/day.ipynb"))
	p.Until("the kernel is ready", `window.Jupyter && Jupyter.notebook &&
		Jupyter.notebook.kernel && Jupyter.notebook.kernel.is_connected() &&
		document.querySelector("#kernel_indicator_icon.kernel_idle_icon") != null`)

	// Run all: the third cell fails, and the one behind it is not run.
	p.Script("run all", `document.querySelector("#run_all_cells a").click()`)
	p.Until("the failure is shown", `document.querySelectorAll(".cell")[2].querySelector(".output_error") != null`)
	p.Until("no cell runs", idle)
	for cell, want := range map[int]string{0: "1551 nm", 1: "birefringence",
		2: "cannot add 1 nm, a length, to 1 deg, an angle"} {
		if got := p.output(cell); !strings.Contains(got, want) {
			t.Errorf("cell %d shows %q, want %q", cell+1, got, want)
		}
	}
	got := p.Text(`document.querySelectorAll(".cell")[3].querySelector(".input_prompt").innerText`)
	if strings.TrimSpace(strings.ReplaceAll(got, "\u00a0", " ")) != "In [ ]:" {
		t.Errorf("the cell behind the failure has the prompt %q, want an empty one", got)
	}
	p.Shot("run-all")

	// Python-like highlighting.
	if got := p.Text(`document.querySelectorAll(".cell")[0].querySelector(".cm-string") ? "yes" : "no"`); got != "yes" {
		t.Error("the source is not highlighted")
	}

	p.typeIn("wedge(crystal('YVO4'), ap", kb.Tab)
	p.Until("completions are shown", `document.querySelector("#complete") != null &&
		document.querySelector("#complete").innerText.includes("apex=") &&
		document.querySelector("#complete").innerText.includes("aperture=")`)
	p.Shot("complete")
	chromium.Do(p.Page, "close", chromedp.KeyEvent(kb.Escape))

	p.typeIn("retarder", "")
	chromium.Do(p.Page, "inspect", chromedp.KeyEvent(kb.Tab, chromedp.KeyModifiers(8))) // shift
	p.Until("the tooltip is shown", `document.querySelector("#tooltip").innerText.includes("retardance")`)
	p.Shot("inspect")
	chromium.Do(p.Page, "close", chromedp.KeyEvent(kb.Escape))

	// A bar that grows in place, and an interrupt that ends it.
	p.Script("run the long cell", `Jupyter.notebook.execute_cells([3])`)
	const bar = `document.querySelectorAll(".cell")[3].querySelectorAll("[role=progressbar]")`
	p.Until("the bar has grown", `(() => { const b = `+bar+`; return b.length > 0 &&
		Number(b[0].getAttribute("aria-valuenow")) > 3 })()`)
	p.Shot("progress")
	p.Script("interrupt", `document.querySelector("#int_kernel a").click()`)
	p.Until("the cell has been interrupted", `document.querySelectorAll(".cell")[3].innerText.includes("Interrupted")`)
	p.Until("no cell runs", idle)
	p.run("x")
	if got := p.output(-1); !strings.Contains(got, "1550 nm") {
		t.Errorf("after the interrupt x is %q, want 1550 nm", got)
	}
	p.Shot("interrupt")

	p.Script("restart", `Jupyter.notebook.kernel.restart(() => { window.restarted = true })`)
	p.Until("the kernel has been restarted", `window.restarted == true && Jupyter.notebook.kernel.is_connected()`)
	p.run("x")
	if got := p.output(-1); !strings.Contains(got, "undefined: x") {
		t.Errorf("after the restart x shows %q, want that it is undefined", got)
	}
	p.Shot("restart")
}

// idle is that no cell of the page waits or runs.
const idle = `document.querySelectorAll(".cell.running").length == 0 && document.querySelector("#kernel_indicator_icon.kernel_idle_icon") != null`

// serveNotebooks starts a server of notebooks and returns its address. It ends with the test.
func (j jupyter) serveNotebooks(program, folder string) string {
	j.t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		j.t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	var log strings.Builder
	cmd := exec.Command(program, "--no-browser", "--allow-root", fmt.Sprint("--port=", port), "--port-retries=0",
		"--ip=127.0.0.1",
		"--NotebookApp.token=", "--NotebookApp.password=", "--notebook-dir="+folder)
	cmd.Env, cmd.Stderr = j.env, &log
	if err := cmd.Start(); err != nil {
		j.t.Fatal(err)
	}
	j.t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		cmd.Process.Signal(os.Interrupt) // the second one is the answer to whether it is meant
		cmd.Process.Kill()
		cmd.Wait()
		if j.t.Failed() {
			j.t.Log(log.String())
		}
	})
	address := fmt.Sprint("http://127.0.0.1:", port)
	for end := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
		r, err := http.Get(address + "/api")
		if err == nil {
			io.Copy(io.Discard, r.Body)
			r.Body.Close()
			return address
		}
		if time.Now().After(end) {
			j.t.Fatalf("the server of notebooks does not come up: %v", err)
		}
	}
}

// page is a notebook in the browser.
type page struct{ chromium.Page }

// output is what a cell shows; -1 is the last one.
func (p page) output(cell int) string {
	p.Helper()
	return p.Text(fmt.Sprintf(`[...document.querySelectorAll(".cell")].at(%d).querySelector(".output").innerText`,
		cell))
}

// typeIn types into a new cell at the end.
func (p page) typeIn(text, key string) {
	p.Helper()
	p.Script("new cell", `(() => { const n = Jupyter.notebook; n.select(n.ncells() - 1); n.insert_cell_below("code"); n.select(n.ncells() - 1); n.edit_mode(); n.get_selected_cell().focus_editor(); n.scroll_to_bottom() })()`)
	chromium.Do(p.Page, "type", chromedp.KeyEvent(text))
	if key != "" {
		chromium.Do(p.Page, "key", chromedp.KeyEvent(key))
	}
}

// run runs a new cell at the end and waits for its output.
func (p page) run(source string) {
	p.Helper()
	p.Script("run", fmt.Sprintf(`(() => { const n = Jupyter.notebook; n.select(n.ncells() - 1); n.insert_cell_below("code"); n.select(n.ncells() - 1); n.get_selected_cell().set_text(%q); n.execute_cells([n.ncells() - 1]) })()`, source))
	p.Until("the cell shows something", `[...document.querySelectorAll(".cell")].at(-1).querySelector(".output_subarea") != null`)
	p.Until("no cell runs", idle)
}

// shot keeps a picture of the page for people.
