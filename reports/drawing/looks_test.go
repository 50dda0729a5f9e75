package drawing

import (
	"fmt"
	"image/color"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"

	"wedgework/reports/document"

	"wedgework/reports/golden"
)

// sized records drawing calls on a canvas of a size.
type sized struct {
	recorder.Canvas
	w, h vg.Length
}

func (s *sized) Size() (x, y vg.Length) { return s.w, s.h }

func recorded(t *testing.T, f document.Figure, w, h vg.Length) []recorder.Action {
	t.Helper()
	s := &sized{w: w, h: h}
	if err := f.Drawing.Draw(s); err != nil {
		t.Fatal(err)
	}
	return s.Actions
}

// called writes a drawing call with its places to a tenth of a point, so that the last bits of another processor do not
// matter.
func called(a recorder.Action) string {
	path := func(p vg.Path) string {
		var b strings.Builder
		for i, k := range p {
			if i == 5 && len(p) > 7 {
				fmt.Fprintf(&b, " ... %d in all", len(p))
				break
			}
			fmt.Fprintf(&b, " %s%.1f,%.1f", []string{"M", "L", "A", "C", "Z"}[k.Type], k.Pos.X+0, k.Pos.Y+0)
		}
		return b.String()
	}
	switch a := a.(type) {
	case *recorder.Stroke:
		return "stroke" + path(a.Path)
	case *recorder.Fill:
		return "fill" + path(a.Path)
	case *recorder.FillString:
		return fmt.Sprintf("text %q at %.1f,%.1f size %g", a.String, a.Point.X, a.Point.Y, a.Size)
	case *recorder.SetColor:
		r, g, b, _ := a.Color.RGBA()
		return fmt.Sprintf("color %02x%02x%02x", r>>8, g>>8, b>>8)
	case *recorder.SetLineWidth:
		return fmt.Sprintf("width %.2f", a.Width)
	case *recorder.SetLineDash:
		return fmt.Sprintf("dash %g", a.Dashes)
	}
	return strings.TrimPrefix(fmt.Sprintf("%T", a), "*recorder.")
}

// What the drawings say in words, and the calls that draw the single stage.
func TestGoldens(t *testing.T) {
	all := designs(t)
	var words strings.Builder
	for _, name := range slices.Sorted(maps.Keys(all)) {
		d := drawn(t, all[name])
		for _, f := range []document.Figure{d.Rays(), d.Ends()} {
			fmt.Fprintf(&words, "%s\n%s\n%s\n\n", name, f.Caption, strings.ReplaceAll(f.Text, ". ", ".\n"))
		}
	}
	golden.Compare(t, "words.txt", words.String())
	d := drawn(t, all["single"])
	for name, f := range map[string]document.Figure{"rays.txt": d.Rays(), "ends.txt": d.Ends()} {
		var b strings.Builder
		state := map[string]string{}
		for _, a := range recorded(t, f, f.Width, f.Height) {
			line := called(a)
			kind, _, set := strings.Cut(line, " ")
			if set && kind != "stroke" && kind != "fill" && kind != "text" {
				if state[kind] == line {
					continue // nothing new
				}
				state[kind] = line
			}
			b.WriteString(line + "\n")
		}
		golden.Compare(t, name, b.String())
	}
}

