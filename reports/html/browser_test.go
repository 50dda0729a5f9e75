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

	"wedgework/reports/require"
)

// screen is a page in Chromium.
type screen struct {
	*testing.T
	ctx context.Context
}

// opened starts the browser. A test that needs several pages opens them one after the other.
func opened(t *testing.T) screen {
	t.Helper()
	browser := require.Tool(t, "chromium")
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(browser), chromedp.NoSandbox, chromedp.WindowSize(1000, 1200),
		chromedp.UserDataDir(filepath.Join(t.TempDir(), "chromium")))...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	return screen{t, ctx}
}

func run[T any](s screen, what string, action chromedp.Action[T]) T {
	s.Helper()
	v, err := chromedp.Run(s.ctx, action)
	if err != nil {
		s.Fatalf("%s: %v", what, err)
	}
	return v
}

func command[P, R any](s screen, c cdp.Command[P, R], params P) {
	s.Helper()
	run(s, c.Method, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, c, params)
		return err
	}))
}

func (s screen) text(expression string) string {
	s.Helper()
	return run(s, expression, chromedp.Evaluate[string](`String(`+expression+`)`))
}

func (s screen) want(what, expression, want string) {
	s.Helper()
	if got := s.text(expression); got != want {
		s.Errorf("%s: %q, want %q", what, got, want)
	}
}

// open shows a page from a file, as an attachment of a mail is shown.
func (s screen) open(name string, page []byte) {
	s.Helper()
	path := filepath.Join(s.TempDir(), name+".html")
	if err := os.WriteFile(path, page, 0o644); err != nil {
		s.Fatal(err)
	}
	run(s, "open", chromedp.Navigate("file://"+path))
}

// shot keeps a picture of the page for people.
func (s screen) shot(name string) {
	s.Helper()
	if folder := os.Getenv("WEDGEWORK_SCREENSHOTS"); folder != "" {
		picture := run(s, "screenshot", chromedp.FullScreenshot(100))
		if err := os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644); err != nil {
			s.Error(err)
		}
	}
}

func (s screen) press(keys ...string) {
	s.Helper()
	for _, k := range keys {
		run(s, "key", chromedp.KeyEvent(k))
	}
}

const (
	output  = `document.querySelector(".chart output").textContent`
	anyText = `[...document.querySelectorAll(".chart svg text")].map(e => e.textContent).join("|")`
)

// at returns where a point lies that is fractions of the first panel's frame from its upper left corner.
func (s screen) at(fx, fy float64) (x, y float64) {
	s.Helper()
	type point struct{ X, Y float64 }
	p := run(s, "place", chromedp.Evaluate[point](`(() => {
		const c = document.querySelector(".chart"), d = JSON.parse(c.querySelector("script").textContent).p[0];
		c.scrollIntoView();
		const m = c.querySelector("svg").getScreenCTM();
		const q = new DOMPoint(d.l, d.o).matrixTransform(m), r = new DOMPoint(d.l + d.w, d.o + d.h).matrixTransform(m);
		window.frame = [q.x, q.y, r.x, r.y];
		return {X: q.x, Y: q.y};
	})()`))
	w := run(s, "width", chromedp.Evaluate[float64](`frame[2] - frame[0]`))
	h := run(s, "height", chromedp.Evaluate[float64](`frame[3] - frame[1]`))
	return p.X + fx*w, p.Y + fy*h
}

func (s screen) mouse(kind input.DispatchMouseEventType, fx, fy float64) {
	s.Helper()
	x, y := s.at(fx, fy)
	run(s, "pointer", chromedp.MouseEvent(kind, x, y, chromedp.ButtonType(input.MouseButtonLeft), chromedp.ClickCount(1)))
}

