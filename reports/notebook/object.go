package notebook

import (
	"encoding/json"
	"fmt"
	"maps"
	"strconv"
)

// object reads the fields of one JSON object. Taking a field removes it, so that what is left in the end
// are the fields that nbformat does not define. The first thing wrong is kept in *err, shared with the
// objects inside, and everything after it reads as empty: callers look once, at the end.
type object struct {
	fields map[string]any
	cell   int
	path   string // prefix of field names, "" or ending in a point
	err    *error
}

// newObject wraps a copy of m, so that taking fields leaves the caller's map alone.
func newObject(m map[string]any, cell int, path string, err *error) object {
	return object{maps.Clone(m), cell, path, err}
}

func (o object) fail(field, found, want string) {
	if *o.err == nil {
		*o.err = &Invalid{Cell: o.cell, Field: o.path + field, Found: found, Want: want}
	}
}

// take removes and returns a field; want words what a missing one should have been, and "" makes the
// field optional.
func (o object) take(field, want string) (v any, ok bool) {
	v, ok = o.fields[field]
	delete(o.fields, field)
	if !ok && want != "" {
		o.fail(field, "nothing", want)
	}
	return v, ok
}

func (o object) str(field string) string {
	const want = "a string"
	v, ok := o.take(field, want)
	s, isString := v.(string)
	if ok && !isString {
		o.fail(field, describe(v), want)
	}
	return s
}

// lines takes a text that nbformat writes as one string or as a list of pieces to be joined.
func (o object) lines(field string) string {
	v, ok := o.take(field, wantLines)
	if !ok {
		return ""
	}
	s, bad := join(v)
	if bad != nil {
		o.fail(field+bad.index, bad.found, bad.want)
	}
	return s
}

func (o object) object(field string, required bool) map[string]any {
	const want = "an object"
	need := ""
	if required {
		need = want
	}
	v, ok := o.take(field, need)
	m, isObject := v.(map[string]any)
	if ok && !isObject {
		o.fail(field, describe(v), want)
	}
	return m
}

func (o object) list(field string) []any {
	const want = "a list"
	v, ok := o.take(field, want)
	l, isList := v.([]any)
	if ok && !isList {
		o.fail(field, describe(v), want)
	}
	return l
}

func (o object) strings(field string) []string {
	var s []string
	for i, v := range o.list(field) {
		line, ok := v.(string)
		if !ok {
			o.fail(fmt.Sprintf("%s[%d]", field, i), describe(v), "a string")
		}
		s = append(s, line)
	}
	return s
}

// count takes an execution count: null, which is 0 here, or a whole number.
func (o object) count(field string) int {
	const want = "null or a whole number that is not negative"
	v, ok := o.take(field, want)
	if !ok || v == nil {
		return 0
	}
	return o.whole(field, v, want)
}

func (o object) whole(field string, v any, want string) int {
	n, _ := v.(json.Number)
	i, err := strconv.Atoi(n.String())
	if err != nil || i < 0 {
		o.fail(field, describe(v), want)
		return 0
	}
	return i
}

// rest returns the fields that were not taken, nil when there are none.
func (o object) rest() map[string]any {
	if len(o.fields) == 0 {
		return nil
	}
	return o.fields
}
