// Package chromium shows pages in Chromium, for tests that look at what a person would see there.
package chromium

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"

	"wedgework/reports/require"
)

// Page is a window of the browser and the test that it belongs to. What goes wrong in it ends the test.
type Page struct {
	testing.TB
	Context context.Context
}

// whole is for how long a browser may be open: long enough for the longest test under load.
const whole = 4 * time.Minute

// Open starts a browser with a window of a size in pixels, which ends with the test.
func Open(t testing.TB, width, height int) Page {
	t.Helper()
	require.Thorough(t, "a browser takes seconds")
	program := require.Tool(t, "chromium")
	ctx, cancel := context.WithTimeout(t.Context(), whole)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.WindowSize(width, height),
		chromedp.UserDataDir(filepath.Join(t.TempDir(), "chromium")))...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	return Page{t, ctx}
}

// Do does one thing in a page and returns its result; what it is called is said where it fails.
func Do[T any](p Page, what string, action chromedp.Action[T]) T {
	p.Helper()
	v, err := chromedp.Run(p.Context, action)
	if err != nil {
		p.fail(what, err)
	}
	return v
}

// Call gives a command of the browser's protocol.
func Call[P, R any](p Page, c cdp.Command[P, R], params P) {
	p.Helper()
	Do(p, c.Method, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, c, params)
		return err
	}))
}

// Script runs a piece of script, whatever its value.
func (p Page) Script(what, source string) {
	p.Helper()
	Do(p, what, chromedp.Evaluate[bool](source+"; true"))
}

// Text returns the value of an expression as text.
func (p Page) Text(expression string) string {
	p.Helper()
	return Do(p, expression, chromedp.Evaluate[string](`String(`+expression+`)`))
}

// Want compares the value of an expression with what it should be.
func (p Page) Want(what, expression, want string) {
	p.Helper()
	if got := p.Text(expression); got != want {
		p.Errorf("%s: %q, want %q", what, got, want)
	}
}

// Until waits until an expression is true, for a minute at most.
func (p Page) Until(what, expression string) {
	p.Helper()
	err := errors.New("false")
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var holds bool
		holds, err = chromedp.Run(p.Context, chromedp.Evaluate[bool](`!!(`+expression+`)`))
		if err == nil && holds {
			return
		}
		if p.Context.Err() != nil {
			break
		}
	}
	p.fail("not within a minute: "+what, err)
}

// Press presses keys one after another.
func (p Page) Press(keys ...string) {
	p.Helper()
	for _, k := range keys {
		Do(p, "key", chromedp.KeyEvent(k))
	}
}

// ShowFile shows a page from a file, as an attachment of a mail or a page of a file share is shown.
func (p Page) ShowFile(name string, content []byte) {
	p.Helper()
	path := filepath.Join(p.TempDir(), name)
	if err := os.WriteFile(path, content, 0o644); err != nil {
		p.Fatal(err)
	}
	Do(p, "open", chromedp.Navigate("file://"+path))
}

// Shot keeps a picture of the whole page, as PNG, in the folder that WEDGEWORK_SCREENSHOTS names: for people to look
// at.
func (p Page) Shot(name string) {
	p.Helper()
	folder := os.Getenv("WEDGEWORK_SCREENSHOTS")
	if folder == "" {
		return
	}
	picture, err := chromedp.Run(p.Context, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644)
	}
	if err != nil {
		p.Errorf("picture of %s: %v", name, err)
	}
}

func (p Page) fail(what string, err error) {
	p.Helper()
	p.Shot("failure")
	p.Fatalf("%s: %v", what, err)
}
