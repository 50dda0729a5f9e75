package session

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"wedgework/reports/require"
)

// whole are calls that look at whole values: held many times over, deep, long, or many. Each is to end by itself, with
// a value or an error, or as soon as its cell is interrupted; none may hang, end the process or fill its memory.
var whole = []struct{ name, setup, call string }{
	{"a key", "x = (1, 2)\nfor i in range(60): x = (x, x)", "{x: 1}"},
	{"a key of a comprehension", "x = (1, 2)\nfor i in range(60): x = (x, x)", "{k: 1 for k in [x]}"},
	{"an index", "d = {}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d[x]"},
	{"an assigned index", "d = {}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d[x] = 1"},
	{"an augmented index", "d = {}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d[x] += 1"},
	{"an element of a set", "x = (1, 2)\nfor i in range(60): x = (x, x)", "set([x])"},
	{"a dict of pairs", "x = (1, 2)\nfor i in range(60): x = (x, x)", "dict([(x, 1)])"},
	{"in a dict", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "x in d"},
	{"not in a set", "d = set([2]); x = (1, 2)\nfor i in range(60): x = (x, x)", "x not in d"},
	{"in a list", "x = [1]; y = [1]\nfor i in range(60): x = [x, x]; y = [y, y]", "x in [y]"},
	{"get", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d.get(x)"},
	{"pop", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d.pop(x, 1)"},
	{"setdefault", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d.setdefault(x, 1)"},
	{"update", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "d.update([(x, 1)])"},
	{"getattr of a method", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)", "getattr(d, 'get')(x)"},
	{"a method kept", "d = {1: 2}; x = (1, 2)\nfor i in range(60): x = (x, x)\nf = d.get", "f(x)"},
	{"add", "d = set(); x = (1, 2)\nfor i in range(60): x = (x, x)", "d.add(x)"},
	{"discard", "d = set([1]); x = (1, 2)\nfor i in range(60): x = (x, x)", "d.discard(x)"},
	{"union", "d = set([1]); x = (1, 2)\nfor i in range(60): x = (x, x)", "d.union([x])"},
	{"union of several", "d = set([1]); x = (1, 2)\nfor i in range(60): x = (x, x)", "d.union([2], [x])"},
	{"issubset", "d = set([1]); x = (1, 2)\nfor i in range(60): x = (x, x)", "d.issubset([x])"},
	{"arguments gathered", "def f(*a): return a\nx = f(1)\nfor i in range(60): x = f(x, x)", "{x: 1}"},
	{"a deep key", "x = ()\nfor i in range(200000): x = (x,)", "{x: 1}"},
	{"keys of one hash", "x = [i << 32 for i in range(1 << 17)]", "set(x)"},
	{"pairs of one hash", "x = [(i << 32, 1) for i in range(1 << 17)]", "dict(x)"},
	{"large keys", "x = tuple(range(60000))\ny = [x + (i,) for i in range(50)]\ns = set(y)",
		"[s - set([1]) for i in range(1000)]"},

	{"equal", "x = [1]; y = [1]\nfor i in range(60): x = [x, x]; y = [y, y]", "x == y"},
	{"equal and wide", "x = [0]*3000; y = [[x]*3000]*3000; z = [[[0]*3000]*3000]*3000", "y == z"},
	{"equal dicts", "x = {1: 1}; y = {1: 1}\nfor i in range(60): x = {1: x, 2: x}; y = {1: y, 2: y}", "x == y"},
	{"equal sets", "x = set([i << 32 for i in range(1 << 11)]); y = set(x)", "[x == y for i in range(1000)]"},
	{"equal texts", "x = ['a' * (1 << 24)] * 1000; y = ['a' * ((1 << 24) - 1) + 'a'] * 1000", "x == y"},
	{"less", "x = [1]; y = [1]\nfor i in range(60): x = [x, x]; y = [y, y]", "x < y"},
	{"holds itself", "x = []; x.append(x); y = []; y.append(y)", "x == y"},
	{"index of", "x = [0]*3000; x = [[x]*3000]*3000; y = [[[0]*3000]*3000]*2 + [1]", "x.index(y)"},
	{"remove", "x = [0]*3000; x = [[x]*3000]*3000; y = [[[0]*3000]*3000]*2 + [1]", "x.remove(y)"},
	{"sorting", "x = [[0]*3000 for i in range(3000)]", "sorted(x * 100)"},
	{"greatest", "x = [0]*3000; x = [x]*3000", "max([[x]*3000, [x]*2999 + [[x]]])"},

	{"str of a list", "x = [1]\nfor i in range(60): x = [x, x]", "str(x)"},
	{"repr of a tuple", "x = (1,)\nfor i in range(60): x = (x, x)", "repr(x)"},
	{"print", "x = [1]\nfor i in range(60): x = [x, x]", "print(x)"},
	{"fail", "x = [1]\nfor i in range(60): x = [x, x]", "fail(x)"},
	{"%s", "x = [1]\nfor i in range(60): x = [x, x]", "'%s' % [x]"},
	{"%d", "x = [1]\nfor i in range(60): x = [x, x]", "'%d' % [x]"},
	{"%c", "x = [1]\nfor i in range(60): x = [x, x]", "'%c' % [x]"},
	{"format", "x = [1]\nfor i in range(60): x = [x, x]", "'{}'.format(x)"},
	{"format of a number", "x = [1]\nfor i in range(60): x = [x, x]", "'{:d}'.format(x)"},
	{"many fields", "x = [1]*(1 << 18)", "('{} ' * (1 << 20)).format(*x)"},
	{"many named fields", "x = {'k%d' % i: i for i in range(4000)}", "('{k3999} ' * (1 << 20)).format(**x)"},
	{"shown", "x = [1]\nfor i in range(60): x = [x, x]", "x"},
	{"shown and deep", "x = [1]\nfor i in range(100000): x = [x]", "x"},
	{"shown and very deep", "x = [1]\nfor i in range(300000): x = [x]", "x"},
	{"shown and holding itself", "x = {}; x[1] = [x, x, (x, x)]", "x"},
	{"text of a long whole number", "x = 1\nfor i in range(3000): x = (x | 1) + (x & 3)", "str(x)"},
	{"a power", "", "3 ** 10000000"},
	{"a shift", "", "1 << (1 << 30)"},
	{"shifts", "x = 1", "[x << 511 for i in range(100)]\nfor i in range(1000000): x = x << 511"},
	{"a shift in place", "x = 1", "for i in range(1000000): x <<= 511"},
	{"products", "x = 3", "for i in range(100): x *= x"},
	{"a long number", "x = '9' * 1000000", "int(x)"},

	{"list of a range", "", "list(range(1 << 24))"},
	{"list of code points", "x = 'a' * (1 << 24)", "list(x.codepoints())"},
	{"all", "", "[all(range(1, 1 << 24)) for i in range(100)]"},
	{"any", "x = [0] * (1 << 22)", "[any(x) for i in range(100)]"},
	{"zip", "x = [1] * (1 << 21)", "[zip(x, x) for i in range(100)]"},
	{"zip of many", "x = [1] * 1000", "zip(*([x] * 1000000))"},
	{"zip of code points", "x = 'a' * (1 << 24)", "zip(x.codepoints())"},
	{"enumerate", "x = [1] * (1 << 22)", "[enumerate(x) for i in range(100)]"},
	{"many arguments", "def f(*a): return len(a)", "[f(*range(1 << 24)) for i in range(10)]"},
	{"arguments of a text", "def f(*a): return len(a)\nx = 'a' * (1 << 24)", "f(*x.codepoints())"},
	{"many named arguments", "def f(**a): return len(a)\nx = {'k%d' % i: i for i in range(100000)}", "f(**x)"},
	{"bytes", "x = [1] * (1 << 22)", "[bytes(x) for i in range(100)]"},
	{"items", "x = {i: i for i in range(1 << 17)}", "[x.items() for i in range(1000)]"},
	{"a dict of a dict", "x = {i: i for i in range(1 << 17)}", "[dict(x) for i in range(100)]"},
	{"united dicts", "x = {i: i for i in range(1 << 17)}", "[x | x for i in range(100)]"},
	{"united sets", "x = set(range(1 << 18))", "[x | set([1]) for i in range(100)]"},
	{"sets in place", "x = set(range(1 << 18)); y = set([-1])", "for i in range(100): x ^= y"},
	{"nested functions", "def f(x): return f(x) + f(x)", "f(1)"},
	{"nested sorting", "def f(x): return sorted([1, 2], key=f)", "f(1)"},
	{"doubled in a comprehension", "x = [1]", "for i in range(60): x = [y for z in [x, x] for y in z]"},
	{"doubled in place", "x = [1]", "for i in range(60): x += x"},

	{"split", "x = 'a ' * (1 << 23)", "x.split(' ')"},
	{"split at white space", "x = 'a ' * (1 << 23)", "x.split()"},
	{"rsplit", "x = 'a ' * (1 << 23)", "x.rsplit(' ', 1)"},
	{"splitlines", "x = 'a\\n' * (1 << 23)", "x.splitlines()"},
	{"replace nothing", "x = 'a' * (1 << 23)", "x.replace('', '')"},
	{"replace", "x = 'a' * (1 << 23)", "[x.replace('a', 'b') for i in range(100)]"},
	{"join", "x = ['a'] * (1 << 22)", "[''.join(x) for i in range(100)]"},
	{"strip", "x = 'é' * (1 << 22)", "x.strip('à' * (1 << 20) + 'é')"},
	{"startswith", "x = 'a' * (1 << 24); y = ('a' * ((1 << 24) - 1) + 'b',) * 100000", "x.startswith(y)"},
	{"upper", "x = 'é' * (1 << 23)", "[x.upper() for i in range(100)]"},
	{"title", "x = 'é ' * (1 << 22)", "[x.title() for i in range(100)]"},
	{"count", "x = 'aa' * (1 << 23)", "[x.count('aa') for i in range(1000)]"},
	{"partition", "x = 'aa' * (1 << 23)", "[x.partition('b') for i in range(10000)]"},
	{"a long name", "x = 'a' * (1 << 24)", "getattr(x, x)"},
	{"a long key", "x = 'a' * (1 << 24); d = {}", "d[x]"},
	{"failing at length", "x = 'a' * (1 << 23)", "fail(x)"},
	{"a long format", "x = 'a' * (1 << 23)", "(x + '%d') % x"},
	{"an error of a long text", "x = 'a' * (1 << 24)", "float(x)"},
}

// endOf runs a call and interrupts it after a while; it returns how long the call went on after that.
func endOf(t testing.TB, setup, call string) time.Duration {
	t.Helper()
	s := newSession(t, Bounds{})
	if _, err := s.Run(context.Background(), Cell{Name: "set-up", Source: setup}, nil); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	ended := make(chan error, 1)
	go func() {
		_, err := s.Run(ctx, Cell{Name: "cell", Source: call}, nil)
		ended <- err
	}()
	var err error
	var took time.Duration
	select {
	case err = <-ended:
	case <-time.After(50 * time.Millisecond):
		cancel()
		at := time.Now()
		select {
		case err = <-ended:
			took = time.Since(at)
		case <-time.After(20 * time.Second):
			t.Fatal("hangs, and the interruption is not heard")
		}
	}
	var e *Error
	if err != nil && (!errors.As(err, &e) || e.Kind == InternalError || len(e.Message) > mostMessage+10 ||
		len(strings.Join(e.Lines, "")) > 3*mostMessage) {
		t.Errorf("ends with %.200v", err)
	}
	return took
}

// TestWholeValues: the bound is generous, for a loaded machine; BenchmarkWholeValues reports what is usual.
func TestWholeValues(t *testing.T) {
	for i := 0; i < len(whole); i += require.Sample(2, 1) {
		c := whole[i]
		t.Run(strings.ReplaceAll(c.name, " ", "-"), func(t *testing.T) {
			before := readHeap()
			done, most := make(chan struct{}), make(chan int64)
			go func() {
				var top int64
				for {
					select {
					case <-done:
						most <- top
						return
					case <-time.After(heapInterval):
						top = max(top, readHeap().live)
					}
				}
			}()
			if took := endOf(t, c.setup, c.call); took > 5*time.Second {
				t.Errorf("went on for %v after the interruption", took)
			} else if testing.Verbose() {
				t.Logf("went on for %v", took)
			}
			close(done)
			if grown := <-most - before.live; grown > 2*DefaultBounds().Heap {
				t.Errorf("took %d MiB", grown>>20)
			}
		})
	}
}

// TestLongSources are cells that take long before they run; an interruption ends them too, and the names stay usable
// while what was begun comes to its end.
func TestLongSources(t *testing.T) {
	for _, c := range []struct{ name, part string }{
		{"statements", "x = 1\n"}, {"a list", "1,"}, {"a sum", "+1"}, {"functions", "def f():\n  x = 1\n"},
		{"attributes", ".b"}, {"texts", "'a' "},
	} {
		t.Run(c.name, func(t *testing.T) {
			src := strings.Repeat(c.part, (sourceSize-100)/len(c.part))
			switch c.name {
			case "a list":
				src = "x = [" + src + "]"
			case "a sum", "attributes":
				src = "x = a" + src
			}
			s, err := New(Config{})
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithCancel(context.Background())
			time.AfterFunc(time.Millisecond, cancel)
			_, err = s.Run(ctx, Cell{Name: "cell", Source: src}, nil)
			var e *Error
			if !errors.As(err, &e) || e.Kind != Interrupted {
				t.Fatalf("got %.100v, want an interruption", err)
			}
			for _, next := range []string{"y = 1", "y + 1"} {
				if _, err := s.Run(context.Background(), Cell{Name: "next", Source: next}, nil); err != nil {
					t.Errorf("%s: %v", next, err)
				}
			}
		})
	}
}