// No text lies on another or leaves the sheet, the ground is white, and the same strokes come in the same order twice.
// On a canvas of another shape the drawing keeps its own.
func TestEveryDesignIsReadable(t *testing.T) {
	for name, s := range designs(t) {
		d := drawn(t, s)
		for i, f := range []document.Figure{d.Rays(), d.Ends()} {
			actions := recorded(t, f, f.Width, f.Height)
			var boxes []vg.Rectangle
			var texts []string
			for _, a := range actions {
				x, ok := a.(*recorder.FillString)
				if !ok {
					continue
				}
				face := textBox(x)
				if face.Min.X < 0 || face.Min.Y < 0 || face.Max.X > f.Width || face.Max.Y > f.Height {
					t.Errorf("%s, figure %d: %q leaves the sheet: %v", name, i+1, x.String, face)
				}
				for k, o := range boxes {
					if o.Min.X < face.Max.X && face.Min.X < o.Max.X && o.Min.Y < face.Max.Y && face.Min.Y < o.Max.Y {
						t.Errorf("%s, figure %d: %q lies on %q", name, i+1, x.String, texts[k])
					}
				}
				boxes, texts = append(boxes, face), append(texts, x.String)
			}
			for _, x := range acrossMagnets(actions) {
				t.Errorf("%s, figure %d: %q lies across the edge of a magnet", name, i+1, x)
			}
			for _, x := range throughWaist(actions) {
				t.Errorf("%s, figure %d: a line passes through %q", name, i+1, x)
			}
			if len(texts) < 10 {
				t.Errorf("%s, figure %d: only the texts %q", name, i+1, texts)
			}
			first := slices.IndexFunc(actions, func(a recorder.Action) bool { _, ok := a.(*recorder.Fill); return ok })
			ground := called(actions[first-1]) + ", " + called(actions[first])
			if want := fmt.Sprintf("color ffffff, fill M0.0,0.0 L%.1f,0.0 L%.1f,%.1f L0.0,%.1f Z0.0,0.0", f.Width,
				f.Width, f.Height, f.Height); ground != want {
				t.Errorf("%s, figure %d begins with %s, want %s", name, i+1, ground, want)
			}
			again := recorded(t, drawn(t, s).Rays(), f.Width, f.Height)
			if i == 1 {
				again = recorded(t, drawn(t, s).Ends(), f.Width, f.Height)
			}
			if diff := cmp.Diff(lines(actions), lines(again)); diff != "" {
				t.Errorf("%s, figure %d comes out otherwise the second time:\n%s", name, i+1, diff)
			}
			small := lines(recorded(t, f, f.Width/2, f.Height))
			if got := lines(actions); len(small) != len(got) || small[len(small)-3] != got[len(got)-3] {
				t.Errorf("%s, figure %d is drawn otherwise on a narrow canvas", name, i+1)
			}
			if err := f.Drawing.Draw(&sized{}); err == nil {
				t.Errorf("%s, figure %d was drawn on a canvas without room", name, i+1)
			}
		}
	}
}

// textBox is what a text covers: capitals stand 0.72 of the size high, and hardly a letter here has a tail.
func textBox(x *recorder.FillString) vg.Rectangle {
	return vg.Rectangle{Min: x.Point, Max: vg.Point{X: x.Point.X + width(x.String, x.Size, x.Size == titleSize),
		Y: x.Point.Y + 0.72*x.Size}}
}

// throughWaist returns the words at the waist if a line down from a lens face passes through them.
func throughWaist(actions []recorder.Action) (all []string) {
	var upright []vg.Path
	for _, a := range actions {
		if s, ok := a.(*recorder.Stroke); ok && len(s.Path) == 2 && s.Path[0].Pos.X == s.Path[1].Pos.X {
			upright = append(upright, s.Path)
		}
	}
	for _, a := range actions {
		x, ok := a.(*recorder.FillString)
		if !ok || !strings.HasPrefix(x.String, "waist") {
			continue
		}
		b := textBox(x)
		for _, p := range upright {
			lo, hi := min(p[0].Pos.Y, p[1].Pos.Y), max(p[0].Pos.Y, p[1].Pos.Y)
			if p[0].Pos.X > b.Min.X && p[0].Pos.X < b.Max.X && lo < b.Max.Y && hi > b.Min.Y {
				all = append(all, x.String)
			}
		}
	}
	return all
}

// acrossMagnets returns the texts that lie partly on a magnet.
func acrossMagnets(actions []recorder.Action) (all []string) {
	var magnets []vg.Rectangle
	var fill color.Color
	for _, a := range actions {
		switch a := a.(type) {
		case *recorder.SetColor:
			fill = a.Color
		case *recorder.Fill:
			if fill != color.Color(magnetTint) {
				continue
			}
			r := vg.Rectangle{Min: a.Path[0].Pos, Max: a.Path[0].Pos}
			for _, c := range a.Path[:4] {
				r.Min = vg.Point{X: min(r.Min.X, c.Pos.X), Y: min(r.Min.Y, c.Pos.Y)}
				r.Max = vg.Point{X: max(r.Max.X, c.Pos.X), Y: max(r.Max.Y, c.Pos.Y)}
			}
			if r.Max.X-r.Min.X > 2*textSize { // no ground of a pole's letter
				magnets = append(magnets, r)
			}
		case *recorder.FillString:
			b := textBox(a)
			for _, m := range magnets {
				inside := b.Min.X > m.Min.X && b.Max.X < m.Max.X && b.Min.Y > m.Min.Y && b.Max.Y < m.Max.Y
				if b.Min.X < m.Max.X && m.Min.X < b.Max.X && b.Min.Y < m.Max.Y && m.Min.Y < b.Max.Y && !inside {
					all = append(all, a.String)
				}
			}
		}
	}
	return all
}

func lines(actions []recorder.Action) []string {
	var out []string
	for _, a := range actions {
		out = append(out, called(a))
	}
	return out
}
