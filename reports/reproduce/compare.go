package reproduce

import (
	"bytes"
	"fmt"
	"strings"

	"wedgework/reports/archive"
	"wedgework/reports/changes"
	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// Result is the answer to the question whether a report has been made again.
type Result int

// Results, from the strictest sameness to none.
const (
	Identical Result = iota // the same bytes, by the same program
	Agrees                  // made by another version: the same objects, and drawings within Tolerance
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

	packed int // streams of the same content that are packed otherwise
	other  int // differences that are not listed
}

// Count is the number of differences, also of those that are not listed.
func (f *Finding) Count() int { return len(f.Differences) + f.other }

// mostDifferences are listed; the others are counted. A choice: a file of another kind differs in everything.
const mostDifferences = 1000

// Compare holds a report against the one made again from it with the tools of Carried.Tools, for a program that is the
// one given. The same program makes the same bytes, or the report differs. Of another version, or another build of
// this one, the report must be a file of the form that reports are written in and hold the same objects to the byte; in
// what draws the pages and the figures of the executed notebook, points may have moved by Tolerance. So what it shows
// does not depend on how a viewer reads files that are damaged or were added to.
func Compare(c *Carried, again *publish.Report, now record.Program) (*Finding, error) {
	same := c.Record.Program == now
	if same && bytes.Equal(c.PDF, again.PDF) && bytes.Equal(c.Executed, again.Notebook) {
		return &Finding{Result: Identical}, nil
	}
	f := &Finding{Result: Agrees}
	if err := f.records(c.JSON, again.JSON); err != nil {
		return nil, err
	}
	if err := f.outputs(c.Executed, again.Notebook); err != nil {
		return nil, err
	}
	if err := f.files(c.PDF, again.PDF); err != nil {
		return nil, err
	}
	if same && len(f.Differences) == 0 {
		f.bytes(c.PDF, again.PDF)
	}
	if len(f.Differences) > 0 {
		f.Result = Differs
	}
	return f, nil
}

// Strict is the finding of whoever accepts nothing but the same bytes: what agrees differs in the program.
func (f *Finding) Strict(was, is record.Program) *Finding {
	if f.Result != Agrees {
		return f
	}
	strict := *f
	strict.Result = Differs
	strict.add("program", fmt.Sprint(was.Version, ", ", was.Go, " ", was.Architecture),
		fmt.Sprint(is.Version, ", ", is.Go, " ", is.Architecture))
	return &strict
}

func (f *Finding) add(where, was, is string) {
	if len(f.Differences) == mostDifferences {
		f.other++
		return
	}
	f.Differences = append(f.Differences, Difference{where, was, is})
}

// records compares the records to the byte, and says in which fields they differ.
func (f *Finding) records(was, is []byte) error {
	if bytes.Equal(was, is) {
		return nil
	}
	all, err := changes.Of(was, is)
	if err != nil {
		return err
	}
	for _, d := range all {
		f.add("record: "+strings.Join(d.Path, ", "), d.Was, d.Is)
	}
	if len(all) == 0 {
		f.add("record: "+record.FileName, first(string(was), string(is)), first(string(is), string(was)))
	}
	return nil
}

// bytes says where two files of the same program differ of which every object agrees.
func (f *Finding) bytes(was, is []byte) {
	n := 0
	for n < min(len(was), len(is)) && was[n] == is[n] {
		n++
	}
	where := "bytes"
	switch {
	case f.Moved > 0:
		where = "drawings, by no more than last digits"
	case f.packed > 0:
		where = "how streams are packed"
	}
	around := func(b []byte) string { return string(b[min(n, len(b)):min(n+24, len(b))]) }
	f.add(where, around(was), around(is))
}

// first is the first line of a in which it differs from b, cut to what a line can show.
func first(a, b string) string {
	for a != "" {
		x, restA, _ := strings.Cut(a, "\n")
		y, restB, more := strings.Cut(b, "\n")
		if x != y || b == "" && !more {
			return shortened(x)
		}
		a, b = restA, restB
	}
	return ""
}

// shortened cuts a text to what a line can show.
func shortened(s string) string {
	const most = 120
	if len(s) <= most {
		return s
	}
	runes := []rune(s[:min(len(s), 4*most+4)])
	return string(runes[:min(len(runes), most)]) + "…"
}

// files compares the two PDF files. That the original is of another form than reports are written in is a difference: a
// viewer may read it otherwise than it is read here.
func (f *Finding) files(was, is []byte) error {
	b, err := readRemade(is)
	if err != nil {
		return err
	}
	f.Pages = b.pages
	a, err := archive.ReadWritten(was)
	if err != nil {
		f.add("form of the file", err.Error(), "every byte as reports are written")
		return nil
	}
	return f.objects(was, a, b)
}
