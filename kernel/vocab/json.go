package vocab

import (
	"context"
	"math"
	"math/big"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

// jsonable is a value with a form of its own in JSON.
type jsonable interface{ json() any }

// Bounds on a value that is written as JSON (a choice: what comes out is some hundred megabytes at most).
const (
	jsonParts = 1 << 20
	jsonBytes = 64 << 20
	jsonDepth = 100
)

// WholeJSON is JSON for a value that may be larger than it looks: one that is too large, nests too deep or holds itself
// is an error.
func WholeJSON(ctx context.Context, v starlark.Value) (any, error) {
	if err := session.NewLook(ctx, jsonParts, jsonBytes, jsonDepth).Whole(v); err != nil {
		return nil, err
	}
	return JSON(v), nil
}

// JSON returns a value in the form that encoding/json writes: a quantity as {"value", "unit"} in the
// unit it is shown in, sweeps and lists as arrays, a series with its axis and units. A number that is not finite is
// null. Units are spelled as cells spell them.
func JSON(v starlark.Value) any {
	switch v := v.(type) {
	case starlark.NoneType:
		return nil
	case starlark.Bool:
		return bool(v)
	case starlark.String:
		return string(v)
	case starlark.Float:
		return number(float64(v))
	case starlark.Int:
		if n, ok := v.Int64(); ok {
			return n
		}
		return new(big.Int).Set(v.BigInt())
	case Quantity:
		return map[string]any{"value": number(v.Value), "unit": Unit{v.Unit}.String()}
	case jsonable:
		return v.json()
	case *starlark.Dict:
		m := make(map[string]any, v.Len())
		for _, kv := range v.Items() {
			key, ok := starlark.AsString(kv[0])
			if !ok {
				key = kv[0].String()
			}
			m[key] = JSON(kv[1])
		}
		return m
	case starlark.Iterable:
		list := []any{}
		for item := range starlark.Elements(v) {
			list = append(list, JSON(item))
		}
		return list
	}
	if t, ok := types[v.Type()]; ok {
		return t.json(v)
	}
	return v.String()
}

// number is a number of JSON, null where JSON has none.
func number(x float64) any {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return x
}
