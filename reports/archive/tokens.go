package archive

import "fmt"

// Token is a piece of the content of a page.
type Token struct {
	Before []byte // white space in front of it
	Text   []byte // as it is written
	Value  Value  // Number, Name, String, Operator, nil or bool; brackets are Operators too
}

// Tokens reads the content of a page piece by piece. There are no comments in it, and numbers are written plainly.
type Tokens struct {
	l    lexer
	left int
}

// NewTokens begins with the first piece.
func NewTokens(content []byte) *Tokens {
	t := &Tokens{}
	t.l = lexer{data: content, left: &t.left, strict: true}
	return t
}

// Next returns the next piece; at the end one without text, and with the white space before the end.
func (t *Tokens) Next() (Token, error) {
	t.left = 1
	l := &t.l
	from := l.at
	l.skip()
	k := Token{Before: l.data[from:l.at]}
	from = l.at
	rest := l.data[l.at:]
	n := 0
	switch {
	case len(rest) == 0:
		return k, nil
	case len(rest) > 1 && (string(rest[:2]) == "<<" || string(rest[:2]) == ">>"):
		n = 2
	case rest[0] == '[' || rest[0] == ']':
		n = 1
	}
	if n > 0 {
		l.at += n
		k.Text, k.Value = rest[:n], Operator(rest[:n])
		return k, nil
	}
	v, err := l.value(0)
	if err != nil {
		return k, fmt.Errorf("byte %d: %w", from, err)
	}
	k.Text, k.Value = l.data[from:l.at], v
	return k, nil
}
