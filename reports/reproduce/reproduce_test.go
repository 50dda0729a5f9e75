package reproduce

import (
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"regexp"
	"strconv"
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

var now = record.Program{Name: "wedgework", Version: "1.2.3", Go: "go1.26.8", Architecture: "amd64"}

// core is a small report with an input, a setting, a table and a picture.
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
	c, err := Open(pdf)
	if err != nil {
		t.Fatal(err)
	}
	j, err := c.Job(nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := publish.Make(context.Background(), j, publish.Tools{Program: now, Open: open})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Compare(c, r)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestIdentical(t *testing.T) {
	if f := again(t, makeReport(t, now).PDF); f.Result != Identical {
		t.Errorf("%v: %v", f.Result, f.Differences)
	}
}

// Another version or toolchain is named on the page, in the metadata and in the record, and changes no figure.
func TestAgreesAcrossPrograms(t *testing.T) {
	then := record.Program{Name: "wedgework", Version: "1.2.2", Go: "go1.26.7", Architecture: "arm64"}
	if f := again(t, makeReport(t, then).PDF); f.Result != Agrees || f.Pages == 0 {
		t.Errorf("%v of %d pages: %v", f.Result, f.Pages, f.Differences)
	}
}

var stream = regexp.MustCompile(`/Length (\d+)([^>]*)>>\s+stream\n`)

// forge rewrites every packed stream of a file that change does something to, and moves the table along.
func forge(t *testing.T, pdf []byte, change func([]byte) []byte) []byte {
	t.Helper()
	table := bytes.LastIndex(pdf, []byte("xref\n0 "))
	var out bytes.Buffer
	done, changed := 0, 0
	for _, m := range stream.FindAllSubmatchIndex(pdf[:table], -1) {
		if m[0] < done {
			continue
		}
		n, _ := strconv.Atoi(string(pdf[m[2]:m[3]]))
		z, err := zlib.NewReader(bytes.NewReader(pdf[m[1] : m[1]+n]))
		if err != nil {
			continue
		}
		var plain bytes.Buffer
		if _, err := plain.ReadFrom(z); err != nil {
			continue
		}
		forged := change(bytes.Clone(plain.Bytes()))
		if bytes.Equal(forged, plain.Bytes()) {
			continue
		}
		changed++
		var packed bytes.Buffer
		w := zlib.NewWriter(&packed)
		w.Write(forged)
		w.Close()
		out.Write(pdf[done:m[0]])
		fmt.Fprintf(&out, "/Length %d%s>>\nstream\n%s", packed.Len(), pdf[m[4]:m[5]], packed.Bytes())
		done = m[1] + n
	}
	if changed == 0 {
		t.Fatal("the forgery changed nothing")
	}
	out.Write(pdf[done:table])
	return retable(t, out.Bytes(), pdf[table:])
}

// retable writes the table for objects that have moved.
func retable(t *testing.T, body, tail []byte) []byte {
	t.Helper()
	trailer := tail[bytes.Index(tail, []byte("trailer")):bytes.Index(tail, []byte("startxref"))]
	places := regexp.MustCompile(`(?m)^(\d+) 0 obj$`).FindAllSubmatchIndex(body, -1)
	at := len(body)
	offsets := map[int]int{}
	for _, m := range places {
		n, _ := strconv.Atoi(string(body[m[2]:m[3]]))
		offsets[n] = m[0]
	}
	body = fmt.Appendf(body, "xref\n0 %d\n0000000000 65535 f \n", len(offsets)+1)
	for n := 1; n <= len(offsets); n++ {
		body = fmt.Appendf(body, "%010d 00000 n \n", offsets[n])
	}
	return fmt.Appendf(body, "%sstartxref\n%d\n%%%%EOF\n", trailer, at)
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
	pdf := makeReport(t, now).PDF
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
		result Result
		where  string
	}{
		{"a printed figure", replaced("41.34", "47.34"), Differs, "page 1: text"},
		{"the title", replaced("Core", "Case"), Differs, "text"},
		{"a curve", move(3), Differs, "drawing"},
		{"a last digit of a drawing", move(0.01), Agrees, ""},
		{"a glyph", func(b []byte) []byte {
			if bytes.HasPrefix(b, []byte("\x00\x01\x00\x00")) { // a face
				b[len(b)-9] ^= 1
			}
			return b
		}, Differs, "FontFile2"},
		{"packing alone", func(b []byte) []byte {
			if bytes.Contains(b, []byte("BT ")) {
				return append(b, '\n')
			}
			return b
		}, Agrees, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := again(t, forge(t, pdf, c.change))
			found := c.where == ""
			for _, d := range f.Differences {
				found = found || strings.Contains(d.Where, c.where)
			}
			if f.Result != c.result || !found {
				t.Errorf("%v, %v, want %v at %q", f.Result, f.Differences, c.result, c.where)
			}
		})
	}
}

// An action, an attachment or a link that somebody added is found.
func TestForgedStructure(t *testing.T) {
	pdf := makeReport(t, now).PDF
	table := bytes.LastIndex(pdf, []byte("xref\n0 "))
	for _, c := range []struct{ name, from, to, where string }{
		{"a script", "/Type /Catalog\n", "/Type /Catalog\n/OpenAction <</S /JavaScript /JS (x)>>\n", "OpenAction"},
		{"a page turned", "/Type /Page\n", "/Type /Page\n/Rotate 180\n", "Rotate"},
	} {
		body := bytes.Replace(pdf[:table], []byte(c.from), []byte(c.to), 1)
		if len(body) == table {
			t.Errorf("%s: the file holds no %q", c.name, c.from)
			continue
		}
		f := again(t, retable(t, body, pdf[table:]))
		if f.Result != Differs || len(f.Differences) == 0 || !strings.Contains(f.Differences[0].Where, c.where) {
			t.Errorf("%s: %v, %v", c.name, f.Result, f.Differences)
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
