package pdf

import (
	"bytes"
	"embed"
	"fmt"
	"path"
	"strconv"
)

// The faces with the usual characters, as cut makes them: cutting takes 45 ms of a processor, an eighth of a report.
// TestReadyFaces holds them against cut, and writes them anew with -update.
//
//go:embed ready
var readyFaces embed.FS

func (x *face) readyName() string { return path.Join("ready", x.name) }

// ready returns the subset of the usual characters.
func (x *face) ready() (subset, error) {
	data, err := readyFaces.ReadFile(x.readyName())
	if err != nil {
		return subset{}, err
	}
	s, err := readSubset(data)
	if err != nil {
		return s, fmt.Errorf("%s: %w", x.readyName(), err)
	}
	return s, nil
}

// bytes writes a subset: before each object its length, on a line.
func (s subset) bytes() []byte {
	var out []byte
	for _, o := range s.objects {
		out = append(strconv.AppendInt(out, int64(len(o)), 10), '\n')
		out = append(out, o...)
	}
	return out
}

// readSubset reads what bytes writes.
func readSubset(data []byte) (s subset, err error) {
	for len(data) > 0 {
		head, rest, _ := bytes.Cut(data, []byte("\n"))
		n, err := strconv.Atoi(string(head))
		if err != nil || n < 0 || n > len(rest) {
			return s, fmt.Errorf("object %d: found length %.20q before %d bytes, expected one of at most these",
				len(s.objects)+1, head, len(rest))
		}
		s.objects, data = append(s.objects, rest[:n:n]), rest[n:]
	}
	if len(s.objects) != fontObjects {
		return s, fmt.Errorf("found %d objects, expected %d", len(s.objects), fontObjects)
	}
	return s, nil
}
