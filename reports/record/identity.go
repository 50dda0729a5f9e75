package record

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"sync"
)

var numberPattern = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z._/-]{0,39}$`)
})

// CheckNumber refuses what cannot be the number of a report.
func CheckNumber(number string) error {
	if !numberPattern().MatchString(number) {
		return fmt.Errorf("found the report number %q, expected up to 40 letters, digits and . _ / -, as in "+
			"QR-2026-017",
			number)
	}
	return nil
}

// Content is a hash of all that the record says but its number and the toolchain of the program: two reports with one
// content are one report.
func (r *Record) Content() (string, error) {
	bare := *r
	bare.Number, bare.Program = "", Program{Name: r.Program.Name, Version: r.Program.Version}
	text, err := json.Marshal(bare)
	return Digest(text), err
}

// letters are those of Crockford's base 32, without the ones that are read as others.
const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// OwnNumber is the number of a report that nobody has given one: 50 bits of the hash of its content, as in
// WR-7K3M9-QXT2B. Among 20,000 reports two different ones share a number with a chance of 2e-7 (n squared over two,
// over two to the 50th).
func OwnNumber(content string) string {
	return "WR-" + numbered("number of "+content)
}

// ChangesNumber is the number of a list of changes with the digest given, as in WC-7K3M9-QXT2B.
func ChangesNumber(digest string) string { return "WC-" + numbered("changes of "+digest) }

func numbered(text string) string {
	sum := sha256.Sum256([]byte(text))
	number := base32.NewEncoding(letters).WithPadding(base32.NoPadding).EncodeToString(sum[:7])
	return number[:5] + "-" + number[5:10]
}

var ownPattern = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^WR-[` + letters + `]{5}-[` + letters + `]{5}$`)
})

// IsOwnNumber reports whether a number is of the form of those that follow from the content. Nobody may give one.
func IsOwnNumber(number string) bool { return ownPattern().MatchString(number) }

// Digest is what a report is told by: the SHA-256 of its record.
func Digest(json []byte) string {
	sum := sha256.Sum256(json)
	return hex.EncodeToString(sum[:])
}

// Short is the beginning of a digest, as it is printed.
func Short(digest string) string { return digest[:min(len(digest), 12)] }

// Code is what a QR code of a report holds: its number, and what its record is told by.
func Code(number, digest string) string { return number + ":" + strings.ToUpper(digest) }

// Answers reports whether a report with a number and the digest of its record is that of a code; the digest in the code
// may be cut to what is printed on the pages. An error says that it is no code.
func Answers(code, number, digest string) (bool, error) {
	named, sum, ok := strings.Cut(strings.TrimSpace(code), ":")
	sum = strings.ToLower(sum)
	if !ok || CheckNumber(named) != nil || len(sum) < len(Short(digest)) || len(sum) > sha256.Size*2 ||
		strings.Trim(sum, "0123456789abcdef") != "" {
		return false, fmt.Errorf("found %q, expected the number of a report, a colon and at least the first %d "+
			"digits of its digest, as in WR-7K3M9-QXT2B:2cb3e66d2525", code, len(Short(digest)))
	}
	return named == number && strings.HasPrefix(digest, sum), nil
}
