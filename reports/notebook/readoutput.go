package notebook

import (
	"fmt"
	"maps"
	"slices"
)

// readOutput reads output number i of a code cell.
func readOutput(v any, cell, i int, err *error) Output {
	path := fmt.Sprintf("outputs[%d]", i)
	m, ok := v.(map[string]any)
	if !ok {
		object{cell: cell, err: err}.fail(path, describe(v), "an object")
		return Output{}
	}
	o := newObject(m, cell, path+".", err)
	out := Output{Type: OutputType(o.str("output_type"))}
	switch out.Type {
	case StreamOutput:
		out.Stream = o.str("name")
		out.Text = o.lines("text")
	case ResultOutput:
		out.Count = o.count("execution_count")
		fallthrough
	case DisplayOutput:
		out.Data = readBundle(o, "data")
		out.Meta = o.object("metadata", true)
	case ErrorOutput:
		out.Error = &Error{Name: o.str("ename"), Value: o.str("evalue"), Traceback: o.strings("traceback")}
	default:
		o.fail("output_type", describe(string(out.Type)), `"stream", "display_data", "execute_result" or "error"`)
	}
	out.Extra = o.rest()
	return out
}

// readBundle takes a MIME bundle: text joined to one string, JSON types as they are. Types are visited in
// order, so that of two faults the same one is always named.
func readBundle(o object, field string) map[string]any {
	m := o.object(field, true)
	bundle := make(map[string]any, len(m))
	for _, mime := range slices.Sorted(maps.Keys(m)) {
		if isJSON(mime) {
			bundle[mime] = m[mime]
			continue
		}
		s, bad := join(m[mime])
		if bad != nil {
			o.fail(field+"."+mime+bad.index, bad.found, bad.want)
			return nil
		}
		bundle[mime] = s
	}
	return bundle
}
