package reproduce

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// mutation changes one thing of a report. It returns nil where there is nothing of the kind to change.
type mutation struct {
	name   string
	change func(t *testing.T, x *apart) []byte
}

// fewestMutations is how many changes must have been tried on either report, at least.
const fewestMutations = 200

// No change of a report passes, whatever object it is made to, for a report of this version and for one that says it
// is of another: it differs, or is refused before its cells run.
func TestNoMutationPasses(t *testing.T) {
	for k, by := range []record.Program{now, then} {
		t.Run(by.Version, func(t *testing.T) {
			t.Parallel()
			pdf := makeReport(t, by).PDF
			whole := takeApart(t, pdf)
			whole.old = pdf
			all := slices.Concat(tried(everyKey(whole), k), tried(everyStream(whole), k), tried(carriedMutations(), k),
				fileMutations(), drawingMutations(), viewerMutations(t, by), readerMutations())
			made := map[[32]byte]*publish.Report{}
			count := 0
			var idle []string
			for _, m := range all {
				changed := m.change(t, whole.clone())
				if changed == nil {
					idle = append(idle, m.name)
					continue
				}
				if bytes.Equal(changed, pdf) {
					t.Errorf("%s: the file is as it was", m.name)
					continue
				}
				count++
				if result := judge(t, changed, made); result != "" {
					t.Errorf("%s: %s", m.name, result)
				}
			}
			t.Logf("%d changes, %d reports made again; nothing to change for %d: %v", count, len(made), len(idle), idle)
			if count < fewestMutations {
				t.Errorf("%d changes were made, want %d", count, fewestMutations)
			}
		})
	}
}

// judge reproduces a changed report; "" for one that does not pass and says why. What is carried unchanged is run once.
func judge(t *testing.T, pdf []byte, made map[[32]byte]*publish.Report) string {
	t.Helper()
	c, err := Open(pdf)
	if err != nil {
		return ""
	}
	j, err := c.Job(nil)
	if err != nil {
		return ""
	}
	var carried bytes.Buffer
	fmt.Fprintf(&carried, "%s\x00%s\x00%s\x00%v", c.JSON, c.Executed, c.Notebook.Data, c.data)
	key := sha256.Sum256(carried.Bytes())
	if made[key] == nil {
		again, err := publish.Make(context.Background(), j, c.Tools(publish.Tools{Program: now, Open: open}))
		if err != nil {
			return ""
		}
		made[key] = again
	}
	f, err := Compare(c, made[key], now)
	switch {
	case err != nil:
		return ""
	case f.Result != Differs:
		return fmt.Sprintf("it passes as %s", f.Result)
	case len(f.Differences) == 0 || f.Differences[0].Where == "":
		return "it differs nowhere"
	}
	return ""
}

// part is a piece of a value of PDF: a string in brackets or hexadecimal, a name, a reference, a number.
var part = regexp.MustCompile(`\((?:[^()\\]|\\.)*\)|<[0-9A-Fa-f]+>|/[A-Za-z0-9#+.-]+|` +
	`\d+ 0 R|-?\d+(?:\.\d+)?|\b(?:true|false|null)\b`)

// kindOf tells objects apart by what they are, so that one of each kind is changed.
func kindOf(p piece) string {
	var keys []string
	for _, m := range part.FindAllString(string(p.head), -1) {
		if m[0] == '/' {
			keys = append(keys, m)
		}
	}
	return strings.Join(keys[:min(len(keys), 8)], "") + fmt.Sprint(p.stream != nil)
}

// other is a value of the same kind, not by much another one.
func other(s string) string {
	switch {
	case s == "true":
		return "false"
	case s == "false", s == "null":
		return "true"
	case s[0] == '(' && len(s) > 2:
		return "(~" + s[2:]
	case s[0] == '(':
		return "(~)"
	case s[0] == '<' && s[1] == '0':
		return "<1" + s[2:]
	case s[0] == '<':
		return "<0" + s[2:]
	case s[0] == '/':
		return s + "X"
	case strings.HasSuffix(s, " R"):
		return "1" + s
	case strings.Contains(s, "."):
		return s + "1"
	}
	return s + "1"
}

// everyKey changes each piece of one object of each kind, and writes it in ways that are read otherwise or not at all.
func everyKey(whole *apart) []mutation {
	var all []mutation
	for _, i := range kinds(whole) {
		p := whole.objects[i]
		add := func(name string, change func(head string) string) {
			name = fmt.Sprintf("object %d: %s", p.number, name)
			all = append(all, mutation{name, func(_ *testing.T, x *apart) []byte {
				x.objects[i].head = []byte(change(string(x.objects[i].head)))
				return x.bytes()
			}})
		}
		for _, m := range part.FindAllStringIndex(string(p.head), -1) {
			piece := string(p.head[m[0]:m[1]])
			if strings.HasSuffix(string(p.head[:m[0]]), "/Length ") {
				continue // put right when written; everyStream changes it
			}
			add("another "+piece, func(h string) string { return h[:m[0]] + other(piece) + h[m[1]:] })
			add("no "+piece, func(h string) string { return h[:m[0]] + h[m[1]:] })
		}
		if !bytes.HasSuffix(p.head, []byte(">>")) {
			continue
		}
		for name, more := range map[string]string{
			"a key more":        "/Zz 1",
			"an action":         "/AA <</O <</S /JavaScript /JS (x)>>>>",
			"a comment":         "%x\n",
			"white space":       " ",
			"null for a key":    "/Zz null",
			"a type twice":      "/Type /Other",
			"a key twice":       firstKey(p),
			"a number in words": "/Zz 1e",
			"an endless value":  "/Zz " + strings.Repeat("[", 50),
			"a deep value":      "/Zz " + strings.Repeat("[", 90) + strings.Repeat("]", 90),
		} {
			add(name, func(h string) string { return strings.TrimSuffix(h, ">>") + more + ">>" })
		}
	}
	return all
}

// firstKey is the first key of an object with another value.
func firstKey(p piece) string {
	for _, m := range part.FindAllString(string(p.head), -1) {
		if m[0] == '/' {
			return m + " 0"
		}
	}
	return ""
}

// kinds returns the first object of each kind.
func kinds(x *apart) []int {
	var all []int
	seen := map[string]bool{}
	for i, p := range x.objects {
		if k := kindOf(p); !seen[k] {
			seen[k] = true
			all = append(all, i)
		}
	}
	return all
}

// tried are the changes that a test makes: of those to every object one in so many, the next test the next ones. A soak
// makes all.
func tried(all []mutation, first int) []mutation {
	const share = 20
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		return all
	}
	var some []mutation
	for i := first % share; i < len(all); i += share {
		some = append(some, all[i])
	}
	return some
}
