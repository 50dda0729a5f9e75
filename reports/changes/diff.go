// Package changes says what differs between two records: as a list, grouped for a person as a document, and as JSON.
//
// It compares the JSON and not the program's types: digits stay as they were printed, and a field that a later version
// of the program has added is compared like any other. What stands in a list is matched by what names it (a unit, a
// limit's quantity and range, a parameter), so that an addition in front does not shift the rest.
package changes

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Change is one place where two records differ.
type Change struct {
	Path []string `json:"path"` // "units", "0417", "limits", "isolation at least over 23 °C", "margin"
	Was  string   `json:"was"`  // as printed; "" where there was nothing
	Is   string   `json:"is"`   // "" where there is nothing now
}

// Of returns the changes from one JSON text to another, in the order of the texts' fields.
func Of(was, is []byte) ([]Change, error) {
	a, err := decode(was)
	if err != nil {
		return nil, err
	}
	b, err := decode(is)
	if err != nil {
		return nil, err
	}
	var d differ
	d.values(nil, a, b)
	return d.found, nil
}

func decode(data []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber() // keeps the digits
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("not JSON: %w", err)
	}
	return v, nil
}

type differ struct{ found []Change }

func (d *differ) add(path []string, was, is any) {
	d.found = append(d.found, Change{slices.Clone(path), printed(was), printed(is)})
}

func (d *differ) values(path []string, was, is any) {
	switch a := was.(type) {
	case map[string]any:
		if b, ok := is.(map[string]any); ok {
			for _, key := range keys(a, b) {
				d.values(append(path, key), a[key], b[key])
			}
			return
		}
	case []any:
		if b, ok := is.([]any); ok || is == nil {
			d.lists(path, a, b)
			return
		}
	case nil:
		if b, ok := is.([]any); ok {
			d.lists(path, nil, b)
			return
		}
	}
	if printed(was) != printed(is) {
		d.add(path, was, is)
	}
}

// lists matches elements by their names. The second of the same name is matched with the second. Limits that are left
// are matched by what they bound: one whose range was changed is the same limit.
func (d *differ) lists(path []string, was, is []any) {
	a, b := named(was), named(is)
	partner := matched(a, b)
	bounds := map[string]int{}
	for _, n := range a {
		bounds[bounded(n.value)]++
	}
	taken := make([]bool, len(b))
	for i, n := range a {
		at := partner[i]
		if at < 0 {
			d.add(append(path, n.name), n.value, nil)
			continue
		}
		taken[at] = true
		name := n.name
		if what := bounded(n.value); name != b[at].name && bounds[what] == 1 {
			name = what // without the range, which is another one now
		}
		d.values(append(path, name), n.value, b[at].value)
	}
	for j, n := range b {
		if !taken[j] {
			d.add(append(path, n.name), nil, n.value)
		}
	}
}

// matched gives each element of a its place in b, -1 for none. A record from elsewhere may have any number of them.
func matched(a, b []element) []int {
	places := make(map[string]int, len(b))
	for j, m := range b {
		if _, there := places[m.name]; !there {
			places[m.name] = j
		}
	}
	partner, taken := make([]int, len(a)), make([]bool, len(b))
	for i, n := range a {
		j, there := places[n.name]
		if !there || taken[j] {
			partner[i] = -1
			continue
		}
		partner[i], taken[j] = j, true
	}
	free := map[string][]int{}
	for j, m := range b {
		if what := bounded(m.value); what != "" && !taken[j] {
			free[what] = append(free[what], j)
		}
	}
	for i, n := range a {
		if left := free[bounded(n.value)]; partner[i] < 0 && len(left) > 0 {
			partner[i], free[bounded(n.value)] = left[0], left[1:]
		}
	}
	return partner
}

// bounded is what a limit bounds, "" for what is no limit.
func bounded(v any) string {
	fields, _ := v.(map[string]any)
	quantity, _ := fields["quantity"].(string)
	rule, ok := fields["rule"].(string)
	if !ok {
		return ""
	}
	return quantity + ", " + rule
}

type element struct {
	name  string
	value any
}

func named(list []any) []element {
	all := make([]element, len(list))
	count := map[string]int{}
	for i, v := range list {
		name := nameOf(v)
		if name == "" {
			name = fmt.Sprint(i + 1)
		}
		if count[name]++; count[name] > 1 {
			name += fmt.Sprintf(" (%d)", count[name])
		}
		all[i] = element{name, v}
	}
	return all
}

// names are the fields that name an element of a list, in the order in which they are tried; those of one row together.
var names = [][]string{{"quantity", "rule", "over"}, {"kind", "name", "at", "rule"}, {"name", "at"}, {"figure"},
	{"subject"}, {"label"}, {"unit"}, {"lot"}}

// nameOf returns what names an element, "" when nothing does. A text names itself: a caution has changed when it reads
// differently.
func nameOf(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	fields, ok := v.(map[string]any)
	if !ok {
		return ""
	}
	for _, row := range names {
		var parts []string
		for _, key := range row {
			if s, ok := fields[key].(string); ok && s != "" {
				parts = append(parts, s)
			}
		}
		if _, ok := fields[row[0]].(string); ok && len(parts) > 0 {
			return strings.Join(parts, ", ")
		}
	}
	return ""
}

// order is that in which a reader wants fields; others follow in alphabetical order.
var order = []string{
	"program", "header", "issued", "notebook", "executed", "inputs", "settings", "constants", "fonts", "lots", "units",
	"verdicts", "limits", "figures", "diagnosis", "model", "budgets", "cautions", "notes",
	"limit", "specified", "measured", "value", "low", "high", "margin", "departure", "uncertainty", "guard_band",
	"tolerance",
	"conformance", "normalized_error", "outcome", "within",
}

func keys(a, b map[string]any) []string {
	all := maps.Clone(a)
	for k := range b {
		all[k] = nil
	}
	return slices.SortedFunc(maps.Keys(all), func(x, y string) int {
		return cmp.Or(cmp.Compare(rank(x), rank(y)), strings.Compare(x, y))
	})
}

func rank(field string) int {
	if i := slices.Index(order, field); i >= 0 {
		return i
	}
	return len(order)
}

// printed is a value in a line: a text or number as it is, a list or an object by its parts.
func printed(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case json.Number:
		return x.String()
	case bool:
		if x {
			return "yes"
		}
		return "no"
	case []any:
		var parts []string
		for _, e := range x {
			parts = append(parts, printed(e))
		}
		return strings.Join(parts, "; ")
	case map[string]any:
		var parts []string
		for _, k := range keys(x, nil) {
			if s := printed(x[k]); s != "" {
				parts = append(parts, k+" "+s)
			}
		}
		return strings.Join(parts, ", ")
	}
	return fmt.Sprint(v)
}
