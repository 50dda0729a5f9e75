package archive

import (
	"errors"
	"fmt"
)

// Sound reports whether packed bytes are a stream of Flate that every decoder reads to the same end (RFC 1950 and RFC
// 1951): one that is lenient and one that is not can disagree on codes that are incomplete, on matches from before the
// beginning, on what follows the last block. It does not look at the checksum, which unpacking does.
func Sound(packed []byte) error {
	// 0x78: Deflate with the window of 32 kB that all decoders have, and no dictionary.
	if len(packed) < 6 || packed[0] != 0x78 || (uint(packed[0])<<8|uint(packed[1]))%31 != 0 || packed[1]&0x20 != 0 {
		return fmt.Errorf("found packed bytes that begin with %.2q, expected 0x78 and a check", packed)
	}
	b := &bits{data: packed[2 : len(packed)-4]}
	for last := false; !last; {
		last = b.take(1) == 1
		var err error
		switch kind := b.take(2); kind {
		case 0:
			err = b.stored()
		case 1:
			err = b.compressed(fixedLengths(), fixedDistances())
		case 2:
			var lengths, distances *code
			if lengths, distances, err = b.codes(); err == nil {
				err = b.compressed(lengths, distances)
			}
		default:
			err = errors.New("a block is of no known kind")
		}
		if b.short {
			err = errors.New("they are cut short")
		}
		if err != nil {
			return fmt.Errorf("packed bytes: %w", err)
		}
	}
	if b.align() != 0 || b.at != len(b.data) {
		return fmt.Errorf("packed bytes: found %d bytes after the last block", len(b.data)-b.at)
	}
	return nil
}

// bits takes bits from bytes, the lowest first.
type bits struct {
	data  []byte
	at    int // next byte
	held  uint
	n     uint // bits held
	out   int  // bytes unpacked so far
	short bool // more was asked for than there is
}

func (b *bits) fill(n uint) {
	for b.n < n {
		if b.at < len(b.data) {
			b.held |= uint(b.data[b.at]) << b.n
			b.at++
		} else {
			b.short = true
		}
		b.n += 8
	}
}

func (b *bits) take(n uint) uint {
	b.fill(n)
	v := b.held & (1<<n - 1)
	b.held >>= n
	b.n -= n
	return v
}

// align drops what is left of a byte and returns it.
func (b *bits) align() uint { return b.take(b.n % 8) }

func (b *bits) stored() error {
	if b.align() != 0 {
		return errors.New("bits before a stored block are not zero")
	}
	n, not := b.take(16), b.take(16)
	if n != ^not&0xffff || int(n) > len(b.data)-b.at { // no bit is held here
		return errors.New("the length of a stored block is wrong")
	}
	b.at += int(n)
	b.out += int(n)
	return nil
}

// longest is the most bits of a code, literals how many symbols are bytes: the next one ends a block.
const (
	longest  = 15
	literals = 256
)

// code is a Huffman code: how many symbols have each length, and the symbols in the order of their codes.
type code struct {
	count   [longest + 1]int
	symbols []int
}

// newCode returns the code of so many bits for each symbol. It is complete; or it is one symbol of one bit, if that is
// allowed.
func newCode(lengths []uint, oneAllowed bool) (*code, error) {
	var c code
	for n := uint(1); n <= longest; n++ {
		for symbol, l := range lengths {
			if l == n {
				c.count[n]++
				c.symbols = append(c.symbols, symbol)
			}
		}
	}
	open := 1
	for n := 1; n <= longest; n++ {
		if open = open<<1 - c.count[n]; open < 0 {
			return nil, errors.New("a code has more symbols than it has room for")
		}
	}
	if open > 0 && !(oneAllowed && len(c.symbols) == 1 && c.count[1] == 1) {
		return nil, errors.New("a code is not complete")
	}
	return &c, nil
}

// symbol decodes one symbol; -1 for bits that stand for none.
func (b *bits) symbol(c *code) int {
	value, first, index := 0, 0, 0
	for n := 1; n <= longest; n++ {
		value |= int(b.take(1))
		if value-first < c.count[n] {
			return c.symbols[index+value-first]
		}
		index += c.count[n]
		first = (first + c.count[n]) << 1
		value <<= 1
	}
	return -1
}

func fixedLengths() *code {
	lengths := make([]uint, 288)
	for i := range lengths {
		switch {
		case i < 144:
			lengths[i] = 8
		case i < 256:
			lengths[i] = 9
		case i < 280:
			lengths[i] = 7
		default:
			lengths[i] = 8
		}
	}
	c, _ := newCode(lengths, false) // complete
	return c
}

func fixedDistances() *code {
	lengths := make([]uint, 32)
	for i := range lengths {
		lengths[i] = 5
	}
	c, _ := newCode(lengths, false) // complete
	return c
}

// codes reads the two codes of a block.
func (b *bits) codes() (lengths, distances *code, err error) {
	nl, nd, nc := int(b.take(5))+257, int(b.take(5))+1, int(b.take(4))+4
	if nl > 286 || nd > 30 {
		return nil, nil, fmt.Errorf("found %d and %d symbols, expected at most 286 and 30", nl, nd)
	}
	var of [19]uint
	for _, i := range []int{16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15}[:nc] {
		of[i] = b.take(3)
	}
	c, err := newCode(of[:], false)
	if err != nil {
		return nil, nil, err
	}
	all := make([]uint, 0, nl+nd)
	for len(all) < nl+nd && !b.short {
		s, value, n := b.symbol(c), uint(0), 1
		switch {
		case s < 0 || s == 16 && len(all) == 0:
			return nil, nil, errors.New("the lengths of a code are damaged")
		case s < 16:
			value = uint(s)
		case s == 16:
			value, n = all[len(all)-1], 3+int(b.take(2))
		case s == 17:
			n = 3 + int(b.take(3))
		default:
			n = 11 + int(b.take(7))
		}
		for range n {
			all = append(all, value)
		}
	}
	if b.short || len(all) != nl+nd || all[literals] == 0 {
		return nil, nil, errors.New("the lengths of a code are damaged")
	}
	if lengths, err = newCode(all[:nl], false); err == nil {
		distances, err = newCode(all[nl:], true)
	}
	return lengths, distances, err
}

// Lengths and distances of matches: the first of each symbol, and how many bits follow it (RFC 1951, 3.2.5).
var (
	lengthBase = [29]int{3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131,
		163, 195, 227, 258}
	lengthExtra = [29]uint{0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0}
)

// compressed reads the symbols of a block.
func (b *bits) compressed(lengths, distances *code) error {
	for !b.short {
		s := b.symbol(lengths)
		switch {
		case s == literals:
			return nil
		case s < 0 || s > literals+len(lengthBase):
			return errors.New("a symbol has no meaning")
		case s < literals:
			b.out++
			continue
		}
		length := lengthBase[s-literals-1] + int(b.take(lengthExtra[s-literals-1]))
		d := b.symbol(distances)
		if d < 0 || d > 29 {
			return errors.New("a distance has no meaning")
		}
		distance := d + 1
		if d >= 4 {
			extra := uint(d/2 - 1)
			distance = (2+d%2)<<extra + 1 + int(b.take(extra))
		}
		if distance > b.out {
			return errors.New("a match begins before the beginning")
		}
		b.out += length
	}
	return nil
}
