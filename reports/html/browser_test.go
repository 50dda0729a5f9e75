package html

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wedgework/reports/require/chromium"
)

// screen is a page in Chromium with a report in it. A test that needs several opens them one after the other.
type screen struct{ chromium.Page }

func opened(t *testing.T) screen { return screen{chromium.Open(t, 1000, 1200)} }

const (
	output  = `document.querySelector(".chart output").textContent`
	anyText = `[...document.querySelectorAll(".chart svg text")].map(e => e.textContent).join("|")`
)

// at returns where a point lies that is fractions of the first panel's frame from its upper left corner.
func (s screen) at(fx, fy float64) (x, y float64) {
	s.Helper()
	type point struct{ X, Y float64 }
	p := chromium.Do(s.Page, "place", chromedp.Evaluate[point](`(() => {
		const c = document.querySelector(".chart"), d = JSON.parse(c.querySelector("script").textContent).p[0];
		c.scrollIntoView();
		const m = c.querySelector("svg").getScreenCTM();
		const q = new DOMPoint(d.l, d.o).matrixTransform(m), r = new DOMPoint(d.l + d.w, d.o + d.h).matrixTransform(m);
		window.frame = [q.x, q.y, r.x, r.y];
		return {X: q.x, Y: q.y};
	})()`))
	w := chromium.Do(s.Page, "width", chromedp.Evaluate[float64](`frame[2] - frame[0]`))
	h := chromium.Do(s.Page, "height", chromedp.Evaluate[float64](`frame[3] - frame[1]`))
	return p.X + fx*w, p.Y + fy*h
}

func (s screen) mouse(kind input.DispatchMouseEventType, fx, fy float64) {
	s.Helper()
	x, y := s.at(fx, fy)
	chromium.Do(s.Page, "pointer", chromedp.MouseEvent(kind, x, y, chromedp.ButtonType(input.MouseButtonLeft),
		chromedp.ClickCount(1)))
}

// Numbers are read off by the pointer and by the keys alone, a panel is enlarged and comes back, curves are hidden.
func TestBrowserReadsOff(t *testing.T) {
	s := opened(t)
	s.ShowFile("report.html", render(t, sample(t, same), options))
	s.Shot("light")
	s.Want("before", output, "Point at a value, or press Tab to come here and an arrow key.")

	// The pointer stands on the 21st of 41 readings: 1550 nm in the middle, 42 dB of 20 to 50 dB.
	x, y := s.at(0.5, (50-42.0)/30)
	chromium.Do(s.Page, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	const peak = "23 °C, measured: isolation 42.00 dB, U = 0.13 dB at wavelength 1550 nm (line 25 of 0417.csv)"
	plain := func(e string) string { return e + `.replace(/\u00a0/g, " ")` }
	s.Want("pointer", plain(output), peak)
	x, y = s.at(0.5, (50-41.0)/30+0.01)
	chromium.Do(s.Page, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	s.Want("pointer on the model", plain(output), "23 °C, specified model: isolation 41.00 dB, with its uncertainty "+
		"40.00 to 43.00 dB at wavelength 1550 nm")

	// By keys: from the top of the page with Tab until the figure has the focus.
	chromium.Do(s.Page, "top", chromedp.Evaluate[bool](`document.activeElement.blur(), getSelection().removeAllRanges(), true`))
	reached := false
	for range 30 {
		s.Press(kb.Tab)
		if s.Text(`document.activeElement.className`) == "plot" {
			reached = true
			break
		}
	}
	if !reached {
		t.Fatal("30 Tabs do not lead to the figure")
	}
	s.Press(kb.Escape, kb.ArrowRight)
	s.Want("first point", plain(output),
		"23 °C, measured: isolation 32.00 dB, U = 0.13 dB at wavelength 1530 nm (line 5 of 0417.csv)")
	s.Press(kb.ArrowRight, kb.ArrowRight, kb.ArrowDown)
	s.Want("the same wavelength on the next curve", plain(output), "23 °C, specified model: isolation 32.00 dB, with "+
		"its uncertainty 31.00 to 34.00 dB at wavelength 1532 nm")
	s.Press(kb.ArrowDown)
	s.Want("the same wavelength in the next panel", plain(output),
		"70 °C, measured: isolation 32.00 dB, U = 0.13 dB at wavelength 1532 nm (line 48 of 0417.csv)")
	s.Press(kb.End)
	s.Want("the last point", plain(output),
		"70 °C, measured: isolation 31.00 dB, U = 0.13 dB at wavelength 1570 nm (line 86 of 0417.csv)")
	s.Shot("keyboard")

	// Enlarged: the drawing is replaced by one of the range in view, and the point stays.
	const drawn, over = `[...document.querySelectorAll(".chart [data-panel]")].map(e => e.style.display).join()`,
		`document.querySelectorAll(".chart .enlarged").length`
	s.Press("+", "+")
	s.Want("enlarged, drawn", drawn, ",none,")
	s.Want("enlarged, over it", over, "1")
	if got := s.Text(anyText); !strings.Contains(got, "|1562|") {
		t.Errorf("the axis of a quarter of 40 nm shows %q, want 1562 nm", got)
	}
	s.Shot("enlarged")
	s.Press("0")
	s.Want("whole range, drawn", drawn, ",,")
	s.Want("whole range, over it", over, "0")

	// A frame drawn by the pointer.
	s.mouse(input.DispatchMouseEventTypeMousePressed, 0.4, 0.1)
	s.mouse(input.DispatchMouseEventTypeMouseMoved, 0.5, 0.3)
	s.mouse(input.DispatchMouseEventTypeMouseMoved, 0.6, 0.5)
	s.mouse(input.DispatchMouseEventTypeMouseReleased, 0.6, 0.5)
	s.Want("framed, drawn", drawn, "none,,")
	s.Shot("framed")
	chromium.Do(s.Page, "button", chromedp.Evaluate[bool](
		`[...document.querySelectorAll(".chart button")].find(b => b.textContent == "Whole range").click(), true`))
	s.Want("whole range by the button", over, "0")

	// A curve that is hidden is not drawn and not read.
	chromium.Do(s.Page, "hide", chromedp.Evaluate[bool](
		`[...document.querySelectorAll(".chart label")].find(l => l.textContent == " measured").firstChild.click(), true`))
	s.Want("hidden", `[...document.querySelector(".chart").querySelectorAll("[data-series='0']")]`+
		`.every(e => e.style.display == "none")`, "true")
	x, y = s.at(0.5, (50-42.0)/30)
	chromium.Do(s.Page, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	if got := s.Text(output); !strings.Contains(got, "specified model") {
		t.Errorf("with the readings hidden the pointer reads %q", got)
	}
	s.Want("figures with tools", `document.querySelectorAll(".tools").length`, "2")
}

// The page asks for nothing: not with its policy, and not without it either. Texts that want to be scripts do nothing.
func TestBrowserAsksForNothing(t *testing.T) {
	s := opened(t)
	var asked <-chan []string
	done := make(chan struct{})
	chromium.Do(s.Page, "watch", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if _, err := cdp.Call(ctx, target, network.Enable, network.EnableParams{}); err != nil {
			return err
		}
		ctx, cancel := context.WithCancel(s.Context)
		events := cdp.Events(ctx, target, network.RequestWillBeSent)
		all := make(chan []string, 1)
		asked = all
		go func() { <-done; cancel() }()
		go func() {
			var urls []string
			for e, err := range events {
				if err != nil {
					break
				}
				urls = append(urls, e.Request.URL)
			}
			all <- urls
		}()
		return nil
	}))
	payload := `"><script src="https://example.org/a.js">window.hacked = 1</script>` +
		`<img src="https://example.org/x.png" onerror="window.hacked = 1"><svg onload="window.hacked = 1">`
	d := sample(t, func(s string) string { return s + payload })
	page := renderFor(t, d, Options{Number: payload, Program: payload}, payload)
	bare := regexp.MustCompile(`<meta http-equiv="Content-Security-Policy"[^>]*>`).ReplaceAll(page, nil)
	if len(bare) == len(page) {
		t.Fatal("the page has no policy to take out")
	}
	for name, p := range map[string][]byte{"hostile": page, "hostile-bare": bare} {
		s.ShowFile(name+".html", p)
		s.Want(name+": tools", `document.querySelectorAll(".tools").length`, "2")
		s.Want(name+": hacked", `typeof window.hacked`, "undefined")
		chromium.Do(s.Page, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, 300, 300))
		chromium.Do(s.Page, "wait", chromedp.Sleep(200*time.Millisecond))
	}
	// The policy holds where the escaping would not: a script that is put into the page does not run.
	s.ShowFile("forged.html", bytes.Replace(page, []byte("</main>"),
		[]byte(`<script>window.hacked = 1</script></main>`), 1))
	s.Want("forged: hacked", `typeof window.hacked`, "undefined")
	chromium.Do(s.Page, "wait", chromedp.Sleep(200*time.Millisecond))
	close(done)
	for _, url := range <-asked {
		if !strings.HasPrefix(url, "file://") && !strings.HasPrefix(url, "data:") {
			t.Errorf("the page asks for %s", url)
		}
	}
}

