package reproduce

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"

	"wedgework/reports/archive"
)

// pages walks two files side by side from their trailers.
type pages struct {
	f       *Finding
	a, b    *archive.File
	program *strings.Replacer
	seen    map[archive.Ref]archive.Ref // pairs that are compared, or being compared
	number  map[archive.Ref]int         // pages of the original, from 1
	page    int                         // the page that is being compared
}

// skipped are the keys of what is compared elsewhere or follows from the bytes: attachments by their names, the record
// and the outputs of the cells; how the file and its streams are packed; its identifier.
var skipped = map[archive.Name]bool{"AF": true, "EmbeddedFiles": true, "ID": true, "Size": true, "Prev": true,
	"Length": true, "Filter": true}

func (p *pages) compare() error {
	inA, err := p.a.Pages()
	if err != nil {
		return err
	}
	inB, err := p.b.Pages()
	if err != nil {
		return fmt.Errorf("the report made again: %w", err)
	}
	p.f.Pages = len(inA)
	if len(inA) != len(inB) {
		p.f.add("number of pages", fmt.Sprint(len(inA)), fmt.Sprint(len(inB)))
		return nil
	}
	p.number = map[archive.Ref]int{}
	for i, n := range inA {
		p.number[archive.Ref(n)] = i + 1
	}
	for i, n := range inA { // in the order in which a person turns them
		if err := p.values("", archive.Ref(n), archive.Ref(inB[i]), 0); err != nil {
			return err
		}
	}
	return p.values("file", p.a.Trailer(), p.b.Trailer(), 0)
}

// values compares two values, and what they lead to once.
func (p *pages) values(where string, a, b archive.Value, depth int) error {
	const deepest = 2000 // bookmarks hang together in a chain
	if depth > deepest {
		return fmt.Errorf("the file nests more than %d deep", deepest)
	}
	refA, okA := a.(archive.Ref)
	refB, okB := b.(archive.Ref)
	if okA && okB {
		if known, ok := p.seen[refA]; ok {
			if known != refB {
				p.f.add(p.at(where), "leads to one place", "leads to another")
			}
			return nil
		}
		p.seen[refA] = refB
		if n := p.number[refA]; n > 0 {
			defer func(before int) { p.page = before }(p.page)
			p.page, where = n, "page"
		}
	}
	a, err := p.a.Resolve(a)
	if err != nil {
		return err
	}
	if b, err = p.b.Resolve(b); err != nil {
		return fmt.Errorf("the report made again: %w", err)
	}
	switch x := a.(type) {
	case archive.Dict:
		if y, ok := b.(archive.Dict); ok {
			return p.dicts(where, x, y, depth)
		}
	case archive.Array:
		if y, ok := b.(archive.Array); ok && len(x) == len(y) {
			for i := range x {
				if err := p.values(where, x[i], y[i], depth+1); err != nil {
					return err
				}
			}
			return nil
		}
	case archive.Stream:
		if y, ok := b.(archive.Stream); ok {
			if err := p.dicts(where, x.Dict, y.Dict, depth); err != nil {
				return err
			}
			return p.streams(where, x, y)
		}
	case archive.String:
		if y, ok := b.(archive.String); ok && p.program.Replace(x.Text()) == y.Text() {
			return nil
		}
	case archive.Number:
		if y, ok := b.(archive.Number); ok && near(x, y) {
			return nil
		}
	default:
		if a == b {
			return nil
		}
	}
	p.f.add(p.at(where), said(a), said(b))
	return nil
}

func (p *pages) at(where string) string {
	if p.page > 0 {
		return fmt.Sprintf("page %d: %s", p.page, where)
	}
	return where
}

// said shows a value in a line; what holds others by its kind.
func said(v archive.Value) string {
	switch x := v.(type) {
	case nil:
		return ""
	case archive.String:
		return first(x.Text(), "")
	case archive.Dict, archive.Array, archive.Stream:
		return strings.TrimPrefix(fmt.Sprintf("%T", v), "archive.")
	}
	return fmt.Sprint(v)
}

func (p *pages) dicts(where string, a, b archive.Dict, depth int) error {
	all := maps.Clone(a)
	maps.Copy(all, b)
	for _, key := range slices.Sorted(maps.Keys(all)) {
		if skipped[key] {
			continue
		}
		if err := p.values(strings.TrimSpace(where+" "+string(key)), a[key], b[key], depth+1); err != nil {
			return err
		}
	}
	return nil
}

func (p *pages) streams(where string, a, b archive.Stream) error {
	x, err := p.a.Inflate(a)
	if err != nil {
		return err
	}
	y, err := p.b.Inflate(b)
	if err != nil {
		return fmt.Errorf("the report made again: %w", err)
	}
	if bytes.Equal(x, y) || p.program.Replace(string(x)) == string(y) {
		return nil
	}
	if p.page > 0 && strings.HasSuffix(where, "Contents") {
		return p.contents(x, y)
	}
	p.f.add(p.at(where), fmt.Sprintf("%d bytes", len(x)), fmt.Sprintf("%d bytes that differ", len(y)))
	return nil
}

// contents compares what two pages show: strings to the letter, operators one by one, numbers within Tolerance.
func (p *pages) contents(a, b []byte) error {
	x, err := archive.Tokens(a)
	if err != nil {
		return fmt.Errorf("page %d: %w", p.page, err)
	}
	y, err := archive.Tokens(b)
	if err != nil {
		return fmt.Errorf("page %d of the report made again: %w", p.page, err)
	}
	s, t := shownIn(x), shownIn(y)
	for i := range max(len(s), len(t)) {
		was, is := "", ""
		if i < len(s) {
			was = p.program.Replace(s[i])
		}
		if i < len(t) {
			is = t[i]
		}
		if was != is {
			p.f.add(p.at("text"), was, is)
			return nil // what follows may only be shifted
		}
	}
	if len(x) != len(y) {
		p.f.add(p.at("drawing"), fmt.Sprintf("%d operations and numbers", len(x)), fmt.Sprint(len(y)))
		return nil
	}
	for i := range x {
		n, okA := x[i].(archive.Number)
		m, okB := y[i].(archive.Number)
		_, text := x[i].(archive.String)
		switch {
		case okA && okB && near(n, m), text:
		case fmt.Sprint(x[i]) == fmt.Sprint(y[i]):
		default:
			p.f.add(p.at("drawing"), said(x[i]), said(y[i]))
			return nil
		}
	}
	p.f.Moved++
	return nil
}

// near tells whether two numbers are the same but for Tolerance, and for what writing them in binary adds to it.
func near(a, b archive.Number) bool { return math.Abs(a.Float()-b.Float()) <= Tolerance*1.0001 }

// shownIn returns what a page shows as text, string by string.
func shownIn(tokens []archive.Value) []string {
	var all []string
	for _, v := range tokens {
		switch x := v.(type) {
		case archive.String:
			all = append(all, x.Shown())
		case archive.Array:
			all = append(all, shownIn(x)...)
		}
	}
	return all
}

var numeral = regexp.MustCompile(`-?\d+(\.\d+)?`)

// alike tells whether two pictures are the same but for numbers that differ by no more than Tolerance.
func alike(a, b string) bool {
	if numeral.ReplaceAllString(a, "0") != numeral.ReplaceAllString(b, "0") {
		return false
	}
	x, y := numeral.FindAllString(a, -1), numeral.FindAllString(b, -1)
	for i := range x {
		if !near(archive.Number(x[i]), archive.Number(y[i])) {
			return false
		}
	}
	return true
}
