package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/reports/memory"
	"wedgework/reports/nearest"
)

// Exit statuses.
const (
	allPass  = 0
	someFail = 1 // the report is written, and some verdict is not a pass
	failed   = 2 // nothing is written
	busy     = 3 // another run of the plan is at work
)

// app is one run of the program.
type app struct {
	in       io.Reader
	out, err io.Writer
	terminal io.Writer // standard error as it is, for the bar of the program itself
	status   int
}

// run runs the command line and returns the exit status.
func run(ctx context.Context, args []string, in io.Reader, out, err io.Writer) int {
	seenOut, seenErr := &visible{to: out}, &visible{to: err}
	defer seenOut.flush()
	defer seenErr.flush()
	a := &app{in: in, out: seenOut, err: seenErr, terminal: err}
	root := a.root()
	root.SetArgs(args)
	root.SetErr(a.err)
	if e := root.ExecuteContext(ctx); e != nil {
		a.fail(e)
		return failed
	}
	return a.status
}

// say prints a message about the work. Further lines of a message are indented beneath it.
func (a *app) say(format string, args ...any) {
	text := strings.TrimRight(fmt.Sprintf(format, args...), "\n")
	fmt.Fprintf(a.err, "wedgework: %s\n", strings.ReplaceAll(text, "\n", "\n    "))
}

// hinted is an error that has advice beside its message.
type hinted struct {
	error
	hint string
}

func (h hinted) Unwrap() error { return h.error }

// fail prints an error, and its hint on a line of its own.
func (a *app) fail(err error) {
	a.say("%v", err)
	var h hinted
	if errors.As(err, &h) && h.hint != "" {
		a.say("hint: %s", h.hint)
	}
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "wedgework",
		Short: "design fibre-optic isolators, verify measured ones, write the report",
		Long: `wedgework designs fibre-optic isolators in notebooks, verifies measured ones against their model, and
writes the report.`,
		Args: cobra.ArbitraryArgs,
		PersistentPreRunE: func(c *cobra.Command, _ []string) error {
			if c.Name() == workerCommand { // which has a limit of its own for each report
				return nil
			}
			return a.limitMemory(c)
		},
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				found := errors.New("found no command, expected one of " + strings.Join(commands(c), ", "))
				return hinted{found, "see wedgework help"}
			}
			return unknown("command", args[0], commands(c))
		},
	}
	root.SetUsageFunc(usage)
	root.AddCommand(
		a.reportCommand(), a.signCommand(), a.compareCommand(), a.reproduceCommand(), a.regenerateCommand(),
		a.indexCommand(), a.doctorCommand(),
		a.workerCommand(),
		a.checkCommand(),
		a.evalCommand(), a.kernelCommand(), a.schemaCommand(), a.licencesCommand(), a.versionCommand(),
	)
	root.SetHelpCommand(a.helpCommand())
	root.SetOut(a.out) // which that of completion takes over
	root.InitDefaultCompletionCmd()
	subcommand(root, "completion").Short = "print what completes the commands in a shell: bash, zsh, fish, powershell"
	root.SetFlagErrorFunc(flagError)
	return root
}

// limitMemory holds a command to the limit of memory that all have. The kernel says afterwards in which cell it ended,
// the others as they end.
func (a *app) limitMemory(c *cobra.Command) error {
	if err := memory.Standard(); err != nil {
		a.say("no limit on memory: %v", err)
	}
	if err := memory.Enough(); err != nil {
		return err
	}
	if plainPath(c) == "kernel run" {
		return nil
	}
	memory.Watch(func(limit uint64) { // what stands on disk is whole at every moment
		a.fail(memory.Exceeded(limit))
		os.Exit(failed)
	})
	return nil
}

// commands lists what may stand after the program's name.
func commands(root *cobra.Command) []string {
	var names []string
	for _, c := range root.Commands() {
		if !c.Hidden {
			names = append(names, c.Name())
		}
	}
	return names
}

// unknown says that a name is not there, and which is nearest.
func unknown(what, name string, known []string) error {
	err := fmt.Errorf("there is no %s %q", what, name)
	if near := nearest.To(name, known); near != "" {
		return fmt.Errorf("%w; did you mean %s?", err, near)
	}
	return hinted{err, "wedgework help lists all commands and words"}
}
