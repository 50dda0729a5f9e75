package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/kernel/vocab"
)

// helpCommand looks a name up among the commands, the words of the vocabulary and its methods; report is both of the first.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [WORD]",
		Short: "explain a command, or a word or method of the vocabulary; without a word, list them all",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			root := c.Root()
			if len(args) == 0 {
				if err := root.Help(); err != nil {
					return err
				}
				_, err := fmt.Fprintf(a.out, "\nwords of the vocabulary:\n%s", vocab.Overview())
				return err
			}
			known := false
			for _, sub := range root.Commands() {
				if sub.Name() == args[0] {
					known = true
					if err := sub.Help(); err != nil {
						return err
					}
				}
			}
			if text, ok := vocab.HelpNamed(args[0]); ok {
				if known {
					fmt.Fprint(a.out, "\nas a word of the cells:\n")
				}
				_, err := fmt.Fprintln(a.out, strings.TrimRight(text, "\n"))
				return err
			}
			if known {
				return nil
			}
			return unknown("command or word", args[0], append(commands(root), vocab.Titles()...))
		},
	}
}
