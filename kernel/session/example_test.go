package session_test

import (
	"context"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

// A session with one word runs three cells; the third sees what the first two defined, and the last
// line of it fails.
func Example() {
	half := starlark.NewBuiltin("half", func(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
		kwargs []starlark.Tuple) (starlark.Value, error) {
		var x starlark.Int
		if err := starlark.UnpackArgs(b.Name(), args, kwargs, "x", &x); err != nil {
			return nil, err
		}
		return x.Div(starlark.MakeInt(2)), nil
	})
	s, err := session.New(session.Config{Words: starlark.StringDict{"half": half}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, src := range []string{
		"def area(x): return half(x ** 2) * scale\nscale = 1",
		"scale = 10",
		"print('%.1f' % area(6))\nhalf(y=3)",
	} {
		cell := session.Cell{Name: fmt.Sprintf("cell %d", i+1), Number: i + 1, Source: src}
		_, err := s.Run(context.Background(), cell, func(o notebook.Output) { fmt.Print(o.Text) })
		if err != nil {
			fmt.Println(err)
		}
	}
	// Output:
	// 180.0
	// cell 3:2:1: half: unexpected keyword argument "y"
}
