package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"reflect"
)

// JSON encodes metadata or content. NaN and the infinities become null, for JSON has no word for them and a
// browser drops a whole message that holds one. That holds for values inside maps, slices and pointers;
// a struct with such a number is an error. Text that is not UTF-8 gets U+FFFD where it is not.
func JSON(v any) (json.RawMessage, error) {
	data, err := encode(v)
	var unsupported *json.UnsupportedValueError
	if errors.As(err, &unsupported) {
		return encode(finite(reflect.ValueOf(v)))
	}
	return data, err
}

// encode is json.Marshal without the escapes for HTML, which triple the length of markup.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// finite copies v with nil in place of every number that JSON cannot hold. It is only called when there
// is one.
func finite(v reflect.Value) any {
	switch v.Kind() {
	case reflect.Float32, reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return nil
		}
	case reflect.Interface, reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return finite(v.Elem())
	case reflect.Map:
		if v.IsNil() || v.Type().Key().Kind() != reflect.String {
			break
		}
		out := make(map[string]any, v.Len())
		for k, e := range v.Seq2() {
			out[k.String()] = finite(e)
		}
		return out
	case reflect.Slice, reflect.Array:
		// bytes are one text in JSON, not a list
		if v.Kind() == reflect.Slice && v.IsNil() || v.Type().Elem().Kind() == reflect.Uint8 {
			break
		}
		out := make([]any, v.Len())
		for i := range out {
			out[i] = finite(v.Index(i))
		}
		return out
	}
	if !v.IsValid() {
		return nil
	}
	return v.Interface()
}
