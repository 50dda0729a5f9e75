package pdf

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"regexp"
	"strconv"
	"sync"
)

// ending is the table and the trailer as close writes them.
var ending = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^xref\n0 \d+\n0{10} 65535 f \n(?:\d{10} 00000 n \n)*` +
		`trailer\n<</Size \d+ /Root \d+ 0 R /Info \d+ 0 R /ID \[<([0-9A-F]{32})> <([0-9A-F]{32})>\]>>\n` +
		`startxref\n(\d+)\n%%EOF\n$`)
})

// Intact reports whether a file is as Render wrote it: its identifier is the hash of everything before the table, and
// nothing comes after the trailer. Viewers that annotate, sign or repair a file change that. It is no proof against
// forgery, for anybody can compute a hash.
func Intact(data []byte) bool {
	const longest = 64 // from startxref to the end
	at := bytes.LastIndex(data, []byte("\nstartxref\n"))
	if at < 0 || len(data)-at > longest {
		return false
	}
	number, _, _ := bytes.Cut(data[at+len("\nstartxref\n"):], []byte("\n"))
	start, err := strconv.Atoi(string(number))
	if err != nil || start < 0 || start > at {
		return false
	}
	m := ending().FindSubmatch(data[start:])
	id := sha256.Sum256(data[:start])
	want := fmt.Sprintf("%X", id[:16])
	return m != nil && string(m[1]) == want && string(m[2]) == want && string(m[3]) == string(number)
}
