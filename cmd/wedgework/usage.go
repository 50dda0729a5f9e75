package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"wedgework/reports/nearest"
)

// usage is how help on a command is laid out, after its long text.
const usage = `Usage
  {{.CommandPath}}{{if .HasParent}}{{slice .Use (len .Name)}}{{else}} COMMAND{{end}}
{{- if .HasExample}}

Example
{{.Example}}
{{- end}}
{{- if .HasAvailableSubCommands}}

Commands
{{- range .Commands}}{{if not .Hidden}}
  {{rpad .Name 10}} {{.Short}}
{{- end}}{{end}}
{{- end}}
{{- if .HasAvailableLocalFlags}}

Flags
{{.LocalFlags.FlagUsagesWrapped 118 | trimTrailingWhitespaces}}
{{- end}}
`

// flagError words what the library of flags has found, as the messages of this program are worded.
func flagError(c *cobra.Command, err error) error {
	hint := "see wedgework help " + plainPath(c)
	var unknown *pflag.NotExistError
	var missing *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	var syntax *pflag.InvalidSyntaxError
	switch {
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		err = fmt.Errorf("%s: there is no flag -%s", plainPath(c), unknown.GetSpecifiedShortnames())
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		err = fmt.Errorf("%s: there is no flag --%s", plainPath(c), name)
		if near := nearest.To(name, flagNames(c)); near != "" {
			return fmt.Errorf("%w; did you mean --%s?", err, near)
		}
	case errors.As(err, &missing):
		what, _ := pflag.UnquoteUsage(missing.GetFlag())
		err = fmt.Errorf("--%s: found nothing, expected %s", missing.GetFlag().Name, what)
	case errors.As(err, &invalid):
		f := invalid.GetFlag()
		err = fmt.Errorf("--%s: found %q, expected %s", f.Name, invalid.GetValue(), kinds[f.Value.Type()])
	case errors.As(err, &syntax):
		err = fmt.Errorf("found %s, expected a flag such as --out", syntax.GetSpecifiedFlag())
	}
	return hinted{err, hint}
}

// kinds words the types of flags that can fail to parse.
var kinds = map[string]string{
	"int": "a whole number, as in 2", "duration": "a duration, as in 90s or 30m", "bool": "true or false",
}

func flagNames(c *cobra.Command) []string {
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// plainPath is the command as it is typed after the program's name: "kernel install".
func plainPath(c *cobra.Command) string {
	_, path, _ := strings.Cut(c.CommandPath(), " ")
	return path
}

// exactly checks the number of positional arguments.
func exactly(n int, want string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == n {
			return nil
		}
		return hinted{fmt.Errorf("%s: found %s, expected %s", plainPath(c), arguments(len(args)), want),
			"see wedgework help " + plainPath(c)}
	}
}

func arguments(n int) string {
	switch n {
	case 0:
		return "nothing"
	case 1:
		return "one argument"
	}
	return fmt.Sprintf("%d arguments", n)
}
