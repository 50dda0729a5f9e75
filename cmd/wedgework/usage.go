package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"wedgework/reports/nearest"
)

// usage lays out help on a command, after its long text. A function and not a template: the library of templates calls
// methods by name, so that the linker would have to keep every method of the program.
func usage(c *cobra.Command) error {
	var b strings.Builder
	takes := " COMMAND"
	if c.HasParent() {
		takes = strings.TrimPrefix(c.Use, c.Name())
	}
	fmt.Fprintf(&b, "Usage\n  %s%s\n", c.CommandPath(), takes)
	if c.HasExample() {
		fmt.Fprintf(&b, "\nExample\n%s\n", c.Example)
	}
	if c.HasAvailableSubCommands() {
		b.WriteString("\nCommands\n")
		for _, sub := range c.Commands() {
			if !sub.Hidden {
				fmt.Fprintf(&b, "  %-10s %s\n", sub.Name(), sub.Short)
			}
		}
	}
	if c.HasAvailableLocalFlags() {
		fmt.Fprintf(&b, "\nFlags\n%s\n", strings.TrimRight(c.LocalFlags().FlagUsagesWrapped(118), " \n"))
	}
	_, err := fmt.Fprint(c.OutOrStderr(), b.String())
	return err
}

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
