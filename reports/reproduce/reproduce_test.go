package reproduce

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/reports/document"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
)

// cells runs cells as the command does.
type cells struct{ *session.Session }

func (c cells) Run(ctx context.Context, cell rerun.Cell, emit func(notebook.Output)) error {
	_, err := c.Session.Run(ctx, session.Cell{Name: fmt.Sprint("cell ", cell.Number), Number: cell.Index,
		Source: cell.Source}, emit)
	return err
}

func open(d *rerun.Desk) (rerun.Session, error) {
	s, err := session.New(session.Config{
		Words: vocab.Words(), Local: map[string]any{vocab.HostKey: vocab.Host(d)}, Show: vocab.Show,
		Bundle: document.Bundle,
	})
	return cells{s}, err
}

var (
	now  = record.Program{Name: "wedgework", Version: "1.2.3", Go: "go1.26.8"}
	then = record.Program{Name: "wedgework", Version: "1.2.2", Go: "go1.26.7"}
)

// dot is a picture of two pixels.
func dot(t testing.TB) string {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 2, 1))
	m.Set(0, 0, color.RGBA{200, 0, 0, 255})
	m.Set(1, 0, color.RGBA{0, 0, 200, 255})
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return base64.StdEncoding.EncodeToString(b.Bytes())
}

// core is a small report with an input, a setting, a table, a figure, a picture and a link.
func core(t testing.TB) *job.Job {
	t.Helper()
	nb := &notebook.Notebook{Minor: 4}
	for _, source := range []string{
		`report(title="Core", part="HA-1550", revision="B")`,
		"d = measured(\"sweep\")\napex = given(\"apex\", 5*deg)\nprint(format(d.isolation.max(), 2), apex, " +
			"crystal(\"YVO4\").no(1550*nm))",
		`plot(d.isolation, title="Readings")`,
	} {
		nb.Cells = append(nb.Cells, notebook.Cell{Type: notebook.CodeCell, Source: source})
	}
	nb.Cells = append(nb.Cells, notebook.Cell{Type: notebook.MarkdownCell, Source: "# Part\n\nSee [the " +
		"drawing](https://example.org/HA-1550).\n\n![two dots](data:image/png;base64," + dot(t) + ")\n"})
	data, err := nb.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	sweep := job.Content("own.csv", []byte("# unit: 0417\n# note: invented\nwavelength [nm],temperature "+
		"[degC],isolation [dB]\n1550,23,40.12\n1551,23,41.34\n1552,23,40.98\n"))
	return &job.Job{
		Notebook: job.Content("n.ipynb", data), Issued: job.Text{Text: "2026-11-25"},
		Data:     []job.Binding{{Name: "sweep", Files: []job.File{sweep}}},
		Settings: []job.Setting{{Name: "apex", Expression: "4.5*deg"}},
	}
}

