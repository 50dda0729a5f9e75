package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/kernel/vocab"
)

// helpCommand looks a name up among the commands, the words of the vocabulary and its methods; report is both of the
// first.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND | WORD | TOPIC]",
		Short: "explain a command, a word of the cells or a topic; without an argument, list them all",
		Args:  cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				if err := c.Root().Help(); err != nil {
					return err
				}
				_, err := fmt.Fprintf(a.out, "\nwords of the vocabulary:\n%s", vocab.Overview())
				return err
			}
			return a.help(c.Root(), args)
		},
	}
}

// help explains the command that the arguments name, "kernel install", or a word.
func (a *app) help(root *cobra.Command, args []string) error {
	command := root
	for _, name := range args {
		next := subcommand(command, name)
		if next == nil && command == root {
			return a.explain(root, strings.Join(args, " "), false)
		}
		if next == nil {
			return unknown("command", strings.Join(args, " "), paths(root))
		}
		command = next
	}
	if err := command.Help(); err != nil || len(args) > 1 {
		return err
	}
	return a.explain(root, args[0], true)
}

// explain shows the help of a word, after that of the command of its name if there is one, or else what speaks of it.
func (a *app) explain(root *cobra.Command, name string, command bool) error {
	text, ok := vocab.HelpNamed(name)
	switch {
	case !ok && command:
		return nil
	case !ok:
		if text, ok = vocab.SearchHelp(name); !ok {
			return unknown("command, word or topic", name, append(commands(root), vocab.Titles()...))
		}
	case command:
		fmt.Fprint(a.out, "\nas a word of the cells:\n")
	}
	_, err := fmt.Fprintln(a.out, strings.TrimRight(text, "\n"))
	return err
}

func subcommand(of *cobra.Command, name string) *cobra.Command {
	for _, c := range of.Commands() {
		if c.Name() == name {
			return c
		}
	}
	return nil
}

// paths lists all commands and their own.
func paths(root *cobra.Command) []string {
	var all []string
	for _, c := range root.Commands() {
		if c.Hidden {
			continue
		}
		all = append(all, c.Name())
		for _, sub := range c.Commands() {
			all = append(all, c.Name()+" "+sub.Name())
		}
	}
	return all
}
