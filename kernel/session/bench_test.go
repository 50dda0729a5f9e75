package session

import (
	"context"
	"testing"

	"go.starlark.net/starlark"
)

// plain runs a source on Starlark as it comes, to compare with.
func plain(b *testing.B, src string) {
	b.Helper()
	for b.Loop() {
		th := new(starlark.Thread)
		if _, err := starlark.ExecFileOptions(dialect, th, "cell", src, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func cells(b *testing.B, src string) {
	b.Helper()
	s := newSession(b, Bounds{})
	for b.Loop() {
		if _, err := s.Run(context.Background(), Cell{Name: "cell", Source: src}, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Each of these does its operation 10,000 times: a nanosecond an operation is 10 microseconds here.
var benchmarks = []struct{ name, src string }{
	{"multiply", "def f(a, b):\n  for i in range(10000): a * b\nf(3, 4)"},
	{"compare", "def f(a, b):\n  for i in range(10000): a < b\nf(3, 4)"},
	{"add", "def f(a, b):\n  for i in range(10000): a + b\nf(3, 4)"},
	{"toplevel", "n = 0\nfor i in range(10000):\n  n += i\n"},
	{"toplevel-while", "n = 0\nwhile n < 10000:\n  n += 1\n"},
	{"subtract", "def f(a, b):\n  for i in range(10000): a - b\nf(3, 4)"},
	{"index", "def f(a, i):\n  for j in range(10000): a[i]\nf([3], 0)"},
	{"entry", "def f(a, k):\n  for j in range(10000): a[k] = a.get(k)\nf({3: 4}, 3)"},
	{"append", "x = []\nfor i in range(10000): x.append(i)"},
	{"call", "def g(x): return x\ndef f():\n  for i in range(10000): g(i)\nf()"},
}

func BenchmarkPlain(b *testing.B) {
	for _, m := range benchmarks {
		b.Run(m.name, func(b *testing.B) { plain(b, m.src) })
	}
}

func BenchmarkCells(b *testing.B) {
	for _, m := range benchmarks {
		b.Run(m.name, func(b *testing.B) { cells(b, m.src) })
	}
}

// BenchmarkCompile is everything before a typical cell of a notebook runs.
func BenchmarkCompile(b *testing.B) {
	s := newSession(b, Bounds{})
	const src = `
w1 = paint("YVO4", apex=5*deg, thickness=0.5*nm, axis=22.5*deg, slanted="front")
w2 = paint("YVO4", apex=5*deg, thickness=0.5*nm, axis=67.5*deg, slanted="back")
def loss(angle, at=1550*nm):
    return -10 * angle**2 / at if angle > 0 else 0
worst = [loss(a*deg) for a in range(20) if a % 2 == 0]
for v in worst:
    print('%.3f dB' % v)
`
	for b.Loop() {
		if _, _, err := s.compile("cell", src, s.globals); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSmallCell is the whole of the smallest cell.
func BenchmarkSmallCell(b *testing.B) { cells(b, "1 + 1") }
