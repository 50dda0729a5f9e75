package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/publish"
)

// bindings are the flags that tie a notebook's names to files and expressions. They are read into a job.
type bindings struct {
	data, set, roots []string
}

func (b *bindings) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringArrayVar(&b.data, "data", nil,
		"assign a file to a named input, `NAME=FILE`; several files of one name make a lot")
	f.StringArrayVar(&b.set, "set", nil, "replace a setting, `NAME=EXPRESSION`, as in apex=4.5*deg")
	f.StringArrayVar(&b.roots, "root", nil, "let the notebook read the files below `DIR` as well")
}

// into reads the flags into a job.
func (b *bindings) into(j *job.Job) error {
	for _, arg := range b.data {
		name, path, err := pair("--data", arg, "NAME=FILE, as in sweep=0417.csv")
		if err != nil {
			return err
		}
		at := job.Place("--data " + name)
		j.Bind(name, at, job.File{Path: path, At: at})
	}
	for _, arg := range b.set {
		name, expression, err := pair("--set", arg, "NAME=EXPRESSION, as in apex=4.5*deg")
		if err != nil {
			return err
		}
		j.Settings = append(j.Settings, job.Setting{Name: name, Expression: expression, At: job.Place("--set " + name)})
	}
	j.Roots = flagged("--root", b.roots)
	return nil
}

// pair cuts the value of a flag in two.
func pair(flag, arg, want string) (name, value string, err error) {
	name, value, ok := strings.Cut(arg, "=")
	if !ok || value == "" || job.CheckName(name) != nil {
		return "", "", fmt.Errorf("%s: found %q, expected %s", flag, arg, want)
	}
	return name, value, nil
}

// flagged are the files or folders that a flag names.
func flagged(flag job.Place, paths []string) []job.File {
	var all []job.File
	for _, p := range paths {
		all = append(all, job.File{Path: p, At: flag})
	}
	return all
}

// tools are what this program makes reports with.
func tools(w watcher) publish.Tools {
	return publish.Tools{Program: program(), Open: openRunner(w), Check: checkExpression}
}

// saveFlag lets cells write files.
func saveFlag(c *cobra.Command, save *bool) {
	c.Flags().BoolVar(save, "save", false, "let save() write files into "+fileset.OutName+"/ beside the notebook")
}

// saver writes files that cells make below a folder; nil where nobody allows it.
func saver(allowed bool, folder string) func(name string, data []byte) error {
	if !allowed {
		return nil
	}
	return (&fileset.Out{Folder: folder}).Save
}

// notSaved says which files nobody wrote.
func (a *app) notSaved(names []string) {
	if len(names) > 0 {
		a.say("note: not written: %s; --save lets save() write into %s/", document.Brief(strings.Join(names, ", ")),
			fileset.OutName)
	}
}

// checkExpression refuses what can be no expression, whatever the notebook asks it for.
func checkExpression(text string) error {
	if err := session.CheckExpression("setting", text); err != nil {
		return fmt.Errorf("found %q, expected an expression, as in 4.5*deg", job.Shortened(text))
	}
	return nil
}

// readFrom reads files below roots as readings.
func readFrom(r *files.Roots) func(ctx context.Context, path string) (measured.File, error) {
	return func(ctx context.Context, path string) (measured.File, error) {
		data, found, err := r.Read(ctx, path)
		if err != nil {
			return measured.File{}, err
		}
		return measured.Hashed(ctx, filepath.Base(found), data)
	}
}
