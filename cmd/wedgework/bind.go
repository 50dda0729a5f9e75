package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/reports/measured"
	"wedgework/reports/reason"
)

// bindings are the flags that tie a notebook's names to files and expressions.
type bindings struct {
	data, set, roots []string
}

func (b *bindings) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringArrayVar(&b.data, "data", nil, "bind a named input to a file, `NAME=FILE`; a name given twice makes a lot")
	f.StringArrayVar(&b.set, "set", nil, "replace a setting, `NAME=EXPRESSION`, as in apex=4.5*deg")
	f.StringArrayVar(&b.roots, "root", nil, "let the notebook read the files below `DIR` as well")
}

var namePattern = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[\pL_][\pL\pN_.-]*$`) })

func pair(flag, arg, want string) (name, value string, err error) {
	name, value, ok := strings.Cut(arg, "=")
	if !ok || value == "" || !namePattern().MatchString(name) {
		return "", "", fmt.Errorf("%s: found %q, expected %s", flag, arg, want)
	}
	return name, value, nil
}

// files reads the --data files.
func (b *bindings) files() (map[string][]measured.File, error) {
	all := map[string][]measured.File{}
	for _, arg := range b.data {
		name, path, err := pair("--data", arg, "NAME=FILE, as in sweep=0417.csv")
		if err != nil {
			return nil, err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, fmt.Errorf("--data %s: %w", name, reason.Plain(err))
		}
		all[name] = append(all[name], measured.NewFile(filepath.Base(path), data))
	}
	return all, nil
}

// paths lists the --data files as they were given.
func (b *bindings) paths() []string {
	var paths []string
	for _, arg := range b.data {
		_, path, _ := strings.Cut(arg, "=")
		paths = append(paths, path)
	}
	return paths
}

// settings returns the --set expressions.
func (b *bindings) settings() (map[string]string, error) {
	all := map[string]string{}
	for _, arg := range b.set {
		name, expression, err := pair("--set", arg, "NAME=EXPRESSION, as in apex=4.5*deg")
		if err != nil {
			return nil, err
		}
		if first, ok := all[name]; ok {
			return nil, fmt.Errorf("--set %s is given twice, as %s and as %s", name, shortened(first), shortened(expression))
		}
		if err := session.CheckExpression("--set "+name, expression); err != nil {
			return nil, fmt.Errorf("--set %s: found %q, expected an expression, as in 4.5*deg", name, shortened(expression))
		}
		all[name] = expression
	}
	return all, nil
}

// shortened keeps what was typed from filling a message.
func shortened(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
