package measured

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
)

// File is a file of readings, whole, as it came. Name is the base name that reports print, never a path:
// the folder a file lay in must not enter a record.
type File struct {
	Name   string
	Data   []byte
	SHA256 string // of Data, lower-case hexadecimal

	// Unit is the serial number that whoever handed the file over has for it, as the {unit} of a plan; "" where nobody
	// said. A file that says another one is refused.
	Unit string
}

// NewFile returns the file with its hash.
func NewFile(name string, data []byte) File {
	sum := sha256.Sum256(data)
	return File{Name: name, Data: data, SHA256: hex.EncodeToString(sum[:])}
}

// Hashed is NewFile for a file that may be large: it ends with its context.
func Hashed(ctx context.Context, name string, data []byte) (File, error) {
	const piece = 1 << 20 // bytes between two looks, some 5 ms where no instruction of the processor helps
	h := sha256.New()
	for rest := data; len(rest) > 0; rest = rest[min(len(rest), piece):] {
		if err := ctx.Err(); err != nil {
			return File{}, err
		}
		h.Write(rest[:min(len(rest), piece)])
	}
	return File{Name: name, Data: data, SHA256: hex.EncodeToString(h.Sum(nil))}, nil
}
