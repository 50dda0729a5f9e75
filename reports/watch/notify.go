package watch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wedgework/reports/files"
	"wedgework/reports/fileset"
)

// Failure is a report that could not be made, or one of which some verdict does not pass.
type Failure struct {
	Report string `json:"report"`
	Kind   string `json:"kind"` // NotMade or NotPassing
	Says   string `json:"says"`
}

// The kinds of a Failure.
const (
	NotMade    = "not made"
	NotPassing = "not passing"
)

// NotifiedName is the file in a folder of reports that remembers of which failures was told.
const NotifiedName = ".wedgework-notified"

// notifyTime is how long a command may take that is told of failures. A choice.
const notifyTime = time.Minute

// Message is what the command gets on its standard input, as JSON.
type Message struct {
	Plan     string    `json:"plan"`
	Time     time.Time `json:"time"`
	Failures []Failure `json:"failures"`
}

// NewFailures returns those of some failures of which was not told before. A report that fails in another way, or again
// after it did not, is new.
func NewFailures(folder string, all []Failure) ([]Failure, error) {
	data, err := files.Read(filepath.Join(folder, NotifiedName))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var known []Failure
	if json.Unmarshal(data, &known) != nil {
		known = nil // told once more, rather than never
	}
	before := make(map[[2]string]bool, len(known))
	for _, f := range known {
		before[[2]string{f.Report, f.Kind}] = true
	}
	var fresh []Failure
	for _, f := range all {
		if !before[[2]string{f.Report, f.Kind}] {
			fresh = append(fresh, f)
		}
	}
	return fresh, nil
}

// Remember notes of which failures was told.
func Remember(folder string, all []Failure) error {
	data, err := json.Marshal(slices.Clone(all))
	if err != nil {
		return err
	}
	path := filepath.Join(folder, NotifiedName)
	if old, err := files.Read(path); err == nil && bytes.Equal(old, data) {
		return nil
	}
	return fileset.Replace([]fileset.File{{Path: path, Data: data}})
}

// Tell runs a command, a path without arguments and with no shell between, with a message on its standard input. One
// that fails or takes longer than a minute is an error with the beginning of what it said.
func Tell(ctx context.Context, command string, m Message) error {
	text, err := json.Marshal(m)
	if err != nil {
		return err
	}
	ctx, done := context.WithTimeout(ctx, notifyTime)
	defer done()
	c := exec.CommandContext(ctx, command)
	c.Stdin = bytes.NewReader(append(text, '\n'))
	c.WaitDelay = time.Second
	said := &beginning{}
	c.Stdout, c.Stderr = io.Discard, said
	if err := c.Run(); err != nil {
		if ctx.Err() != nil {
			err = fmt.Errorf("took longer than %s", notifyTime)
		}
		return fmt.Errorf("%s: %w%s", command, err, said.after(": "))
	}
	return nil
}

// beginning keeps the first line of what is written.
type beginning struct{ text []byte }

func (b *beginning) Write(p []byte) (int, error) {
	const most = 500
	b.text = append(b.text, p[:min(len(p), most-len(b.text))]...)
	return len(p), nil
}

func (b *beginning) after(sign string) string {
	line, _, _ := strings.Cut(strings.TrimSpace(string(b.text)), "\n")
	if line == "" {
		return ""
	}
	return sign + line
}
