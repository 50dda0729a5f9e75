package reproduce

import (
	"bytes"
	"fmt"
	"slices"

	"wedgework/reports/archive"
)

// movable are the operators whose operands are points, and from which of them on (ISO 32000-1, 8.4.4, 8.5.2 and 9.4.2):
// of a matrix only the last two, for what scales or turns moves what is far from the origin by more.
var movable = map[archive.Operator]int{"m": 0, "l": 0, "c": 0, "v": 0, "y": 0, "re": 0, "Td": 0, "cm": 4, "Tm": 4}

// drawing compares what two pages show: every operator, name and string to the byte, and all numbers but those of
// points, which may differ by Tolerance.
func (f *Finding) drawing(page int, was, is []byte) {
	if f.words(page, was, is) {
		return // what follows may only be shifted
	}
	x, y := archive.NewTokens(was), archive.NewTokens(is)
	where := fmt.Sprintf("page %d: drawing", page)
	operand, inside := 0, 0
	var moved []int // operands of the next operator that differ
	for {
		a, errA := x.Next()
		b, errB := y.Next()
		switch {
		case errA != nil || errB != nil:
			f.add(where, fmt.Sprint(errA), fmt.Sprint(errB))
			return
		case !bytes.Equal(a.Before, b.Before) || (len(a.Text) == 0) != (len(b.Text) == 0):
			f.add(where, shortened(string(a.Before)+string(a.Text)), shortened(string(b.Before)+string(b.Text)))
			return
		case len(b.Text) == 0:
			f.Moved++
			return
		}
		same := bytes.Equal(a.Text, b.Text)
		op, isOp := b.Value.(archive.Operator)
		if !same && inside == 0 && nearTokens(a, b) {
			moved, same = append(moved, operand), true
		}
		if isOp && same {
			switch op {
			case "[", "<<":
				inside++
			case "]", ">>":
				inside--
			case "BI": // bytes of a picture follow that are no operators
				same = false
			}
			from, points := movable[op]
			if bracket := op == "[" || op == "]" || op == "<<" || op == ">>"; !bracket {
				if len(moved) > 0 && (!points || slices.Min(moved) < from) {
					f.add(where+", "+string(op), "other operands", "")
					return
				}
				operand, moved = -1, nil
			}
		}
		if !same {
			f.add(where, shortened(string(a.Text)), shortened(string(b.Text)))
			return
		}
		operand++
	}
}

func nearTokens(a, b archive.Token) bool {
	x, okA := a.Value.(archive.Number)
	y, okB := b.Value.(archive.Number)
	return okA && okB && near(x, y)
}

// words says of the first string that differs what the page shows, and whether there is one.
func (f *Finding) words(page int, was, is []byte) bool {
	x, y := archive.NewTokens(was), archive.NewTokens(is)
	for {
		a, okA := nextString(x)
		b, okB := nextString(y)
		if okA != okB || a != b {
			f.add(fmt.Sprintf("page %d: text", page), shortened(a.Shown()), shortened(b.Shown()))
			return true
		}
		if !okA {
			return false
		}
	}
}

// nextString returns the next string of a page; false at its end, or where it does not read on.
func nextString(t *archive.Tokens) (archive.String, bool) {
	for {
		k, err := t.Next()
		if err != nil || len(k.Text) == 0 {
			return "", false
		}
		if s, ok := k.Value.(archive.String); ok {
			return s, true
		}
	}
}
