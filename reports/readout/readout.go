// Package readout is what a figure on a screen needs for a person to read numbers off it: where its panels lie, what is
// plotted in them, how well each value is known and from which line of which file it was read; and the script that
// shows it, which works with the pointer and with the keyboard alike, enlarges a panel, and hides and shows curves.
//
// The script is one file without dependencies. It looks for elements of the class "chart" that hold an SVG drawing and,
// in a script element of the type application/json, a Figure; without it, or where scripts are off, the drawing stands
// as it is. The package draws nothing and chooses nothing.
package readout

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
)

// Script is the program, as it stands in a page.
//
//go:embed readout.js
var Script string

// Notebook is the program as an output of a notebook carries it: the same without its comments and indentation. It runs
// once in a page, however many outputs carry it, and takes the figures of the class "chart wedgework" that come later
// too.
var Notebook = sync.OnceValue(func() string {
	b := strings.Builder{}
	b.WriteString("window.wedgeworkNotebook = true;\n")
	for line := range strings.Lines(Script) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "//") {
			b.WriteString(line + "\n")
		}
	}
	return b.String()
})

// Decimals are those in which reports print figures of a unit: losses as package record does, wavelengths as conditions
// are written, where the script leaves out zeros at the end. Others follow from the axis.
func Decimals(unit string) (n int, ok bool) {
	switch unit {
	case "dB":
		return 2, true
	case "nm":
		return 3, true
	}
	return 0, false
}

// MostPoints bounds the points of a figure that can be read off: more would make a page of many megabytes, and lie
// closer than a pointer can tell apart. It is a choice.
const MostPoints = 20000

// Figure is a drawing of panels. Lengths are in points of the drawing, y downwards.
type Figure struct {
	Width  float64 `json:"w"`
	Height float64 `json:"h"`
	Panels []Panel `json:"p"`
}

// Panel is a frame with two axes, and what is plotted in it.
type Panel struct {
	Title  string   `json:"t,omitempty"`
	Left   Rounded  `json:"l"`
	Top    Rounded  `json:"o"`
	Width  Rounded  `json:"w"`
	Height Rounded  `json:"h"`
	X      Axis     `json:"x"`
	Y      Axis     `json:"y"`
	Series []Series `json:"s,omitempty"`
	Bands  []Band   `json:"b,omitempty"`
	Limits []Limit  `json:"m,omitempty"`
	Right  *Axis    `json:"r,omitempty"` // of the series and limits that are Right
	Grid   *Grid    `json:"z,omitempty"`
	Notes  []Note   `json:"a,omitempty"`
}

// Axis runs from Low to High, which lie at the left and right, or at the bottom and top, of the frame.
type Axis struct {
	Label    string  `json:"n"`
	Unit     string  `json:"u,omitempty"`
	Low      float64 `json:"a"`
	High     float64 `json:"b"`
	Log      bool    `json:"g,omitempty"`
	Decimals int     `json:"d"` // of a value that is read off
}

// Series is a curve or a set of points. A gap is a NaN.
type Series struct {
	Label string    `json:"n"`
	Color string    `json:"c"` // "#0072b2"
	Mark  string    `json:"k,omitempty"`
	Line  bool      `json:"i,omitempty"`
	Dash  []float64 `json:"d,omitempty"`
	Width Rounded   `json:"w"`
	X     Numbers   `json:"x"`
	Y     Numbers   `json:"y"`
	Err   Numbers   `json:"e,omitempty"` // half lengths of the bars
	U     Numbers   `json:"u,omitempty"` // expanded uncertainties
	Lines []int     `json:"q,omitempty"` // of File, from which the points were read
	File  string    `json:"f,omitempty"`
	Right bool      `json:"z,omitempty"` // Y is of the axis at the right
}

// Grid is a quantity over both axes: Values[j][i] belongs to X[i] and Y[j]. A gap is a NaN.
type Grid struct {
	X      Numbers   `json:"x"`
	Y      Numbers   `json:"y"`
	Values []Numbers `json:"v"`
	Z      Axis      `json:"z"`           // of the values: Low and High are the ends of the colours
	Map    bool      `json:"k,omitempty"` // it is shown by colours
	Colors []string  `json:"c,omitempty"` // from Low to High
}

// Note is a text at a point, or along a line where one coordinate is NaN.
type Note struct {
	Text string  `json:"n"`
	At   Numbers `json:"v"`
}

// Band is the area between two curves over the same X.
type Band struct {
	Label string  `json:"n"`
	Of    string  `json:"o,omitempty"` // label of the series that lies in it
	Color string  `json:"c"`
	X     Numbers `json:"x"`
	Low   Numbers `json:"l"`
	High  Numbers `json:"h"`
}

// Limit is a straight line across a panel.
type Limit struct {
	Label    string  `json:"n,omitempty"`
	At       float64 `json:"v"`
	Vertical bool    `json:"y,omitempty"`
	From     float64 `json:"a,omitempty"` // both zero: from edge to edge
	To       float64 `json:"b,omitempty"`
	Side     int     `json:"s,omitempty"` // 1: what is above is forbidden; -1: below
	Right    bool    `json:"z,omitempty"` // at a value of the axis at the right
	Color    string  `json:"c"`
}