// In the dark, in print, at 200 % and on a narrow screen, and with scripts off.
func TestBrowserElsewhere(t *testing.T) {
	s := opened(t)
	page := render(t, sample(t, same), options)
	const ground = `getComputedStyle(document.body).backgroundColor`
	media := func(kind, scheme string) {
		chromium.Call(s.Page, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind,
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	}
	media("", "light")
	s.ShowFile("report.html", page)
	s.Want("light", ground, "rgb(255, 255, 255)")
	media("", "dark")
	s.Want("dark", ground, "rgb(26, 26, 26)")
	s.Shot("dark")
	media("print", "dark")
	s.Want("print in the dark", ground, "rgb(255, 255, 255)")
	s.Want("tools in print", `getComputedStyle(document.querySelector(".tools")).display`, "none")
	printed := chromium.Do(s.Page, "print", chromedp.PrintToPDF())
	if folder := os.Getenv("WEDGEWORK_SCREENSHOTS"); folder != "" {
		if err := os.WriteFile(filepath.Join(folder, "print.pdf"), printed, 0o644); err != nil {
			t.Error(err)
		}
	}
	media("", "light")

	// 1280 pixels at 200 % are 640; 320 is what WCAG 2.2, 1.4.10 asks for: nothing needs to be moved sideways.
	for name, width := range map[string]int64{"zoom-200": 500, "narrow": 320} {
		chromium.Do(s.Page, "size", chromedp.EmulateViewport(width, 800, chromedp.EmulateScale(2)))
		s.Want(name+": sideways", `document.documentElement.scrollWidth <= innerWidth`, "true")
		s.Shot(name)
	}
	chromium.Do(s.Page, "size", chromedp.EmulateViewport(1000, 1200))

	chromium.Call(s.Page, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	s.ShowFile("report.html", page)
	s.Shot("no-scripts")
	chromium.Call(s.Page, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{})
	s.Want("tools without scripts", `document.querySelectorAll(".tools").length`, "0")
	s.Want("figures without scripts",
		`[...document.querySelectorAll(".chart svg")].every(e => e.getBoundingClientRect().height > 100)`, "true")
}
