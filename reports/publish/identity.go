package publish

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/record"
)

// NumbersName is the file in a folder of reports that says which report numbers have been used there.
const NumbersName = ".wedgework-numbers"

// checkGiven refuses what cannot be a number that somebody gives.
func checkGiven(number string) error {
	if record.IsOwnNumber(number) {
		return fmt.Errorf("found the report number %s, expected another form than WR-7K3M9-QXT2B: numbers of that "+
			"form follow from the content", number)
	}
	return record.CheckNumber(number)
}

// identify gives a record its number and says what the report supersedes. It reports whether the report that stands is
// the same one: then the record is that one's, for as far as both can say the same.
func identify(r *record.Record, j *job.Job, stands *Standing) (same bool, err error) {
	if j.Bears != nil {
		r.Number, r.Supersedes = j.Bears.Number, j.Bears.Supersedes
		return false, nil
	}
	if stands != nil && stands.Record != nil {
		if same, err = stands.is(r, j.Number.Text); same || err != nil {
			return same, err
		}
		// A draft that nobody signed gives its place away, and what it superseded is superseded by its successor.
		r.Supersedes = stands.Record.Supersedes
		if stands.kept() != "" {
			r.Supersedes = &record.Superseded{Number: stands.number(), SHA256: stands.Digest}
		}
	}
	content, err := r.Content()
	if err != nil {
		return false, err
	}
	if j.Number.Text == "" {
		r.Number = record.OwnNumber(content)
		return false, nil
	}
	used := ""
	if stands != nil {
		used = stands.number()
	}
	r.Number, err = claim(filepath.Dir(j.Output.Text), j.Number.Text, content, used)
	return false, j.Number.At.Wrap(err)
}

// is reports whether the report that stands is that of a record, under the number asked for; then the record gets its
// number and what it supersedes.
func (s *Standing) is(r *record.Record, number string) (bool, error) {
	then := *r
	then.Number, then.Supersedes = s.Record.Number, s.Record.Supersedes
	is, err := then.Content()
	if err != nil {
		return false, err
	}
	was, err := s.Record.Content()
	if err != nil || is != was || !under(s.Record.Number, number, was) {
		return false, err
	}
	*r = then
	return true, nil
}

// under reports whether a number is one that a report gets when a number is asked for: that, or with -2, -3 behind it,
// or its own when none is.
func under(number, asked, content string) bool {
	if asked == "" {
		return number == record.OwnNumber(content)
	}
	var n int
	_, err := fmt.Sscanf(number, asked+"-%d", &n)
	return number == asked || err == nil && number == nth(asked, n)
}

func nth(number string, n int) string {
	if n == 1 {
		return number
	}
	return fmt.Sprintf("%s-%d", number, n)
}

// claimed is a line of the file of used numbers.
type claimed struct {
	Number  string `json:"number"`
	Content string `json:"content"`
}

// claim returns the first number under the one asked for that no other report bears, and writes down that it is used.
// The same report gets the same number again.
func claim(folder, number, content, alsoUsed string) (got string, err error) {
	return got, fileset.Locked(folder, func() error {
		path := filepath.Join(folder, NumbersName)
		data, err := files.Read(path)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		used := map[string]string{alsoUsed: ""}
		for line := range bytes.Lines(data) {
			var c claimed
			if json.Unmarshal(line, &c) == nil { // else it was cut short, and nobody got the number
				used[c.Number] = c.Content
			}
		}
		for n := 1; ; n++ {
			got = nth(number, n)
			by, taken := used[got]
			if taken && by == content {
				return nil
			}
			if !taken {
				break
			}
		}
		if err := record.CheckNumber(got); err != nil {
			return err
		}
		return appendLine(path, claimed{got, content}, len(data) > 0 && data[len(data)-1] != '\n')
	})
}

// appendLine brings one more line to disk, behind one that was cut short or not.
func appendLine(path string, c claimed, torn bool) error {
	line, err := json.Marshal(c)
	if err != nil {
		return err
	}
	if torn {
		line = append([]byte("\n"), line...)
	}
	f, err := fileset.Open(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(append(line, '\n'))
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}
