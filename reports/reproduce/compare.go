package reproduce

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/archive"
	"wedgework/reports/changes"
	"wedgework/reports/notebook"
	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// Result is the answer to the question whether a report has been made again.
type Result int

// Results, from the strictest sameness to none.
const (
	Identical Result = iota // the same bytes
	Agrees                  // every printed figure is the same, and the drawings within Tolerance
	Differs
)

// String names a result in a word.
func (r Result) String() string { return [...]string{"identical", "agrees", "differs"}[r] }

// Tolerance is how far a point of a drawing may move for the pages to agree, in points: last bits differ between kinds
// of processors, and coordinates are printed with two decimals.
const Tolerance = 0.02

// Difference is one place where the report and the one made again differ.
type Difference struct{ Where, Was, Is string }

// Finding is what a comparison found.
type Finding struct {
	Result      Result
	Differences []Difference // none unless Result is Differs
	Moved       int          // pages whose drawings moved within Tolerance
	Pages       int
}

// Compare holds a report against the one made again from it. Beyond the record and the outputs of the cells it compares
// the files object by object, unpacked, so that a page that was changed after the fact is found: a figure on it that is
// not the record's, a curve, a glyph.
func Compare(c *Carried, again *publish.Report) (*Finding, error) {
	if bytes.Equal(c.PDF, again.PDF) {
		return &Finding{Result: Identical}, nil
	}
	f := &Finding{Result: Agrees}
	if err := f.records(c.JSON, again.JSON); err != nil {
		return nil, err
	}
	if err := f.outputs(c.Executed, again.Notebook); err != nil {
		return nil, err
	}
	if err := f.files(c, again); err != nil {
		return nil, err
	}
	if len(f.Differences) > 0 {
		f.Result = Differs
	}
	return f, nil
}

func (f *Finding) add(where, was, is string) {
	f.Differences = append(f.Differences, Difference{where, was, is})
}

// records compares all that was recorded but the program: that it may be another is said beside the finding. The hash
// of the executed notebook follows from its outputs, which are compared by themselves.
func (f *Finding) records(was, is []byte) error {
	all, err := changes.Of(was, is)
	if err != nil {
		return err
	}
	for _, d := range all {
		if d.Path[0] != "program" && d.Path[0] != "executed" {
			f.add("record: "+strings.Join(d.Path, ", "), d.Was, d.Is)
		}
	}
	return nil
}

// outputs compares what the cells printed and showed. A picture may move within Tolerance.
func (f *Finding) outputs(was, is []byte) error {
	a, err := notebook.Read(was)
	if err != nil {
		return fmt.Errorf("the executed notebook: %w", err)
	}
	b, err := notebook.Read(is)
	if err != nil {
		return fmt.Errorf("the executed notebook of the rerun: %w", err)
	}
	if len(a.Cells) != len(b.Cells) {
		f.add("executed notebook: number of cells", fmt.Sprint(len(a.Cells)), fmt.Sprint(len(b.Cells)))
		return nil
	}
	for i := range a.Cells {
		x, y := a.Cells[i], b.Cells[i]
		where := fmt.Sprintf("cell %d", i+1)
		if x.Source != y.Source {
			f.add(where+": source", first(x.Source, y.Source), first(y.Source, x.Source))
		}
		if len(x.Outputs) != len(y.Outputs) {
			f.add(where+": number of outputs", fmt.Sprint(len(x.Outputs)), fmt.Sprint(len(y.Outputs)))
			continue
		}
		for k := range x.Outputs {
			f.output(fmt.Sprintf("%s, output %d", where, k+1), x.Outputs[k], y.Outputs[k])
		}
	}
	return nil
}

func (f *Finding) output(where string, x, y notebook.Output) {
	if x.Type != y.Type || x.Text != y.Text {
		f.add(where, string(x.Type)+" "+first(x.Text, y.Text), string(y.Type)+" "+first(y.Text, x.Text))
	}
	for mime := range x.Data {
		if _, ok := y.Data[mime]; !ok {
			f.add(where, mime, "no "+mime)
		}
	}
	for mime, v := range y.Data {
		a, b := fmt.Sprint(x.Data[mime]), fmt.Sprint(v)
		if a != b && !(mime == "image/svg+xml" && alike(a, b)) {
			f.add(where+", "+mime, first(a, b), first(b, a))
		}
	}
}

// first is the first line of a in which it differs from b, cut to what a line can show.
func first(a, b string) string {
	as, bs := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i, line := range as {
		if i >= len(bs) || line != bs[i] {
			const most = 120
			if runes := []rune(line); len(runes) > most {
				return string(runes[:most]) + "…"
			}
			return line
		}
	}
	return ""
}

// program rewrites in the original what names the program that made it to what names the one of now: a version, a
// toolchain.
func program(was, is record.Program) *strings.Replacer {
	var pairs []string
	for _, p := range [][2]string{{was.Version, is.Version}, {was.Go, is.Go}} {
		if p[0] != "" && p[0] != p[1] {
			pairs = append(pairs, p[0], p[1])
		}
	}
	return strings.NewReplacer(pairs...)
}

// names compares which files are attached.
func (f *Finding) names(a, b *archive.File) error {
	var lists [2]string
	for i, file := range []*archive.File{a, b} {
		all, err := file.Attachments()
		if err != nil {
			return err
		}
		var names []string
		for _, x := range all {
			names = append(names, x.Name)
		}
		slices.Sort(names)
		lists[i] = strings.Join(names, ", ")
	}
	if lists[0] != lists[1] {
		f.add("attachments", lists[0], lists[1])
	}
	return nil
}

// files compares the two PDF files object by object. What is attached has been compared already.
func (f *Finding) files(c *Carried, again *publish.Report) error {
	a, err := archive.Open(c.PDF)
	if err != nil {
		return err
	}
	b, err := archive.Open(again.PDF)
	if err != nil {
		return fmt.Errorf("the report made again: %w", err)
	}
	if err := f.names(a, b); err != nil {
		return err
	}
	p := pages{f: f, a: a, b: b, program: program(c.Record.Program, again.Record.Program),
		seen: map[archive.Ref]archive.Ref{}}
	return p.compare()
}
