package session

import (
	"fmt"
	"math/big"
	"math/rand"
	"strings"
	"testing"
)

// TestPowerAgainstGrammar computes random expressions of whole numbers a second time, by a descent
// through Python's grammar over the characters, which shares nothing with the rewriting of the tree.
func TestPowerAgainstGrammar(t *testing.T) {
	const count = 600
	rnd := rand.New(rand.NewSource(2))
	s := newSession(t, Bounds{})
	compared := 0
	for i := 0; compared < count; i++ {
		if i > 20*count {
			t.Fatalf("only %d of %d expressions can be computed", compared, i)
		}
		src := expression(rnd, 3)
		want, ok := compute(src)
		if !ok || !strings.Contains(src, "**") {
			continue
		}
		compared++
		_, v, err := runCell(s, "cell", src)
		if err != nil {
			t.Fatalf("%s: %v", src, err)
		}
		if got := v.String(); got != want.String() {
			t.Errorf("%s: got %s, want %s", src, got, want)
		}
	}
}

// expression writes a random expression. What follows ** is small and has no minus, so that the value
// stays a whole number of a size that can be computed.
func expression(rnd *rand.Rand, depth int) string {
	var b strings.Builder
	for i, n := 0, 1+rnd.Intn(4); i < n; i++ {
		if i > 0 {
			b.WriteString(pick(rnd, " + ", "-", "*", " * ", "//", "%", "**", " ** "))
		}
		if strings.HasSuffix(strings.TrimRight(b.String(), " "), "**") {
			b.WriteString(pick(rnd, "0", "1", "2", "3", "(1)", "+2", "(5 % 3)"))
			continue
		}
		b.WriteString(pick(rnd, "", "", "-", "- -", "~", "+"))
		if depth > 0 && rnd.Intn(4) == 0 {
			b.WriteString("(" + expression(rnd, depth-1) + ")")
		} else {
			b.WriteString(fmt.Sprint(rnd.Intn(12)))
		}
	}
	return b.String()
}

func pick(rnd *rand.Rand, from ...string) string { return from[rnd.Intn(len(from))] }

// grammar is Python's, for whole numbers:
//
//	sum    = term {("+" | "-") term}
//	term   = factor {("*" | "//" | "%") factor}
//	factor = ("+" | "-" | "~") factor | power
//	power  = atom ["**" factor]
//	atom   = digits | "(" sum ")"
type grammar struct {
	rest string
	bad  bool // division by zero, or too large
}

func compute(src string) (*big.Int, bool) {
	g := &grammar{rest: strings.ReplaceAll(src, " ", "")}
	v := g.sum()
	return v, !g.bad && g.rest == "" && v.BitLen() < 100_000
}

func (g *grammar) eat(token string) bool {
	if token == "*" && strings.HasPrefix(g.rest, "**") || !strings.HasPrefix(g.rest, token) {
		return false
	}
	g.rest = g.rest[len(token):]
	return true
}

func (g *grammar) sum() *big.Int {
	v := g.term()
	for {
		switch {
		case g.eat("+"):
			v = new(big.Int).Add(v, g.term())
		case g.eat("-"):
			v = new(big.Int).Sub(v, g.term())
		default:
			return v
		}
	}
}

func (g *grammar) term() *big.Int {
	v := g.factor()
	for {
		switch {
		case g.eat("*"):
			v = new(big.Int).Mul(v, g.factor())
		case g.eat("//"):
			v, _ = g.divide(v, g.factor())
		case g.eat("%"):
			_, v = g.divide(v, g.factor())
		default:
			return v
		}
	}
}

// divide rounds towards minus infinity.
func (g *grammar) divide(x, y *big.Int) (quotient, remainder *big.Int) {
	if y.Sign() == 0 {
		g.bad = true
		return x, x
	}
	q, r := new(big.Int).QuoRem(x, y, new(big.Int))
	if r.Sign() != 0 && r.Sign() != y.Sign() {
		q.Sub(q, big.NewInt(1))
		r.Add(r, y)
	}
	return q, r
}

func (g *grammar) factor() *big.Int {
	switch {
	case g.eat("+"):
		return g.factor()
	case g.eat("-"):
		return new(big.Int).Neg(g.factor())
	case g.eat("~"):
		return new(big.Int).Not(g.factor())
	}
	return g.power()
}

func (g *grammar) power() *big.Int {
	v := g.atom()
	if !g.eat("**") {
		return v
	}
	n := g.factor()
	if n.Sign() < 0 || n.Cmp(big.NewInt(10_000)) > 0 {
		g.bad = true
		return v
	}
	return new(big.Int).Exp(v, n, nil)
}

func (g *grammar) atom() *big.Int {
	if g.eat("(") {
		v := g.sum()
		g.bad = !g.eat(")") || g.bad
		return v
	}
	digits := g.rest[:len(g.rest)-len(strings.TrimLeft(g.rest, "0123456789"))]
	g.rest = g.rest[len(digits):]
	v, ok := new(big.Int).SetString(digits, 10)
	if !ok {
		g.bad = true
		return new(big.Int)
	}
	return v
}

func TestPowers(t *testing.T) {
	tests := []struct {
		src, want string
		found     []point
	}{
		{"a**b", "a* b", []point{{1, 2}}},
		{"x **= 2", "x *=  2", []point{{1, 3}}},
		{"f(**kw)", "f(**kw)", nil},
		{"f(a, **kw)", "f(a, **kw)", nil},
		{"def f(a, **kw): return a**2", "def f(a, **kw): return a* 2", []point{{1, 25}}},
		{"lambda **kw: 1", "lambda **kw: 1", nil},
		{"'**' # 2**3\n\"\"\"\n1**2\"\"\"**2", "'**' # 2**3\n\"\"\"\n1**2\"\"\"* 2", []point{{3, 8}}},
		{"'a\\'**'", "'a\\'**'", nil},
		{"é**ß", "é* ß", []point{{1, 2}}},
		{"'no end **\n1**2", "'no end **\n1* 2", []point{{2, 2}}},
		{"\"\"\"no end **", "\"\"\"no end **", nil},
		{"'''a\\", "'''a\\", nil},
	}
	for _, tt := range tests {
		got, found := powers(tt.src)
		if got != tt.want {
			t.Errorf("powers(%q): got %q, want %q", tt.src, got, tt.want)
		}
		if len(found) != len(tt.found) {
			t.Errorf("powers(%q): got %v, want %v", tt.src, found, tt.found)
		}
		for _, p := range tt.found {
			if !found[p] {
				t.Errorf("powers(%q): got %v, want %v", tt.src, found, p)
			}
		}
	}
}

// FuzzPowers checks that no source moves a line or a column or breaks the scanner.
func FuzzPowers(f *testing.F) {
	for _, s := range []string{"a**b", "'''**", "x **= 2 # **", "\\", "\"\\", "é**\n**ß", "f(**k)"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		src = clean(src)
		got, found := powers(src)
		if len(got) != len(src) || strings.Count(got, "\n") != strings.Count(src, "\n") {
			t.Errorf("powers(%q) = %q", src, got)
		}
		if n := strings.Count(src, "*"); len(found) > n {
			t.Errorf("powers(%q) found %d", src, len(found))
		}
	})
}
