package reproduce

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"wedgework/reports/archive"
)

// remade is the report that was made again: every byte of it is ours.
type remade struct {
	*archive.Written
	data     []byte
	pages    int
	contents map[int]int // object that is the content of a page, to that page, from 1
	own      map[int]string
	of       func() map[int]string // object to what holds it, in words
}

func readRemade(data []byte) (*remade, error) {
	w, err := archive.ReadWritten(data)
	if err != nil {
		return nil, fmt.Errorf("the reproduced report: %w", err)
	}
	r := &remade{Written: w, data: data, contents: map[int]int{}, own: map[int]string{}}
	f, err := archive.Open(data)
	if err != nil {
		return nil, fmt.Errorf("the reproduced report: %w", err)
	}
	pages, err := f.Pages()
	if err != nil {
		return nil, fmt.Errorf("the reproduced report: %w", err)
	}
	r.pages = len(pages)
	for i, n := range pages {
		r.own[n] = fmt.Sprintf("page %d", i+1)
		v, err := f.Object(n)
		if err != nil {
			return nil, fmt.Errorf("the reproduced report: %w", err)
		}
		d, _ := v.(archive.Dict)
		if ref, ok := d["Contents"].(archive.Ref); ok {
			r.contents[int(ref)], r.own[int(ref)] = i+1, r.own[n]
		}
	}
	r.of = sync.OnceValue(func() map[int]string {
		for _, o := range r.Objects {
			if v, err := o.Value(); err == nil { // it has been read once
				r.leads(o.Number, "", v)
			}
		}
		return r.own
	})
	return r, nil
}

// leads notes what the references of an object lead to, by the first key that does.
func (r *remade) leads(from int, key archive.Name, v archive.Value) {
	switch x := v.(type) {
	case archive.Ref:
		if _, known := r.own[int(x)]; !known && key != "" && int(x) != from {
			r.own[int(x)] = fmt.Sprintf("%s of object %d", key, from)
		}
	case archive.Array:
		for _, e := range x {
			r.leads(from, key, e)
		}
	case archive.Dict:
		for _, k := range slices.Sorted(maps.Keys(x)) {
			r.leads(from, k, x[k])
		}
	}
}

// where names an object for a person.
func (r *remade) where(number int) string {
	if what := r.of()[number]; what != "" {
		return fmt.Sprintf("object %d (%s)", number, what)
	}
	return fmt.Sprintf("object %d", number)
}

// objects compares two files of the form of reports, object by object in their order: numbers and values to the byte,
// streams unpacked. No reference is followed, for an object is what its number says.
func (f *Finding) objects(data []byte, a *archive.Written, b *remade) error {
	if !bytes.Equal(a.Header, b.Header) {
		f.add("header", string(a.Header), string(b.Header))
	}
	if len(a.Objects) != len(b.Objects) {
		f.add("number of objects", fmt.Sprint(len(a.Objects)), fmt.Sprint(len(b.Objects)))
	}
	for i := range min(len(a.Objects), len(b.Objects)) {
		x, y := a.Objects[i], b.Objects[i]
		if x.Number == y.Number && bytes.Equal(x.Head, y.Head) && bytes.Equal(x.Packed, y.Packed) {
			continue
		}
		where := b.where(y.Number)
		if x.Number != y.Number {
			f.add(where+": number", fmt.Sprint(x.Number), fmt.Sprint(y.Number))
		}
		if err := f.object(where, x, y, b.contents[y.Number]); err != nil {
			return err
		}
	}
	if was, is := identified(a, data), identified(b.Written, b.data); was != is {
		f.add("trailer", was, is)
	}
	return nil
}

// identified is a trailer with the word "own" for an identifier that is the hash of what is before the table.
func identified(w *archive.Written, data []byte) string {
	id := sha256.Sum256(data[:w.Table])
	own := fmt.Sprintf("/ID [<%X> <%[1]X>]", id[:16])
	return strings.Replace(string(w.Trailer), own, "/ID own", 1)
}

func (f *Finding) object(where string, x, y archive.Object, page int) error {
	if (x.Packed == nil) != (y.Packed == nil) {
		f.add(where, kind(x), kind(y))
		return nil
	}
	if !bytes.Equal(measureless(x), measureless(y)) {
		return f.heads(where, x, y)
	}
	if bytes.Equal(x.Packed, y.Packed) {
		return nil
	}
	is, err := y.Unpacked()
	if err != nil {
		return fmt.Errorf("the reproduced report: %s: %w", where, err)
	}
	was, err := x.Unpacked()
	switch {
	case err != nil:
		f.add(where+": stream", err.Error(), fmt.Sprintf("%d bytes unpacked", len(is)))
	case bytes.Equal(was, is):
		f.packed++
	case page > 0:
		f.drawing(page, was, is)
	default:
		at := 0
		for at < min(len(was), len(is)) && was[at] == is[at] {
			at++
		}
		f.add(where+": stream", fmt.Sprintf("%d bytes", len(was)),
			fmt.Sprintf("%d bytes, other from byte %d on", len(is), at))
	}
	return nil
}

func kind(o archive.Object) string {
	if o.Packed != nil {
		return "a stream"
	}
	return "no stream"
}

var length = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`/Length [0-9]+`) })

// measureless is the value of an object without the length of its stream. That follows from the stream, and the reader
// has held it against it; it must be written in full.
func measureless(o archive.Object) []byte {
	want := []byte("/Length " + strconv.Itoa(len(o.Packed)))
	if found := length().FindAll(o.Head, -1); o.Packed == nil || len(found) != 1 || !bytes.Equal(found[0], want) {
		return o.Head
	}
	return length().ReplaceAll(o.Head, []byte("/Length"))
}

// heads says in which keys two values differ that are not the same bytes.
func (f *Finding) heads(where string, x, y archive.Object) error {
	a, err := x.Value()
	if err != nil { // it has been read once
		return errors.Join(err)
	}
	b, err := y.Value()
	if err != nil {
		return errors.Join(err)
	}
	before := f.Count()
	f.values(where, a, b)
	if f.Count() == before {
		f.add(where+": written otherwise", shortened(string(x.Head)), shortened(string(y.Head)))
	}
	return nil
}

func (f *Finding) values(where string, a, b archive.Value) {
	switch x := a.(type) {
	case archive.Dict:
		if y, ok := b.(archive.Dict); ok {
			all := maps.Clone(x)
			maps.Copy(all, y)
			delete(all, "Length")
			for _, key := range slices.Sorted(maps.Keys(all)) {
				f.values(where+" "+string(key), x[key], y[key])
			}
			return
		}
	case archive.Array:
		if y, ok := b.(archive.Array); ok && len(x) == len(y) {
			for i := range x {
				f.values(where, x[i], y[i])
			}
			return
		}
	default:
		switch b.(type) {
		case archive.Dict, archive.Array:
		default:
			if a == b {
				return
			}
		}
	}
	f.add(where, said(a), said(b))
}

// said shows a value in a line; what holds others by its kind.
func said(v archive.Value) string {
	switch x := v.(type) {
	case nil:
		return ""
	case archive.String:
		return shortened(x.Text())
	case archive.Ref:
		return fmt.Sprintf("object %d", int(x))
	case archive.Array:
		return fmt.Sprintf("a list of %d", len(x))
	case archive.Dict:
		return fmt.Sprintf("a dictionary of %d", len(x))
	}
	return shortened(fmt.Sprint(v))
}
