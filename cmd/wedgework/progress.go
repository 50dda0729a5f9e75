package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

// narrow is a terminal's width where it does not say.
const narrow = 80

// watcher is told of long work. It leaves no trace in the outputs.
type watcher func(session.Progress, func(notebook.Output) error)

// watcher returns what shows long work on the terminal, nil when standard error is none: a log is not to be filled
// with bars.
func (a *app) watcher() watcher {
	f, ok := a.terminal.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return func(p session.Progress, _ func(notebook.Output) error) {
		width, _, err := term.GetSize(int(f.Fd()))
		if err != nil || width <= 0 {
			width = narrow
		}
		drawBar(f, p, width)
	}
}

// barWidth is how many characters of a line the bar itself takes. A choice.
const barWidth = 20

// drawBar draws over the line before it; when the work is over it takes the line away, since results and messages
// stand where it stood.
func drawBar(w io.Writer, p session.Progress, width int) {
	const erase = "\r\x1b[K"
	if p.Over {
		io.WriteString(w, erase)
		return
	}
	line := p.String()
	if p.Total > 0 {
		done := int(p.Part() * barWidth)
		line = "[" + strings.Repeat("#", done) + strings.Repeat(".", barWidth-done) + "] " + line
	}
	if r := []rune(line); len(r) >= width { // one that is full wraps, and would not be drawn over
		line = string(r[:width-1])
	}
	fmt.Fprint(w, erase, line)
}
