package measured

import (
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