func makeReport(t testing.TB, program record.Program) *publish.Report {
	t.Helper()
	r, err := publish.Make(context.Background(), core(t), publish.Tools{Program: program, Open: open})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// again reproduces a report with the program of now.
func again(t *testing.T, pdf []byte) *Finding {
	t.Helper()
	f, err := reproduced(pdf)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func reproduced(pdf []byte) (*Finding, error) {
	c, err := Open(pdf)
	if err != nil {
		return nil, err
	}
	j, err := c.Job(nil)
	if err != nil {
		return nil, err
	}
	tools := publish.Tools{Program: now, Open: open}
	r, err := publish.Make(context.Background(), j, c.Tools(tools))
	if err != nil {
		return nil, err
	}
	return Compare(c, r, now)
}

func TestIdentical(t *testing.T) {
	if f := again(t, makeReport(t, now).PDF); f.Result != Identical {
		t.Errorf("%v: %v", f.Result, f.Differences)
	}
}

// Another version or toolchain is named on the page, in the metadata and in the record, and changes no figure.
func TestAgreesAcrossPrograms(t *testing.T) {
	if f := again(t, makeReport(t, then).PDF); f.Result != Agrees || f.Pages == 0 || f.Moved != 0 {
		t.Errorf("%v of %d pages, %d moved: %v", f.Result, f.Pages, f.Moved, f.Differences)
	} else if s := f.Strict(then, now); s.Result != Differs || s.Count() != 1 || s.Differences[0].Where != "program" {
		t.Errorf("strictly %v: %v", s.Result, s.Differences)
	}
}

// forge rewrites every packed stream of a file that change does something to, and all that depends on it.
func forge(t *testing.T, pdf []byte, change func([]byte) []byte) []byte {
	t.Helper()
	x, changed := takeApart(t, pdf), 0
	for i, o := range x.objects {
		if !bytes.Contains(o.head, []byte("/FlateDecode")) {
			continue
		}
		plain := inflated(t, o.stream)
		if forged := change(bytes.Clone(plain)); !bytes.Equal(forged, plain) {
			x.objects[i].stream = deflated(forged)
			changed++
		}
	}
	if changed == 0 {
		t.Fatal("the forgery changed nothing")
	}
	return x.bytes()
}

// wide is a text as a page shows it.
func wide(s string) []byte {
	var b []byte
	for _, r := range s {
		b = append(b, byte(r>>8), byte(r))
	}
	return b
}

// A page that was changed after the fact is found, though everything attached is as it was.
func TestForgedPages(t *testing.T) {
	replaced := func(from, to string) func([]byte) []byte {
		return func(b []byte) []byte { return bytes.ReplaceAll(b, wide(from), wide(to)) }
	}
	number := regexp.MustCompile(`(?m)^(\d+\.\d+) (\d+\.\d+) l$`)
	move := func(by float64) func([]byte) []byte {
		return func(b []byte) []byte {
			return number.ReplaceAllFunc(b, func(m []byte) []byte {
				var x, y float64
				fmt.Sscanf(string(m), "%f %f l", &x, &y)
				return fmt.Appendf(nil, "%.2f %.2f l", x, y+by)
			})
		}
	}
	for _, c := range []struct {
		name   string
		change func([]byte) []byte
		result Result // for a report of another version
		where  string
		same   string // where, for a report of this one, which differs in any case
	}{
		{"a printed figure", replaced("41.34", "47.34"), Differs, "page 1: text", "page 1: text"},
		{"the title", replaced("Core", "Case"), Differs, "text", "text"},
		{"a curve", move(3), Differs, "drawing", "drawing"},
		{"a last digit of a drawing", move(0.01), Agrees, "", "drawings, by no more than last digits"},
		{"a glyph", func(b []byte) []byte {
			if bytes.HasPrefix(b, []byte("\x00\x01\x00\x00")) { // a face
				b[len(b)-9] ^= 1
			}
			return b
		}, Differs, "FontFile2", "FontFile2"},
		{"white space", func(b []byte) []byte {
			if bytes.Contains(b, []byte("BT ")) {
				return append(b, '\n')
			}
			return b
		}, Differs, "drawing", "drawing"},
	} {
		for _, by := range []record.Program{then, now} {
			result, where := c.result, c.where
			if by == now {
				result, where = Differs, c.same
			}
			f := again(t, forge(t, makeReport(t, by).PDF, c.change))
			found := where == ""
			for _, d := range f.Differences {
				found = found || strings.Contains(d.Where, where)
			}
			if f.Result != result || !found {
				t.Errorf("%s, %s: %v, %v, want %v at %q", c.name, by.Version, f.Result, f.Differences, result, where)
			}
		}
	}
}

// Another toolchain may pack streams otherwise; the same one does not.
func TestPackedOtherwise(t *testing.T) {
	for by, want := range map[record.Program]Result{then: Agrees, now: Differs} {
		x := takeApart(t, makeReport(t, by).PDF)
		for i, o := range x.objects {
			if bytes.Contains(o.head, []byte("/FlateDecode")) {
				x.objects[i].stream = deflated(inflated(t, o.stream))
			}
		}
		f := again(t, x.bytes())
		if f.Result != want || want == Differs && f.Differences[0].Where != "how streams are packed" {
			t.Errorf("%s: %v, %v, want %v", by.Version, f.Result, f.Differences, want)
		}
	}
}

// What the record says and the attachments do not bear out is an error, before a cell runs.
func TestOpenRefuses(t *testing.T) {
	pdf := makeReport(t, now).PDF
	for _, c := range []struct{ name, from, to, want string }{
		{"changed readings", "1551,23,41.34", "1551,23,49.34", "the input own.csv, SHA-256"},
		{"a changed cell", "apex = given", "apex = gaven", "the notebook n.ipynb, SHA-256"},
		{"a changed outcome", `"execution_count": 2`, `"execution_count": 3`,
			"the executed notebook executed-n.ipynb, SHA-256"},
		{"changed constants", `"name": "YVO4",`, `"name": "YVO5",`, "SHA-256"},
		{"another schema", `"wedgework record"`, `"wedgework recipe"`, `found schema "wedgework recipe"`},
		{"a later record", `"version": 1,`, `"version": 9,`, "found version 9"},
		{"a path for a name", `"name": "own.csv"`, `"name": "../own.c"`, "expected a plain file name"},
	} {
		forged := forge(t, pdf, func(b []byte) []byte { return bytes.Replace(b, []byte(c.from), []byte(c.to), 1) })
		if _, err := Open(forged); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// The cells of a report from anywhere can read what it carries and nothing else, and do not run for ever unasked.
func TestHostileCells(t *testing.T) {
	for _, c := range []struct{ name, source, want string }{
		{"another file", `measured("other", default="/etc/passwd")`, "no file can be read here"},
		{"a relative path", `measured("other", default="../own.csv")`, "no file can be read here"},
	} {
		nb := &notebook.Notebook{Minor: 4, Cells: []notebook.Cell{{Type: notebook.CodeCell, Source: c.source}}}
		data, err := nb.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		carried := &Carried{Record: &record.Record{}, Notebook: measured.NewFile("n.ipynb", data)}
		k, err := carried.Job(nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := publish.Make(context.Background(), k, publish.Tools{Program: now, Open: open}); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// Fonts are asked for by their hashes, and taken under the names they had.
func TestFontsAreAskedFor(t *testing.T) {
	font := measured.NewFile("renamed.ttf", []byte("font"))
	c := &Carried{Record: &record.Record{Fonts: []record.Source{{Name: "face.ttf", SHA256: font.SHA256}}}}
	if _, err := c.Job(nil); err == nil || !strings.Contains(err.Error(),
		"the font face.ttf, SHA-256 "+font.SHA256+"; add --font FILE") {
		t.Errorf("got %v, want an error that asks for the font", err)
	}
	j, err := c.Job([]measured.File{measured.NewFile("other.ttf", nil), font})
	if err != nil || len(j.Fonts) != 1 || j.Fonts[0].Path != "face.ttf" {
		t.Errorf("fonts %+v, %v, want the one of the record under its name", j.Fonts, err)
	}
}

func TestSettingsNeedTheirExpressions(t *testing.T) {
	c := &Carried{Record: &record.Record{Settings: []record.Setting{{Name: "apex", Value: "5 deg", Bound: true}}}}
	if _, err := c.Job(nil); err == nil || !strings.Contains(err.Error(), "by which expression") {
		t.Errorf("got %v, want an error about the expression", err)
	}
}