// Numbers are read off by the pointer and by the keys alone, a panel is enlarged and comes back, curves are hidden.
func TestBrowserReadsOff(t *testing.T) {
	s := opened(t)
	s.open("report", render(t, sample(t, same), options))
	s.shot("light")
	s.want("before", output, "Point at a value, or press Tab to come here and an arrow key.")

	// The pointer stands on the 21st of 41 readings: 1550 nm in the middle, 42 dB of 20 to 50 dB.
	x, y := s.at(0.5, (50-42.0)/30)
	run(s, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	const peak = "23 °C, measured: isolation 42.00 dB, U = 0.13 dB at wavelength 1550 nm (line 25 of 0417.csv)"
	plain := func(e string) string { return e + `.replace(/\u00a0/g, " ")` }
	s.want("pointer", plain(output), peak)
	x, y = s.at(0.5, (50-41.0)/30+0.01)
	run(s, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	s.want("pointer on the model", plain(output), "23 °C, specified model: isolation 41.00 dB, "+
		"with its uncertainty 40.00 to 43.00 dB at wavelength 1550 nm")

	// By keys: from the top of the page with Tab until the figure has the focus.
	run(s, "top", chromedp.Evaluate[bool](`document.activeElement.blur(), getSelection().removeAllRanges(), true`))
	reached := false
	for range 30 {
		s.press(kb.Tab)
		if s.text(`document.activeElement.className`) == "plot" {
			reached = true
			break
		}
	}
	if !reached {
		t.Fatal("30 Tabs do not lead to the figure")
	}
	s.press(kb.Escape, kb.ArrowRight)
	s.want("first point", plain(output),
		"23 °C, measured: isolation 32.00 dB, U = 0.13 dB at wavelength 1530 nm (line 5 of 0417.csv)")
	s.press(kb.ArrowRight, kb.ArrowRight, kb.ArrowDown)
	s.want("the same wavelength on the next curve", plain(output), "23 °C, specified model: isolation 32.00 dB, "+
		"with its uncertainty 31.00 to 34.00 dB at wavelength 1532 nm")
	s.press(kb.ArrowDown)
	s.want("the same wavelength in the next panel", plain(output),
		"70 °C, measured: isolation 32.00 dB, U = 0.13 dB at wavelength 1532 nm (line 48 of 0417.csv)")
	s.press(kb.End)
	s.want("the last point", plain(output),
		"70 °C, measured: isolation 31.00 dB, U = 0.13 dB at wavelength 1570 nm (line 86 of 0417.csv)")
	s.shot("keyboard")

	// Enlarged: the drawing is replaced by one of the range in view, and the point stays.
	const drawn, over = `[...document.querySelectorAll(".chart [data-panel]")].map(e => e.style.display).join()`,
		`document.querySelectorAll(".chart .enlarged").length`
	s.press("+", "+")
	s.want("enlarged, drawn", drawn, ",none,")
	s.want("enlarged, over it", over, "1")
	if got := s.text(anyText); !strings.Contains(got, "|1562|") {
		t.Errorf("the axis of a quarter of 40 nm shows %q, want 1562 nm", got)
	}
	s.shot("enlarged")
	s.press("0")
	s.want("whole range, drawn", drawn, ",,")
	s.want("whole range, over it", over, "0")

	// A frame drawn by the pointer.
	s.mouse(input.DispatchMouseEventTypeMousePressed, 0.4, 0.1)
	s.mouse(input.DispatchMouseEventTypeMouseMoved, 0.5, 0.3)
	s.mouse(input.DispatchMouseEventTypeMouseMoved, 0.6, 0.5)
	s.mouse(input.DispatchMouseEventTypeMouseReleased, 0.6, 0.5)
	s.want("framed, drawn", drawn, "none,,")
	s.shot("framed")
	run(s, "button", chromedp.Evaluate[bool](
		`[...document.querySelectorAll(".chart button")].find(b => b.textContent == "Whole range").click(), true`))
	s.want("whole range by the button", over, "0")

	// A curve that is hidden is not drawn and not read.
	run(s, "hide", chromedp.Evaluate[bool](
		`[...document.querySelectorAll(".chart label")].find(l => l.textContent == " measured").firstChild.click(), true`))
	s.want("hidden", `[...document.querySelector(".chart").querySelectorAll("[data-series='0']")]`+
		`.every(e => e.style.display == "none")`, "true")
	x, y = s.at(0.5, (50-42.0)/30)
	run(s, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y))
	if got := s.text(output); !strings.Contains(got, "specified model") {
		t.Errorf("with the readings hidden the pointer reads %q", got)
	}
	s.want("figures with tools", `document.querySelectorAll(".tools").length`, "2")
}

// The page asks for nothing: not with its policy, and not without it either. Texts that want to be scripts do nothing.
func TestBrowserAsksForNothing(t *testing.T) {
	s := opened(t)
	var asked <-chan []string
	done := make(chan struct{})
	run(s, "watch", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if _, err := cdp.Call(ctx, target, network.Enable, network.EnableParams{}); err != nil {
			return err
		}
		ctx, cancel := context.WithCancel(s.ctx)
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
		s.open(name, p)
		s.want(name+": tools", `document.querySelectorAll(".tools").length`, "2")
		s.want(name+": hacked", `typeof window.hacked`, "undefined")
		run(s, "move", chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, 300, 300))
		run(s, "wait", chromedp.Sleep(200*time.Millisecond))
	}
	// The policy holds where the escaping would not: a script that is put into the page does not run.
	s.open("forged", bytes.Replace(page, []byte("</main>"),
		[]byte(`<script>window.hacked = 1</script></main>`), 1))
	s.want("forged: hacked", `typeof window.hacked`, "undefined")
	run(s, "wait", chromedp.Sleep(200*time.Millisecond))
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
		command(s, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind,
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	}
	media("", "light")
	s.open("report", page)
	s.want("light", ground, "rgb(255, 255, 255)")
	media("", "dark")
	s.want("dark", ground, "rgb(26, 26, 26)")
	s.shot("dark")
	media("print", "dark")
	s.want("print in the dark", ground, "rgb(255, 255, 255)")
	s.want("tools in print", `getComputedStyle(document.querySelector(".tools")).display`, "none")
	printed := run(s, "print", chromedp.PrintToPDF())
	if folder := os.Getenv("WEDGEWORK_SCREENSHOTS"); folder != "" {
		if err := os.WriteFile(filepath.Join(folder, "print.pdf"), printed, 0o644); err != nil {
			t.Error(err)
		}
	}
	media("", "light")

	// 1280 pixels at 200 % are 640; 320 is what WCAG 2.2, 1.4.10 asks for: nothing needs to be moved sideways.
	for name, width := range map[string]int64{"zoom-200": 500, "narrow": 320} {
		run(s, "size", chromedp.EmulateViewport(width, 800, chromedp.EmulateScale(2)))
		s.want(name+": sideways", `document.documentElement.scrollWidth <= innerWidth`, "true")
		s.shot(name)
	}
	run(s, "size", chromedp.EmulateViewport(1000, 1200))

	command(s, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	s.open("report", page)
	s.shot("no-scripts")
	command(s, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{})
	s.want("tools without scripts", `document.querySelectorAll(".tools").length`, "0")
	s.want("figures without scripts",
		`[...document.querySelectorAll(".chart svg")].every(e => e.getBoundingClientRect().height > 100)`, "true")
}
