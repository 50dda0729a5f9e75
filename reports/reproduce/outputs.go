package reproduce

import (
	"bytes"
	"encoding/json"
	"fmt"

	"wedgework/reports/notebook"
)

// outputs compares the executed notebooks to the byte, but for pictures, which may have moved within Tolerance, and
// says in which cells they differ.
func (f *Finding) outputs(was, is []byte) error {
	if bytes.Equal(was, is) || sameNotebook(was, is) {
		return nil
	}
	a, err := notebook.Read(was)
	if err != nil {
		return fmt.Errorf("the executed notebook: %w", err)
	}
	b, err := notebook.Read(is)
	if err != nil {
		return fmt.Errorf("the executed notebook of the rerun: %w", err)
	}
	before := f.Count()
	f.cells(a, b)
	if f.Count() == before { // in what cells do not show
		f.add("executed notebook", first(string(was), string(is)), first(string(is), string(was)))
	}
	return nil
}

func (f *Finding) cells(a, b *notebook.Notebook) {
	if len(a.Cells) != len(b.Cells) {
		f.add("executed notebook: number of cells", fmt.Sprint(len(a.Cells)), fmt.Sprint(len(b.Cells)))
		return
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
		if a != b && !samePicture(mime, a, b) {
			f.add(where+", "+mime, first(a, b), first(b, a))
		}
	}
}

// sameNotebook reports whether two texts of JSON are the same to the byte but for the strings that are pictures. So a
// key that comes twice, or one that nobody reads, is no place to hide anything.
func sameNotebook(a, b []byte) bool {
	x, y := jsonText{rest: a}, jsonText{rest: b}
	key := ""
	for {
		stringA, okA := x.next()
		stringB, okB := y.next()
		if okA != okB || !bytes.Equal(x.between, y.between) {
			return false
		}
		if !okA {
			return true
		}
		if bytes.HasPrefix(y.rest, []byte(":")) {
			if key = string(bytes.Trim(stringB, `"`)); !bytes.Equal(stringA, stringB) {
				return false
			}
			continue
		}
		if !bytes.Equal(stringA, stringB) && !sameStrings(key, stringA, stringB) {
			return false
		}
	}
}

func sameStrings(mime string, a, b []byte) bool {
	var x, y string
	return json.Unmarshal(a, &x) == nil && json.Unmarshal(b, &y) == nil && samePicture(mime, x, y)
}

// jsonText cuts JSON at its strings.
type jsonText struct{ between, rest []byte }

// next takes what stands before the next string, and the string with its quotes; false at the end.
func (j *jsonText) next() (text []byte, ok bool) {
	at := bytes.IndexByte(j.rest, '"')
	if at < 0 {
		j.between, j.rest = j.rest, nil
		return nil, false
	}
	j.between = j.rest[:at]
	end := at + 1
	for end < len(j.rest) && j.rest[end] != '"' {
		if j.rest[end] == '\\' {
			end++
		}
		end++
	}
	end = min(end+1, len(j.rest))
	text, j.rest = j.rest[at:end], j.rest[end:]
	return text, true
}