// Recorder is a canvas that is told what is drawn on it. A drawing that finds one calls Panel, with the upper left
// corner of the frame in the coordinates of the canvas, which count upwards, and gets the panel's number. It calls
// Begin and End around all that belongs to one part of that panel; parts may come in several pieces.
type Recorder interface {
	Panel(p Panel) int
	Begin(part Part, index int)
	End()
}

// Part is what a piece of a panel's drawing belongs to.
type Part string

// Parts of a drawing: the whole panel, which holds all else of it; a series; a band.
const (
	WholePanel Part = "panel"
	ASeries    Part = "series"
	ABand      Part = "band"
)

// Points counts the points of a figure.
func (f *Figure) Points() int {
	n := 0
	for _, p := range f.Panels {
		for _, s := range p.Series {
			n += len(s.X)
		}
		for _, b := range p.Bands {
			n += len(b.X)
		}
		if p.Grid != nil {
			n += len(p.Grid.X) * len(p.Grid.Y)
		}
	}
	return n
}

// JSON returns the figure for the script. Nothing in it ends a script element of HTML.
func (f *Figure) JSON() ([]byte, error) {
	data, err := json.Marshal(f) // which escapes <, > and &
	if err != nil {
		return nil, fmt.Errorf("readout: %w", err)
	}
	return data, nil
}

// decimals tell values of an axis apart to a two-thousandth of its length, at most nine.
func (a Axis) decimals() int {
	length := a.High - a.Low
	if a.Log {
		length = a.Low // the least value sets the step
	}
	if !(length > 0) {
		return 3
	}
	const steps = 2000
	return int(min(max(math.Ceil(math.Log10(steps/length)), 0), 9))
}

// fine returns what rounds positions on the axis to a ten-thousandth of its length, or of the least value where it is
// logarithmic, which is less than a tenth of a point of any figure: digits beyond that nobody sees, and the last ones
// are the processor's. A millionth was the only difference between processors in one of 38 reports.
func (a Axis) fine() func(float64) float64 {
	length := a.High - a.Low
	if a.Log {
		length = a.Low
	}
	if !(length > 0) {
		return func(v float64) float64 { return v }
	}
	decimals := int(min(max(math.Ceil(4-math.Log10(length)), 0), 300))
	return func(v float64) float64 { return Numbers{v}.rounded(decimals)[0] }
}

// Settle gives axes the decimals of their unit; those that known does not know follow from the length of the axis.
// Values are rounded so.
func (f *Figure) Settle(known func(unit string) (decimals int, ok bool)) {
	for i := range f.Panels {
		p := &f.Panels[i]
		axes := []*Axis{&p.X, &p.Y}
		if p.Right != nil {
			axes = append(axes, p.Right)
		}
		if p.Grid != nil {
			axes = append(axes, &p.Grid.Z)
		}
		for _, a := range axes {
			n, ok := known(a.Unit)
			if !ok {
				n = a.decimals()
			}
			a.Decimals = n
			fine := a.fine()
			a.Low, a.High = fine(a.Low), fine(a.High)
		}
		for j := range p.Series {
			s := &p.Series[j]
			y := p.Y
			if s.Right {
				y = *p.Right
			}
			s.X, s.Y = s.X.rounded(p.X.Decimals), s.Y.rounded(y.Decimals)
			s.Err, s.U = s.Err.rounded(y.Decimals), s.U.rounded(y.Decimals)
		}
		p.Grid.settle(p.X, p.Y)
		for j := range p.Bands {
			b := &p.Bands[j]
			b.X, b.Low, b.High = b.X.rounded(p.X.Decimals), b.Low.rounded(p.Y.Decimals), b.High.rounded(p.Y.Decimals)
		}
	}
}

// settle rounds the values of a grid.
func (g *Grid) settle(x, y Axis) {
	if g == nil {
		return
	}
	g.X, g.Y = g.X.rounded(x.Decimals), g.Y.rounded(y.Decimals)
	for j, row := range g.Values {
		g.Values[j] = row.rounded(g.Z.Decimals)
	}
}

// Numbers are values of an axis; NaN is written as null.
type Numbers []float64

// MarshalJSON writes each number with the digits that it needs.
func (n Numbers) MarshalJSON() ([]byte, error) {
	out := append(make([]byte, 0, 8*len(n)+2), '[')
	for i, v := range n {
		if i > 0 {
			out = append(out, ',')
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			out = append(out, "null"...)
			continue
		}
		out = strconv.AppendFloat(out, v, 'g', -1, 64)
	}
	return append(out, ']'), nil
}

// rounded returns the values as they are printed with so many decimals.
func (n Numbers) rounded(decimals int) Numbers {
	if n == nil {
		return nil
	}
	out := make(Numbers, len(n))
	for i, v := range n {
		out[i] = v
		if r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64); err == nil {
			out[i] = r + 0 // no negative zero
		}
	}
	return out
}

// Rounded is a length of a drawing, written with two decimals.
type Rounded float64

// MarshalJSON implements json.Marshaler.
func (r Rounded) MarshalJSON() ([]byte, error) {
	v, err := strconv.ParseFloat(strconv.FormatFloat(float64(r), 'f', 2, 64), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, fmt.Errorf("readout: %g is no length", float64(r))
	}
	return strconv.AppendFloat(nil, v, 'f', -1, 64), nil
}
